/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture from a file: the one place where the reader meets the file system. */
#include "read/source.h"

platelag_status platelag_capture_read(const char *path, const platelag_read_options *options,
                                      platelag_capture **out, platelag_error *error) {
  *out = NULL;
  platelag_read_options named = options != NULL ? *options : (platelag_read_options){0};
  if (named.display_name == NULL)
    named.display_name = path;
  plag_file_source file;
  platelag_status status = plag_source_open(path, named.display_name, &file, error);
  if (status != PLATELAG_OK)
    return status;
  const platelag_source source = plag_source_bytes(&file);
  status = platelag_capture_read_source(&source, &named, out, error);
  plag_source_close(&file);
  return status;
}
