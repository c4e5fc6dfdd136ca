/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

platelag_status plag_error_set(platelag_error *error, platelag_status status, const char *file,
                               int64_t line, int64_t column, const char *format, ...) {
  if (error == NULL || error->status != PLATELAG_OK)
    return status;
  error->status = status;
  error->line = line;
  error->column = column;
  error->file[0] = '\0';
  if (file != NULL)
    (void)snprintf(error->file, sizeof error->file, "%s", file);
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(error->message, sizeof error->message, format, arguments);
  va_end(arguments);
  return status;
}

platelag_status plag_error_memory(platelag_error *error, const char *what) {
  return plag_error_set(error, PLATELAG_ERROR_MEMORY, NULL, 0, 0, "no memory left for %s", what);
}

size_t platelag_error_describe(const platelag_error *error, char *text, size_t size) {
  char place[320] = "";
  if (error->file[0] != '\0' && error->line > 0 && error->column > 0)
    (void)snprintf(place, sizeof place, "%s:%lld:%lld: ", error->file, (long long)error->line,
                   (long long)error->column);
  else if (error->file[0] != '\0' && error->line > 0)
    (void)snprintf(place, sizeof place, "%s:%lld: ", error->file, (long long)error->line);
  else if (error->file[0] != '\0')
    (void)snprintf(place, sizeof place, "%s: ", error->file);
  int length = snprintf(text, size, "%s%s", place, error->message);
  return length < 0 ? 0 : (size_t)length;
}
