/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An order is the whole of a practice capture: the same order gives the same bytes, a wrong one is
 * refused with what would be right, and running out of memory is said. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_capture.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* One of everything that can be ordered. */
static const platelag_practice_order orders[] = {
    {.seed = 2385, .minutes = 0.7},
    {.seed = 2385, .minutes = 0.7, .drive = "vacuum", .fault = "slow"},
    {.seed = 88, .minutes = 0.6, .command = "on_off", .unit = "reference"},
    {.seed = 88, .minutes = 0.6, .command = "desired_and_duty", .unit = "open"},
    {.seed = 613, .minutes = 0.8, .command = "duty_closed_loop", .fault = "ridge"},
    {.seed = 613, .minutes = 0.9, .condition = "rest"},
    {.seed = 613, .minutes = 0.9, .condition = "hand_sweep", .fault = "worn_spot"},
    {.seed = 19, .minutes = 0.5, .condition = "after", .fault = "sticking"},
    {.seed = 19, .minutes = 0.5, .friction = "lugre", .fault = "sticking+dropouts"},
    {.seed = 771, .minutes = 0.4, .valves = 2, .rows_per_second = 4.7},
    {.seed = 771, .minutes = 0.4, .inverted = true, .extra_channels = 23, .layout = "long_form"},
    {.seed = 5, .minutes = 1.1, .driving = "idle", .rows_per_second = 20},
    {.seed = 2385, .minutes = 0.7, .setting = "second", .fault = "drift", .channels = "few"},
    {.seed = 88, .minutes = 0.6, .setting = "second", .drive = "vacuum", .fault = "worn_spot"},
};
enum { ORDER_COUNT = sizeof orders / sizeof orders[0] };

static void the_same_order_gives_the_same_bytes(void **state) {
  (void)state;
  for (size_t index = 0; index < ORDER_COUNT; index++) {
    made_capture once = {0}, twice = {0}, other = {0};
    platelag_practice_order changed = orders[index];
    changed.seed += 1;
    assert_true(made_capture_make(&once, &orders[index]));
    assert_true(made_capture_make(&twice, &orders[index]));
    assert_true(made_capture_make(&other, &changed));
    assert_string_equal(once.capture.bytes, twice.capture.bytes);
    assert_string_equal(once.truth.bytes, twice.truth.bytes);
    assert_string_not_equal(once.capture.bytes, other.capture.bytes);
    made_capture_clear(&once);
    made_capture_clear(&twice);
    made_capture_clear(&other);
  }
}

/* The text of a truth from `from` on, up to `to`. */
static void cut(const made_capture *made, const char *from, const char *to, char *out) {
  const char *begin = strstr(made->truth.bytes, from);
  assert_non_null(begin);
  const char *end = strstr(begin, to);
  assert_non_null(end);
  (void)sprintf(out, "%.*s", (int)(end - begin), begin);
}

/* Friction, stops and lag are the vehicle's and its fault's; what is asked of it is the drive's. */
static void another_drive_is_of_the_same_vehicle(void **state) {
  (void)state;
  for (size_t index = 0; index < ORDER_COUNT; index++) {
    made_capture one = {0}, same = {0}, other = {0};
    char of_one[4096], of_other[4096];
    platelag_practice_order order = orders[index];
    assert_true(made_capture_make(&one, &order));
    order.drive_seed = order.seed;
    assert_true(made_capture_make(&same, &order));
    assert_string_equal(one.capture.bytes, same.capture.bytes);
    order.drive_seed = order.seed + 4;
    assert_true(made_capture_make(&other, &order));
    assert_string_not_equal(one.capture.bytes, other.capture.bytes);
    cut(&one, "\"faults\"", "\"lost_readings\"", of_one);
    cut(&other, "\"faults\"", "\"lost_readings\"", of_other);
    assert_string_equal(of_one, of_other);
    made_capture_clear(&one);
    made_capture_clear(&same);
    made_capture_clear(&other);
  }
}

static void the_settings_make_unlike_captures(void **state) {
  (void)state;
  made_capture first = {0}, second = {0};
  platelag_practice_order order = {.seed = 2385, .minutes = 0.7, .setting = "first"};
  assert_true(made_capture_make(&first, &order));
  order.setting = "second";
  assert_true(made_capture_make(&second, &order));
  assert_string_not_equal(first.capture.bytes, second.capture.bytes);
  order.setting = NULL;
  assert_true(made_capture_make(&second, &order));
  assert_string_equal(first.capture.bytes, second.capture.bytes);
  made_capture_clear(&first);
  made_capture_clear(&second);
}

static void the_layout_changes_nothing_in_the_truth(void **state) {
  (void)state;
  made_capture comma = {0}, other = {0};
  platelag_practice_order order = {.seed = 333, .minutes = 0.9, .fault = "ridge"};
  assert_true(made_capture_make(&comma, &order));
  const char *after = strstr(comma.truth.bytes, "\"minutes\"");
  assert_non_null(after);
  for (size_t index = 0; index < platelag_practice_layout_count(); index++) {
    order.layout = platelag_practice_layout_name(index);
    assert_true(made_capture_make(&other, &order));
    assert_string_equal(after, strstr(other.truth.bytes, "\"minutes\""));
  }
  made_capture_clear(&comma);
  made_capture_clear(&other);
}

