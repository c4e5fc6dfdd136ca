/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void set(platelag_error *error, platelag_status status, const char *setting,
                const char *file, int64_t line, int64_t column, const char *format,
                va_list arguments) __attribute__((format(printf, 7, 0)));

static void set(platelag_error *error, platelag_status status, const char *setting,
                const char *file, int64_t line, int64_t column, const char *format,
                va_list arguments) {
  if (error == NULL || error->status != PLATELAG_OK)
    return;
  error->status = status;
  error->line = line;
  error->column = column;
  error->setting = setting;
  error->file[0] = '\0';
  if (file != NULL)
    (void)snprintf(error->file, sizeof error->file, "%s", file);
  (void)vsnprintf(error->message, sizeof error->message, format, arguments);
}

platelag_status plag_error_set(platelag_error *error, platelag_status status, const char *file,
                               int64_t line, int64_t column, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  set(error, status, NULL, file, line, column, format, arguments);
  va_end(arguments);
  return status;
}

platelag_status plag_error_set_with(platelag_error *error, const char *setting, const char *file,
                                    int64_t line, int64_t column, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  set(error, PLATELAG_ERROR_INPUT, setting, file, line, column, format, arguments);
  va_end(arguments);
  return PLATELAG_ERROR_INPUT;
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
