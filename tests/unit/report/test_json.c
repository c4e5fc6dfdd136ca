/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is known of a quantity comes out in the form the schema names: a value with its interval, a
 * limit without a value, an unbounded side as null, nothing as null; zero has no sign. */
#include "support/check.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "support/made_report.h"

static const struct {
  platelag_estimate estimate;
  const char *expected; /* compact */
} rows[] = {
    {{PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN}, "null"},
    {{PLATELAG_KNOWN_NOTHING, 0.4, 0.3, 0.5}, "null"},
    {{PLATELAG_KNOWN_VALUE, 0.2385, 0.1713, 0.3057},
     "{\"value\":0.2385,\"low\":0.1713,\"high\":0.3057}"},
    {{PLATELAG_KNOWN_VALUE, 0.2385, 0.1713, INFINITY},
     "{\"value\":0.2385,\"low\":0.1713,\"high\":null}"},
    {{PLATELAG_KNOWN_VALUE, 0.2385, -INFINITY, 0.3057},
     "{\"value\":0.2385,\"low\":null,\"high\":0.3057}"},
    {{PLATELAG_KNOWN_VALUE, -0.0, -0.0, 1.0 / 3}, "{\"value\":0.0,\"low\":0.0,\"high\":0.333333}"},
    {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0, 0.1172}, "{\"value\":null,\"low\":0.0,\"high\":0.1172}"},
    {{PLATELAG_KNOWN_UPPER_LIMIT, 0.05, 0, 0.1172}, "{\"value\":null,\"low\":0.0,\"high\":0.1172}"},
    {{PLATELAG_KNOWN_LOWER_LIMIT, NAN, 2.385, INFINITY},
     "{\"value\":null,\"low\":2.385,\"high\":null}"},
    {{PLATELAG_KNOWN_BRACKET, NAN, 3.17, 9.83}, "{\"value\":null,\"low\":3.17,\"high\":9.83}"},
};

static const json_t *first_valve(const json_t *document) {
  const json_t *captures = json_object_get(document, "captures");
  return json_array_get(json_object_get(json_array_get(captures, 0), "valves"), 0);
}

static void estimates_take_their_form(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_test_report made;
    plag_text out = {0};
    plag_test_report_prepare(&made);
    plag_test_report_judge(&made, 1);
    made.record[0].fit.lag.dead_time_s = rows[i].estimate;
    plag_test_report_json(&made, &out);
    json_t *document = json_loads(out.bytes, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(document);
    const json_t *told =
        json_object_get(json_object_get(first_valve(document), "lag"), "dead_time_s");
    char *text = json_dumps(told, JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(6));
    assert_string_equal(text, rows[i].expected);
    assert_null(strstr(out.bytes, "-0.0,"));
    free(text);
    json_decref(document);
    plag_text_clear(&out);
    plag_test_report_clear(&made);
  }
}

static void a_refused_capture_is_told_in_its_place(void **state) {
  (void)state;
  plag_test_report made;
  plag_text out = {0};
  plag_test_report_prepare(&made);
  plag_test_report_judge(&made, 1);
  made.captures[1] = (platelag_review_capture){
      .file = "bad\033[1m.csv",
      .refusal = {PLATELAG_ERROR_INPUT, "bad\033[1m.csv", 17, 3, "found \"soon\""}};
  made.review.capture_count = 2;
  plag_test_report_json(&made, &out);
  json_t *document = json_loads(out.bytes, JSON_REJECT_DUPLICATES, NULL);
  const json_t *refused = json_array_get(json_object_get(document, "captures"), 1);
  const json_t *why = json_object_get(refused, "refused");
  assert_int_equal(json_integer_value(json_object_get(why, "line")), 17);
  assert_int_equal(json_integer_value(json_object_get(why, "column")), 3);
  assert_string_equal(json_string_value(json_object_get(why, "message")), "found \"soon\"");
  assert_true(json_is_null(json_object_get(refused, "reading")));
  assert_int_equal(json_array_size(json_object_get(refused, "valves")), 0);
  assert_null(strchr(out.bytes, '\033'));
  json_decref(document);
  plag_text_clear(&out);
  plag_test_report_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(estimates_take_their_form),
                                     cmocka_unit_test(a_refused_capture_is_told_in_its_place)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