static void the_truth_is_json(void **state) {
  (void)state;
  for (size_t index = 0; index < ORDER_COUNT; index++) {
    made_capture made = {0};
    assert_true(made_capture_make(&made, &orders[index]));
    json_error_t error;
    json_t *truth = json_loads(made.truth.bytes, JSON_REJECT_DUPLICATES, &error);
    if (truth == NULL)
      fail_msg("seed %llu: line %d: %s", (unsigned long long)orders[index].seed, error.line,
               error.text);
    const json_t *valves = json_object_get(truth, "valves");
    assert_int_equal(json_array_size(valves), orders[index].valves == 2 ? 2 : 1);
    /* The rows that it tells are those of the file: header and long form apart. */
    if (orders[index].layout == NULL) {
      size_t lines = 0;
      for (const char *at = made.capture.bytes; (at = strchr(at, '\n')) != NULL; at++)
        lines++;
      assert_int_equal(json_integer_value(json_object_get(truth, "rows")) + 1, (json_int_t)lines);
    }
    json_decref(truth);
    made_capture_clear(&made);
  }
}

static platelag_status count_bytes(void *context, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)bytes, (void)error;
  *(size_t *)context += size;
  return PLATELAG_OK;
}

static void a_wrong_order_is_refused(void **state) {
  (void)state;
  static const struct {
    platelag_practice_order order;
    const char *found, *expected;
  } rows[] = {
      {{.fault = "sticky"}, "\"sticky\"", "sticking"},
      {{.fault = "sticking+"}, "\"sticking+\"", "dropouts"},
      {{.fault = "noise+noise+noise+noise+noise"}, "noise+noise", "up to 4"},
      {{.layout = "coma"}, "\"coma\"", "comma"},
      {{.drive = "steam"}, "\"steam\"", "vacuum"},
      {{.command = "mixed"}, "\"mixed\"", "on_off"},
      {{.unit = "volts"}, "\"volts\"", "reference"},
      {{.condition = "roads"}, "\"roads\"", "hand_sweep"},
      {{.driving = "wild"}, "\"wild\"", "idle"},
      {{.friction = "dahl"}, "\"dahl\"", "lugre"},
      {{.setting = "third"}, "\"third\"", "second"},
      {{.channels = "all"}, "\"all\"", "few"},
      {{.severity = 1.01}, "severity", "at most 1"},
      {{.severity = -0.2}, "severity", "above 0"},
      {{.minutes = -3}, "minutes", "0.05"},
      {{.minutes = NAN}, "minutes", "0.05"},
      {{.rows_per_second = 51.5}, "rows a second", "50"},
      {{.valves = 3}, "valves", "1 or 2"},
      {{.extra_channels = 4001}, "extra channels", "4000"},
  };
  for (size_t index = 0; index < sizeof rows / sizeof rows[0]; index++) {
    size_t written = 0;
    const platelag_sink sink = {&written, count_bytes};
    platelag_error error = {0};
    assert_int_equal(platelag_practice_write(&rows[index].order, &sink, &sink, &error),
                     PLATELAG_ERROR_USAGE);
    assert_int_equal(written, 0);
    if (strstr(error.message, rows[index].found) == NULL ||
        strstr(error.message, rows[index].expected) == NULL)
      fail_msg("\"%s\" does not name \"%s\" and \"%s\"", error.message, rows[index].found,
               rows[index].expected);
  }
}

static platelag_status disk_full(void *context, const char *bytes, size_t size,
                                 platelag_error *error) {
  (void)context, (void)bytes, (void)size;
  if (error != NULL)
    error->status = PLATELAG_ERROR_IO;
  return PLATELAG_ERROR_IO;
}

static void a_sink_that_fails_ends_the_work(void **state) {
  (void)state;
  size_t written = 0;
  const platelag_sink full = {NULL, disk_full}, fine = {&written, count_bytes};
  const platelag_practice_order order = {.seed = 3, .minutes = 0.3};
  platelag_error error = {0};
  assert_int_equal(platelag_practice_write(&order, &full, &fine, &error), PLATELAG_ERROR_IO);
  assert_int_equal(written, 0);
  assert_int_equal(platelag_practice_write(&order, &fine, &full, &error), PLATELAG_ERROR_IO);
  assert_true(written > 5000);
}

static void lack_of_memory_is_said(void **state) {
  (void)state;
  const platelag_practice_order order = {
      .seed = 61, .minutes = 0.4, .fault = "sticking", .layout = "utf16le", .extra_channels = 3};
  size_t nth = 1;
  for (bool reached = true; reached && nth < 400; nth++) {
    size_t written = 0;
    const platelag_sink sink = {&written, count_bytes};
    platelag_error error = {0};
    plag_test_fail_allocation(nth);
    const platelag_status status = platelag_practice_write(&order, &sink, &sink, &error);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, reached ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_int_equal(error.status, status);
  }
  assert_true(nth > 10 && nth < 400);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_same_order_gives_the_same_bytes),
      cmocka_unit_test(another_drive_is_of_the_same_vehicle),
      cmocka_unit_test(the_settings_make_unlike_captures),
      cmocka_unit_test(the_layout_changes_nothing_in_the_truth),
      cmocka_unit_test(the_truth_is_json),
      cmocka_unit_test(a_wrong_order_is_refused),
      cmocka_unit_test(a_sink_that_fails_ends_the_work),
      cmocka_unit_test(lack_of_memory_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
