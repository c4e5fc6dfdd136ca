/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/ini.h"

#include <errno.h>
#include <ini.h>
#include <stdio.h>
#include <string.h>

#include "core/error.h"

typedef struct ini_source {
  FILE *file;
  const char *path;
  int64_t line;
  plag_take_key *take;
  void *context;
  platelag_error *error;
  platelag_status status;
} ini_source;

/* One line for inih, its indent taken off: inih takes an indented line as the one before going on.
 */
static char *read_line(char *text, int size, void *context) {
  ini_source *reader = context;
  if (reader->status != PLATELAG_OK || fgets(text, size, reader->file) == NULL)
    return NULL;
  reader->line++;
  const size_t length = strlen(text);
  if (length + 1 == (size_t)size && text[length - 1] != '\n') {
    reader->status =
        plag_error_set(reader->error, PLATELAG_ERROR_INPUT, reader->path, reader->line, 0,
                       "the line is longer than %d bytes; expected \"key = value\"", size - 2);
    return NULL;
  }
  const size_t indent = strspn(text, " \t");
  memmove(text, text + indent, length - indent + 1);
  return text;
}

static int take_key(void *context, const char *section, const char *name, const char *value) {
  ini_source *reader = context;
  const plag_ini_key key = {reader->path, reader->line, section, name, value};
  if (reader->status == PLATELAG_OK)
    reader->status = reader->take(reader->context, &key, reader->error);
  return reader->status == PLATELAG_OK;
}

static platelag_status open_file(const char *path, const char *what, FILE **file,
                                 platelag_error *error) {
  *file = fopen(path, "rbe");
  if (*file != NULL)
    return PLATELAG_OK;
  if (errno == ENOMEM)
    return plag_error_memory(error, "reading");
  return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, path, 0, 0, "%s file cannot be opened: %s",
                        what,
                        errno == ENOENT   ? "there is no such file"
                        : errno == EACCES ? "it may not be read"
                                          : "the system refuses it");
}

platelag_status plag_ini_read(const char *path, const char *what, plag_take_key *take,
                              void *context, platelag_error *error) {
  ini_source reader = {.path = path, .take = take, .context = context, .error = error};
  platelag_status status = open_file(path, what, &reader.file, error);
  if (status != PLATELAG_OK)
    return status;
  const int bad_line = ini_parse_stream(read_line, &reader, take_key, &reader);
  status = reader.status;
  if (status == PLATELAG_OK && ferror(reader.file) != 0)
    status = plag_error_set(error, PLATELAG_ERROR_IO, path, 0, 0, "%s file cannot be read", what);
  if (status == PLATELAG_OK && bad_line != 0)
    status = plag_error_set(error, PLATELAG_ERROR_INPUT, path, bad_line > 0 ? bad_line : 0, 0,
                            "the line is neither \"[section]\" nor \"key = value\"");
  (void)fclose(reader.file);
  return status;
}
