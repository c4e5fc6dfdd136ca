/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/source.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/error.h"

static platelag_status refuse_folder(const char *name, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, name, 0, 0,
                        "this is a folder; a file with an exported capture was expected");
}

static platelag_status refuse_opening(const char *name, int reason, platelag_error *error) {
  if (reason == ENOENT || reason == ENOTDIR)
    return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, name, 0, 0,
                          "there is no such file; check the name and the folder");
  if (reason == EACCES || reason == EPERM)
    return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, name, 0, 0,
                          "this file may not be read; ask its owner for permission");
  return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, name, 0, 0,
                        "this file cannot be opened: %s", strerrordesc_np(reason));
}

static platelag_status read_bytes(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  const plag_file_source *file = context;
  ssize_t count;
  do
    count = read(file->descriptor, bytes, size);
  while (count < 0 && errno == EINTR);
  *got = count < 0 ? 0 : (size_t)count;
  if (count >= 0)
    return PLATELAG_OK;
  if (errno == EISDIR)
    return refuse_folder(file->name, error);
  return plag_error_set(error, PLATELAG_ERROR_IO, file->name, 0, 0, "reading failed: %s",
                        strerrordesc_np(errno));
}

platelag_status plag_source_open(const char *path, const char *name, plag_file_source *out,
                                 platelag_error *error) {
  *out = (plag_file_source){.descriptor = STDIN_FILENO, .owned = false, .name = name};
  if (strcmp(path, "-") == 0)
    return PLATELAG_OK;
  do
    out->descriptor = open(path, O_RDONLY | O_CLOEXEC);
  while (out->descriptor < 0 && errno == EINTR);
  if (out->descriptor < 0)
    return refuse_opening(name, errno, error);
  out->owned = true;
  struct stat status;
  if (fstat(out->descriptor, &status) == 0 && S_ISDIR(status.st_mode)) {
    plag_source_close(out);
    return refuse_folder(name, error);
  }
  return PLATELAG_OK;
}

platelag_source plag_source_bytes(plag_file_source *file) {
  return (platelag_source){.context = file, .read = read_bytes};
}

void plag_source_close(plag_file_source *file) {
  if (file->owned)
    (void)close(file->descriptor);
  file->owned = false;
}
