/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine alone, linked with nothing that it must do without: reviews standard input and prints
 * the review as JSON, as the program does. */
#include <math.h>
#include <stdio.h>

#include "platelag/platelag.h"

static platelag_status read_input(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  (void)error;
  *got = fread(bytes, 1, size, context);
  return PLATELAG_OK;
}

static platelag_status write_output(void *context, const char *bytes, size_t size,
                                    platelag_error *error) {
  (void)error;
  return fwrite(bytes, 1, size, context) == size ? PLATELAG_OK : PLATELAG_ERROR_IO;
}

int main(void) {
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  platelag_error error = {0};
  const platelag_source source = {stdin, read_input};
  const platelag_sink sink = {stdout, write_output};
  const platelag_review_file file = {.path = "-", .source = &source};
  platelag_library_start();
  platelag_status status = platelag_workspace_create(&workspace, &error);
  if (status == PLATELAG_OK)
    status = platelag_review_build(&file, 1, NULL, workspace, &review, &error);
  if (status == PLATELAG_OK)
    status = platelag_report_write_json(review, &sink, &error);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
  return (int)status;
}
