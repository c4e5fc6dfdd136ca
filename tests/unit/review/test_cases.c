/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whatever a file calls its valves, each case of a report shows the figures of its own captures. */
#include "support/check.h"

#include <string.h>

#include "core/text.h"
#include "platelag/report.h"
#include "support/made_capture.h"
#include "support/made_review.h"

static platelag_status add(void *context, const char *bytes, size_t size, platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

/* Adds the rows of a made capture, each behind the name of its vehicle; the header once. */
static void add_vehicle(plag_text *file, const char *name, uint64_t seed) {
  const platelag_practice_order order = {.fault = "none", .seed = seed, .minutes = 1.3};
  made_capture made = {0};
  assert_true(made_capture_make(&made, &order));
  bool header = true;
  for (char *line = strtok(made.capture.bytes, "\n"); line != NULL; line = strtok(NULL, "\n")) {
    if (!header || file->length == 0)
      plag_text_add_format(file, "%s,%s\n", header ? "Vehicle" : name, line);
    header = false;
  }
  made_capture_clear(&made);
}

static size_t count_of(const char *text, const char *what) {
  size_t count = 0;
  for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what))
    count++;
  return count;
}

static void vehicles_of_one_file_keep_their_figures(void **state) {
  (void)state;
  static const char *const shown[] = {"valve of bus 17", "valve of bus 23", "Checks of the circuit",
                                      "t63 opening"};
  static const size_t times[] = {1, 1, 2, 2};
  plag_text file = {0}, report = {0};
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  platelag_error error = {0};
  const platelag_sink sink = {&report, add};
  add_vehicle(&file, "bus 17", 4711);
  add_vehicle(&file, "bus 23", 4712);
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(plag_test_review(file.bytes, file.length, NULL, workspace, &review, &error),
                   PLATELAG_OK);
  assert_int_equal(review->case_count, 2);
  assert_int_equal(platelag_report_write_text(review, NULL, &sink, &error), PLATELAG_OK);
  for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
    if (count_of(report.bytes, shown[i]) != times[i])
      fail_msg("\"%s\" %zu times in\n%s", shown[i], count_of(report.bytes, shown[i]), report.bytes);
  for (size_t i = 0; i < review->capture_count; i++)
    assert_int_equal(review->capture[i].valve[0].case_index, i);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
  plag_text_clear(&report);
  plag_text_clear(&file);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(vehicles_of_one_file_keep_their_figures)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
