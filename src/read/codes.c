/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/codes.h"

#include <stdio.h>
#include <string.h>

static bool is_of_code(char byte) {
  return (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z');
}

void plag_codes_take(char *codes, size_t size, plag_cell cell) {
  for (size_t i = 0; i + 5 <= cell.length; i++) {
    const char *text = cell.text + i;
    const bool part_of_more =
        (i > 0 && is_of_code(text[-1])) || (i + 5 < cell.length && is_of_code(text[5]));
    if (part_of_more || strchr("PCBU", text[0]) == NULL || text[0] == '\0' || text[1] < '0' ||
        text[1] > '3' || text[1] == '\0')
      continue;
    char code[6] = {0};
    memcpy(code, text, 5);
    if (strspn(code + 2, "0123456789ABCDEF") < 3)
      continue;
    const size_t length = strlen(codes);
    if (strstr(codes, code) == NULL && length + 7 < size)
      (void)snprintf(codes + length, size - length, "%s%s", length > 0 ? "," : "", code);
    i += 4;
  }
}
