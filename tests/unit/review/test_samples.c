/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A review that is not drawn gives each capture's samples back, and says the same. */
#include "support/check.h"

#include <string.h>

#include "platelag/report.h"
#include "support/made_report.h"
#include "support/made_review.h"

typedef struct story {
  const char *fault;
  const char *layout;
} story;

static const story stories[] = {
    {"ridge", "comma"},
    {"none", "comma"},
    {"dropouts", "long_form"},
    {"sticking", "clock_per_channel"},
};

static void make(const story *s, plag_text *out) {
  const platelag_practice_order order = {
      .fault = s->fault, .layout = s->layout, .seed = 4711, .minutes = 3.7};
  const platelag_sink sink = plag_test_text_sink(out);
  platelag_error error = {0};
  const platelag_status status = platelag_practice_write(&order, &sink, NULL, &error);
  if (status != PLATELAG_OK)
    print_message("%s\n", error.message);
  assert_int_equal(status, PLATELAG_OK);
}

static void check_has_none(const platelag_review_capture *capture) {
  for (size_t i = 0; i < platelag_capture_channel_count(capture->capture); i++) {
    const platelag_channel *channel = platelag_capture_channel_at(capture->capture, i);
    assert_false(channel->kept);
    assert_int_equal(channel->count, 0);
    assert_null(channel->value);
  }
  for (size_t i = 0; i < capture->valve_count; i++) {
    assert_int_equal(capture->valve[i].trace->sample_count, 0);
    assert_int_equal(capture->valve[i].trace->change_count, 0);
  }
}

static void tell(const plag_text *capture, bool without_samples, plag_text *out) {
  const platelag_review_options options = {.circumstances.meter = PLATELAG_METER_NONE,
                                           .without_samples = without_samples};
  const plag_test_bytes bytes[] = {
      {capture->bytes, capture->length, PLATELAG_CONDITION_ROAD},
      {capture->bytes, capture->length, PLATELAG_CONDITION_AFTER},
  };
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(plag_test_review_all(bytes, 2, &options, workspace, &review, &error),
                   PLATELAG_OK);
  for (size_t i = 0; i < review->capture_count; i++) {
    assert_true(review->capture[i].valve_count > 0);
    if (without_samples)
      check_has_none(&review->capture[i]);
    else
      assert_true(review->capture[i].valve[0].trace->sample_count > 0);
  }
  plag_test_review_tell(review, out);
  const platelag_sink sink = plag_test_text_sink(out);
  assert_int_equal(platelag_report_write_text(review, NULL, &sink, &error), PLATELAG_OK);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
}

/* Of the files, which are made up anew for each review. */
static void hide_names(char *text) {
  static const char front[] = "platelag-review-";
  for (char *at = text; (at = strstr(at, front)) != NULL; at += sizeof front)
    memset(at + sizeof front - 1, 'X', 6);
}

static void nothing_that_is_told_hangs_on_them(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof stories / sizeof *stories; i++) {
    plag_text capture = {0};
    plag_text with = {0};
    plag_text without = {0};
    make(&stories[i], &capture);
    tell(&capture, false, &with);
    tell(&capture, true, &without);
    print_message("%s: %zu bytes are told\n", stories[i].fault, with.length);
    hide_names(with.bytes);
    hide_names(without.bytes);
    assert_string_equal(with.bytes, without.bytes);
    plag_text_clear(&capture);
    plag_text_clear(&with);
    plag_text_clear(&without);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(nothing_that_is_told_hangs_on_them)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
