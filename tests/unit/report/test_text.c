/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text says what the figures are, keeps to its width, looks the same without colour, and tells
 * when memory or the sink gives out. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/escape.h"
#include "support/failing_memory.h"
#include "support/made_report.h"

/* How a figure reads: the stick band of a healthy valve set to each, limit 8 %. */
static const struct {
  platelag_estimate band;
  const char *words[4]; /* in one line, in this order */
} rows[] = {
    {{PLATELAG_KNOWN_VALUE, 2.385, 1.713, 3.057}, {"2.4", "% of travel", "1.7 to 3.1", "within"}},
    {{PLATELAG_KNOWN_VALUE, 23.85, 17.13, 30.57}, {"23.9", "17.1 to 30.6", "8", "over"}},
    {{PLATELAG_KNOWN_VALUE, 7.385, 6.713, 9.057}, {"7.4", "6.7 to 9.1", "8", "borderline"}},
    {{PLATELAG_KNOWN_VALUE, 9.385, 8.713, INFINITY}, {"9.4", "8.7 or more", "8", "over"}},
    {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 3.171}, {"at most 3.2", "8", "within", ""}},
    {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 31.71}, {"at most 31.7", "8", "cannot tell", ""}},
    {{PLATELAG_KNOWN_LOWER_LIMIT, NAN, 12.13, NAN}, {"at least 12.1", "8", "over", ""}},
    {{PLATELAG_KNOWN_BRACKET, NAN, 3.17, 9.83}, {"3.2 to 9.8", "8", "cannot tell", ""}},
};

/* The line that begins, after blanks, with `word`; cut out of `text`. NULL when there is none. */
static char *line_of(const char *text, const char *word) {
  for (const char *at = text; at != NULL && *at != '\0'; at = strchr(at, '\n')) {
    at += strspn(at, "\n");
    if (strncmp(at + strspn(at, " "), word, strlen(word)) == 0)
      return strndup(at, strcspn(at, "\n"));
  }
  return NULL;
}

static void figures_are_told_with_interval_and_limit(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_test_report made;
    plag_text out = {0};
    plag_test_report_prepare(&made);
    plag_test_report_judge(&made, 1);
    made.record[0].fit.friction.stick_band_pct = rows[i].band;
    plag_test_report_text(&made, NULL, &out);
    char *line = line_of(out.bytes, "stick band");
    assert_non_null(line);
    const char *at = line;
    for (int k = 0; k < 4; k++) {
      at = strstr(at, rows[i].words[k]);
      if (at == NULL)
        fail_msg("row %zu: \"%s\" is not in its place in: %s", i, rows[i].words[k], line);
    }
    free(line);
    plag_text_clear(&out);
    plag_test_report_clear(&made);
  }
}

static void lines_keep_to_the_width(void **state) {
  (void)state;
  static const int widths[] = {0, 60, 80, 97, 120}; /* 0: 100 */
  plag_test_report made;
  plag_test_report_prepare(&made);
  plag_test_hold(&made.record[0], 14, 47.3, 61);
  plag_test_report_judge(&made, 2);
  for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
    plag_text out = {0};
    plag_test_report_text(&made, &(platelag_report_options){.width = widths[i]}, &out);
    const size_t widest = widths[i] > 0 ? (size_t)widths[i] : 100;
    size_t seen = 0;
    for (const char *at = out.bytes; *at != '\0'; at += strcspn(at, "\n") + 1) {
      const size_t width = plag_utf8_width(at, strcspn(at, "\n"));
      if (width > widest)
        fail_msg("width %zu: %.*s", widest, (int)strcspn(at, "\n"), at);
      seen = width > seen ? width : seen;
    }
    assert_true(seen + 15 > widest); /* it is used, too */
    plag_text_clear(&out);
  }
  plag_test_report_clear(&made);
}

/* The escape sequences taken out, nothing else differs. */
static void colour_is_emphasis_alone(void **state) {
  (void)state;
  plag_test_report made;
  plag_text plain = {0}, colored = {0}, stripped = {0};
  plag_test_report_prepare(&made);
  plag_test_pin_high(&made.record[0], 98.9, 0);
  plag_test_report_judge(&made, 1);
  plag_test_report_text(&made, NULL, &plain);
  plag_test_report_text(&made, &(platelag_report_options){.color = true}, &colored);
  for (const char *at = colored.bytes; *at != '\0';)
    if (*at == '\033')
      at += strcspn(at, "m") + 1;
    else
      plag_text_add_char(&stripped, *at++);
  assert_null(strchr(plain.bytes, '\033'));
  assert_non_null(strchr(colored.bytes, '\033'));
  assert_string_equal(stripped.bytes, plain.bytes);
  plag_text_clear(&plain);
  plag_text_clear(&colored);
  plag_text_clear(&stripped);
  plag_test_report_clear(&made);
}

