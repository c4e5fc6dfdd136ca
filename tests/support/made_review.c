/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_review.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/check.h"

#include "platelag/report.h"

platelag_status plag_test_review(const char *bytes, size_t size,
                                 const platelag_review_options *options,
                                 platelag_workspace *workspace, platelag_review **out,
                                 platelag_error *error) {
  char path[] = "/tmp/platelag-review-XXXXXX";
  const int handle = mkstemp(path);
  assert_true(handle >= 0);
  for (size_t done = 0; done < size;) {
    const ssize_t written = write(handle, bytes + done, size - done);
    assert_true(written > 0);
    done += (size_t)written;
  }
  assert_int_equal(close(handle), 0);
  const platelag_review_file file = {.path = path, .condition = PLATELAG_CONDITION_ROAD};
  const platelag_status status = platelag_review_build(&file, 1, options, workspace, out, error);
  assert_int_equal(unlink(path), 0);
  return status;
}

static platelag_status add_to_text(void *context, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

static bool spells_a_name(const char *line) {
  line += strspn(line, " {");
  return strncmp(line, "\"command\": \"", 12) == 0 || strncmp(line, "\"position\": \"", 13) == 0;
}

/* Adds a line of JSON; of what its strings quote, a name, nothing is left but the quotes. */
static void add_line(const char *line, size_t length, plag_text *out) {
  bool quoted = false;
  for (size_t i = 0; i < length; i++) {
    const bool quote = i + 1 < length && line[i] == '\\' && line[i + 1] == '"';
    if (quote)
      quoted = !quoted;
    if (!quoted)
      plag_text_add_char(out, line[i]);
  }
  plag_text_add_char(out, '\n');
}

void plag_test_review_tell(const platelag_review *review, plag_text *out) {
  plag_text_reset(out);
  if (review->capture_count > 0 && review->capture[0].refusal.status != PLATELAG_OK) {
    plag_text_add_format(out, "refused: %s\n", review->capture[0].refusal.message);
    return;
  }
  plag_text json = {0};
  const platelag_sink sink = {&json, add_to_text};
  platelag_error error = {0};
  assert_int_equal(platelag_report_write_json(review, &sink, &error), PLATELAG_OK);
  assert_false(json.failed);
  const char *line = strstr(json.bytes, "\"valves\"");
  assert_non_null(line);
  while (*line != '\0') {
    const size_t length = strcspn(line, "\n");
    if (!spells_a_name(line))
      add_line(line, length, out);
    line += length + (line[length] == '\n');
  }
  assert_false(out->failed);
  plag_text_clear(&json);
}

static void copy_line(const char *line, char *out, size_t size) {
  line += strspn(line, " ");
  size_t length = strcspn(line, "\n");
  length = length < size - 1 ? length : size - 1;
  memcpy(out, line, length);
  out[length] = '\0';
}

bool plag_test_first_difference(const char *one, const char *other, char *first, char *second,
                                size_t size) {
  while (*one != '\0' || *other != '\0') {
    const size_t length = strcspn(one, "\n");
    const size_t other_length = strcspn(other, "\n");
    if (length != other_length || memcmp(one, other, length) != 0) {
      copy_line(one, first, size);
      copy_line(other, second, size);
      return true;
    }
    one += length + (one[length] == '\n');
    other += other_length + (other[other_length] == '\n');
  }
  return false;
}
