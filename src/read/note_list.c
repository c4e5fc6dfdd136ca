/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/note_list.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/array.h"

enum { LONGEST_NOTE_BYTES = 512 };

size_t plag_note_list_add(plag_note_list *list, int64_t line, int64_t column, const char *format,
                          ...) {
  char text[LONGEST_NOTE_BYTES];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  void *grown = list->note;
  const char *copy = plag_arena_copy_text(&list->arena, text);
  if (copy == NULL ||
      !plag_array_reserve(&grown, &list->capacity, list->count + 1, sizeof *list->note)) {
    list->failed = true;
    return (size_t)-1;
  }
  list->note = grown;
  list->note[list->count] =
      (platelag_note){.line = line, .column = column, .count = 1, .text = copy};
  return list->count++;
}

void plag_note_list_set_count(plag_note_list *list, size_t index, size_t count) {
  if (index < list->count)
    list->note[index].count = count;
}

void plag_note_list_clear(plag_note_list *list) {
  free(list->note);
  plag_arena_clear(&list->arena);
  *list = (plag_note_list){0};
}