/* Before and after stand side by side, the file once, the sentence first. */
static void captures_stand_side_by_side(void **state) {
  (void)state;
  plag_test_report made;
  plag_text out = {0};
  plag_test_report_prepare(&made);
  plag_test_lag(&made.record[0], 1.385, 1.517);
  plag_test_report_judge(&made, 2);
  plag_test_report_text(&made, NULL, &out);
  char *head = line_of(out.bytes, "Figures");
  char *opening = line_of(out.bytes, "t63 opening");
  assert_true(strstr(head, "road") != NULL && strstr(head, "after the repair") != NULL);
  assert_non_null(strstr(opening, "1.39 ("));
  assert_non_null(strstr(opening, ", over"));
  const char *after = strstr(out.bytes, "after.csv");
  assert_non_null(after);
  assert_null(strstr(after + 1, "after.csv"));
  const char *sentence = strstr(out.bytes, made.judged->finding->sentence);
  assert_true(sentence == NULL || sentence < strstr(out.bytes, "Figures"));
  free(head);
  free(opening);
  plag_text_clear(&out);
  plag_test_report_clear(&made);
}

/* The part of a report under a heading, up to the next empty line; cut out of `text`. */
static char *part_of(const char *text, const char *heading) {
  const char *at = strstr(text, heading);
  assert_non_null(at);
  const char *end = strstr(at, "\n\n");
  return end != NULL ? strndup(at, (size_t)(end - at)) : strdup(at);
}

/* Reasons that only just speak are left out beside those that do, and every other family is told
 * with what speaks against it. */
static void reasons_are_those_that_speak(void **state) {
  (void)state;
  plag_test_report made;
  plag_text out = {0};
  plag_test_report_prepare(&made);
  plag_test_hold(&made.record[0], 14, 47.3, 61);
  made.record[0].fit.friction.stick_band_pct =
      (platelag_estimate){PLATELAG_KNOWN_VALUE, 16.7, 14.9, 18.3};
  plag_test_report_judge(&made, 1);
  plag_test_report_text(&made, NULL, &out);
  char *why = part_of(out.bytes, "Why plates or shaft");
  char *not = part_of(out.bytes, "Why not the others");
  assert_non_null(strstr(why, "stick band: 16.7 % of travel, limit 8 ("));
  assert_null(strstr(why, "(slight)"));
  assert_non_null(strstr(not, "no fault: against it: "));
  assert_non_null(strstr(not, "sensor or wiring: "));
  assert_non_null(strstr(not, "actuator or supply: "));
  assert_null(strstr(not, "(slight)"));
  free(why);
  free(not );
  plag_text_clear(&out);
  plag_test_report_clear(&made);
}

static void what_gives_out_is_told(void **state) {
  (void)state;
  enum { MOST_ALLOCATIONS = 3000 };
  plag_test_report made;
  plag_test_report_prepare(&made);
  plag_test_report_judge(&made, 2);
  platelag_error error = {0};
  const platelag_sink full = plag_test_full_sink();
  assert_int_equal(platelag_report_write_text(&made.review, NULL, &full, &error),
                   PLATELAG_ERROR_IO);
  assert_int_equal(error.status, PLATELAG_ERROR_IO);
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    plag_text out = {0};
    plag_text_add_char(&out, ' ');
    for (size_t k = 0; k < 3000; k++) /* room, so that the sink itself needs none */
      plag_text_add(&out, "          ");
    plag_text_reset(&out);
    const platelag_sink sink = plag_test_text_sink(&out);
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = platelag_report_write_text(&made.review, NULL, &sink, &error);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, reached ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_int_equal(error.status, status);
    plag_text_clear(&out);
  }
  assert_true(nth > 5 && nth < MOST_ALLOCATIONS);
  plag_test_report_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_are_told_with_interval_and_limit),
      cmocka_unit_test(lines_keep_to_the_width),
      cmocka_unit_test(colour_is_emphasis_alone),
      cmocka_unit_test(captures_stand_side_by_side),
      cmocka_unit_test(reasons_are_those_that_speak),
      cmocka_unit_test(what_gives_out_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
