/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/nist.h"

#include <stdio.h>
#include <string.h>

#include "core/number.h"

size_t plag_test_nist_numbers(const char *line, double *number, size_t most) {
  size_t count = 0;
  while (*line != '\0' && count < most) {
    const size_t used = plag_number_read(line, strlen(line), '.', &number[count]);
    count += used > 0;
    line += used > 0 ? used : 1;
  }
  return count;
}

void plag_test_nist_read(const char *folder, const char *name, plag_test_nist_take *take,
                         void *data) {
  char path[512];
  char line[256];
  bool in_data = false;
  (void)snprintf(path, sizeof path, "%s/%s.dat", folder, name);
  FILE *file = fopen(path, "r");
  assert_non_null(file);
  while (fgets(line, sizeof line, file))
    take(data, line, &in_data);
  (void)fclose(file);
}
