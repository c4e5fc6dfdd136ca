/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that are written whole or not at all: under a temporary name beside the file, renamed when
 * every byte has arrived. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli.h"

static platelag_status fail(const cli_file *file, platelag_status status, platelag_error *error) {
  if (error == NULL || error->status != PLATELAG_OK)
    return status;
  error->status = status;
  (void)snprintf(error->file, sizeof error->file, "%s", file->path);
  (void)snprintf(error->message, sizeof error->message, "cannot be written: %s", strerror(errno));
  return status;
}

static platelag_status write_file(void *context, const char *bytes, size_t size,
                                  platelag_error *error) {
  cli_file *file = context;
  if (fwrite(bytes, 1, size, file->stream) == size)
    return PLATELAG_OK;
  return fail(file, PLATELAG_ERROR_IO, error);
}

/* mkstemp lets only the owner read; a new file gets what the process gives any new file, a file
 * that is replaced keeps what it had. NULL, and no file is left, where it cannot be. */
static FILE *open_temporary(cli_file *file, const struct stat *old) {
  const int descriptor = mkstemp(file->temporary);
  if (descriptor < 0)
    return NULL;
  const mode_t mask = umask(0);
  (void)umask(mask);
  FILE *stream = NULL;
  if (fchmod(descriptor, old != NULL ? old->st_mode & 07777U : 0666U & ~mask) == 0)
    stream = fdopen(descriptor, "wb");
  if (stream != NULL)
    return stream;
  const int why = errno;
  (void)close(descriptor);
  (void)unlink(file->temporary);
  errno = why;
  return NULL;
}

platelag_status cli_file_open(cli_file *file, const char *path, platelag_error *error) {
  struct stat there;
  const bool exists = stat(path, &there) == 0;
  *file = (cli_file){.path = path, .plain = !exists || S_ISREG(there.st_mode)};
  file->sink = (platelag_sink){.context = file, .write = write_file};
  /* A link is followed, so that what it points to is replaced and not the link. */
  file->target = exists && file->plain ? realpath(path, NULL) : strdup(path);
  if (file->target == NULL)
    return fail(file, PLATELAG_ERROR_IO, error);
  char *temporary = NULL;
  if (!file->plain) {
    file->stream = fopen(path, "wb");
  } else if (asprintf(&temporary, "%s.XXXXXX", file->target) >= 0) {
    file->temporary = temporary;
    file->stream = open_temporary(file, exists ? &there : NULL);
  }
  if (file->stream != NULL)
    return PLATELAG_OK;
  const platelag_status status = fail(file, PLATELAG_ERROR_IO, error);
  free(file->temporary);
  file->temporary = NULL;
  cli_file_discard(file);
  return status;
}

platelag_status cli_file_finish(cli_file *file, platelag_error *error) {
  FILE *stream = file->stream;
  file->stream = NULL;
  platelag_status status = PLATELAG_OK;
  if (fclose(stream) != 0 ||
      (file->temporary != NULL && rename(file->temporary, file->target) != 0)) {
    status = fail(file, PLATELAG_ERROR_IO, error);
  } else {
    free(file->temporary);
    file->temporary = NULL;
  }
  cli_file_discard(file);
  return status;
}

void cli_file_discard(cli_file *file) {
  if (file->stream != NULL)
    (void)fclose(file->stream);
  if (file->temporary != NULL)
    (void)unlink(file->temporary);
  free(file->temporary);
  free(file->target);
  *file = (cli_file){0};
}

bool cli_is_output(const char *path) {
  return path != NULL && strcmp(path, "-") == 0;
}

platelag_status cli_write(const char *path, cli_writer *write, const void *thing,
                          cli_output *output, platelag_error *error) {
  cli_file file;
  if (path == NULL)
    return PLATELAG_OK;
  if (cli_is_output(path))
    return write(thing, &output->sink, error);
  platelag_status status = cli_file_open(&file, path, error);
  if (status != PLATELAG_OK)
    return status;
  status = write(thing, &file.sink, error);
  if (status == PLATELAG_OK)
    status = cli_file_finish(&file, error);
  cli_file_discard(&file);
  return status;
}

platelag_status cli_write_page(const void *review, const platelag_sink *sink,
                               platelag_error *error) {
  return platelag_report_write_html(review, sink, error);
}
