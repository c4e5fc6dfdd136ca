/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine where there are no files: captures come from a source, or not at all. */
#include "core/error.h"
#include "platelag/capture.h"

platelag_status platelag_capture_read(const char *path, const platelag_read_options *options,
                                      platelag_capture **out, platelag_error *error) {
  (void)options;
  *out = NULL;
  return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, path, 0, 0, "files cannot be opened here");
}
