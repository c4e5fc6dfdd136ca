/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Logs come out of the store valve by valve and in order of time, each content once, and parted
 * into series where something was repaired, that valve or all of the vehicle. */
#include "support/check.h"
#include "support/made_store.h"

#include <string.h>

#include "fleet/logs.h"

static plag_test_store made;

/* "17/bank 1: a.csv0 b.csv1", a valve a line: each log's path and series, a repair since behind. */
static platelag_status tell_valve(void *context, const plag_valve_logs *logs,
                                  platelag_error *error) {
  plag_text *out = context;
  (void)error;
  plag_text_add_format(out, "%s/%s:", logs->vehicle, logs->valve);
  for (size_t i = 0; i < logs->count; i++)
    plag_text_add_format(out, " %s%d", logs->log[i].file, logs->log[i].series);
  if (logs->repair_since != NULL)
    plag_text_add_format(out, " then %s", logs->repair_since->what);
  plag_text_add(out, "\n");
  return PLATELAG_OK;
}

static void expect(const plag_logs_wanted *wanted, const char *told) {
  plag_repairs repairs;
  plag_text text = {0};
  plag_text_add(&text, "");
  assert_int_equal(plag_repairs_read(made.store, &repairs, NULL), PLATELAG_OK);
  assert_int_equal(plag_logs_visit(made.store, &repairs, wanted, tell_valve, &text, NULL),
                   PLATELAG_OK);
  assert_string_equal(text.bytes, told);
  plag_repairs_clear(&repairs);
  plag_text_clear(&text);
}

static const plag_logs_wanted ALL = {0};

static void logs_come_in_order_of_vehicle_valve_and_time(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.vehicle = "17", .valve = "bank 2", .path = "d", .date = "2026-03-01"},
      {.vehicle = "17", .valve = "bank 1", .path = "c", .date = "2026-02-01"},
      {.vehicle = "9", .valve = "bank 1", .path = "z", .date = "2026-02-01"},
      {.vehicle = "17", .valve = "bank 1", .path = "e", .date = "2026-01-01"},
      {.vehicle = "17", .valve = "bank 1", .path = "b"},
      {.vehicle = "17", .valve = "bank 1", .path = "a", .date = "2026-02-01"},
      {.vehicle = "Z", .valve = "bank 1", .path = "y", .date = "2026-02-01"},
      {.vehicle = "a", .valve = "bank 1", .path = "x", .date = "2026-02-01"}};
  expect(&ALL, "");
  plag_test_store_put(&made, logs, sizeof logs / sizeof *logs);
  expect(&ALL, "17/bank 1: b0 e0 a0 c0\n17/bank 2: d0\n9/bank 1: z0\nZ/bank 1: y0\na/bank 1: x0\n");
  const plag_logs_wanted one = {.vehicle = "17", .valve = "bank 1"};
  expect(&one, "17/bank 1: b0 e0 a0 c0\n");
  const plag_logs_wanted none = {.vehicle = "18", .valve = "bank 1"};
  expect(&none, "");
}

/* A vehicle whose name some logs have from the manifest and others from their own label is one; a
 * log of no known vehicle is one by itself. */
static void names_of_any_origin_are_one_vehicle(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.vehicle = "17", .path = "a", .date = "2026-01-01"},
      {.label = "17", .path = "b", .date = "2026-02-01"},
      {.vehicle = "17", .label = "other", .path = "c", .date = "2026-03-01"},
      {.path = "lone.csv", .date = "2026-02-01"}};
  plag_test_store_put(&made, logs, sizeof logs / sizeof *logs);
  expect(&ALL, "17/valve: a0 b0 c0\nlone.csv/valve: lone.csv0\n");
  const plag_logs_wanted one = {.vehicle = "17", .valve = "valve"};
  expect(&one, "17/valve: a0 b0 c0\n");
  const plag_logs_wanted lone = {.vehicle = "lone.csv", .valve = "valve"};
  expect(&lone, "lone.csv/valve: lone.csv0\n");
}

static void a_content_counts_once_under_who_says_whose_it_is(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.path = "a", .content = "x", .date = "2026-01-01"},
      {.vehicle = "17", .path = "c", .content = "x", .date = "2026-01-01"},
      {.vehicle = "18", .path = "b", .content = "x", .date = "2026-01-01"},
      {.vehicle = "17", .path = "d", .content = "y", .date = "2026-02-01"}};
  plag_test_store_put(&made, logs, sizeof logs / sizeof *logs);
  expect(&ALL, "17/valve: d0\n18/valve: b0\n");
}

static const struct series {
  plag_test_log log[5];
  const char *repairs, *told;
} SERIES[] = {
    /* between two logs; before the first; after the last; two at once; a date that two logs share
     */
    {{{.path = "a", .date = "2026-01-01"}, {.path = "b", .date = "2026-03-01"}},
     "2026-02-01,17,,x\n",
     "17/valve: a0 b1\n"},
    {{{.path = "a", .date = "2026-01-01"}, {.path = "b", .date = "2026-03-01"}},
     "2025-02-01,17,,x\n",
     "17/valve: a0 b0\n"},
    {{{.path = "a", .date = "2026-01-01"}, {.path = "b", .date = "2026-03-01"}},
     "2026-04-01,17,,x\n2026-05-01,17,,y\n",
     "17/valve: a0 b0 then y\n"},
    {{{.path = "a", .date = "2026-01-01"}, {.path = "b", .date = "2026-03-01"}},
     "2026-02-01,17,,x\n2026-02-02,17,,y\n",
     "17/valve: a0 b1\n"},
    {{{.path = "a", .date = "2026-01-01"}, {.path = "b", .date = "2026-03-01"}},
     "2026-02-01,18,,x\n2026-02-02,1,,y\n",
     "17/valve: a0 b0\n"},
    /* of the repair's own day: with a day alone, then with times */
    {{{.path = "a", .date = "2026-03-01 09:30"}, {.path = "b", .date = "2026-03-02"}},
     "2026-03-01,17,,x\n",
     "17/valve: a0 b1\n"},
    {{{.path = "b", .date = "2026-03-01"},
      {.path = "a", .date = "2026-03-01", .condition = "after"}},
     "2026-03-01,17,,x\n",
     "17/valve: b0 a1\n"},
    {{{.path = "a", .date = "2026-03-01"}}, "2026-03-01,17,,x\n", "17/valve: a0 then x\n"},
    {{{.path = "a", .date = "2026-03-01 09:30"}, {.path = "b", .date = "2026-03-01 16:10"}},
     "2026-03-01 12:00,17,,x\n",
     "17/valve: a0 b1\n"},
    /* of one valve alone, and of all */
    {{{.path = "a", .date = "2026-01-01", .valve = "bank 1"},
      {.path = "b", .date = "2026-03-01", .valve = "bank 1"},
      {.path = "c", .date = "2026-01-01", .valve = "bank 2"},
      {.path = "d", .date = "2026-03-01", .valve = "bank 2"}},
     "2026-02-01,17,bank 2,x\n",
     "17/bank 1: a0 b0\n17/bank 2: c0 d1\n"},
    {{{.path = "a", .date = "2026-01-01", .valve = "bank 1"},
      {.path = "b", .date = "2026-03-01", .valve = "bank 1"},
      {.path = "c", .date = "2026-01-01", .valve = "bank 2"},
      {.path = "d", .date = "2026-03-01", .valve = "bank 2"}},
     "2026-02-01,17,,x\n",
     "17/bank 1: a0 b1\n17/bank 2: c0 d1\n"},
    /* "after" says so too, once; and is the manifest's repair where that is told */
    {{{.path = "a", .date = "2026-01-01"},
      {.path = "b", .date = "2026-02-01", .condition = "after"},
      {.path = "c", .date = "2026-03-01", .condition = "after"},
      {.path = "d", .date = "2026-04-01"},
      {.path = "e", .date = "2026-05-01", .condition = "after"}},
     "",
     "17/valve: a0 b1 c1 d1 e2\n"},
    {{{.path = "a", .date = "2026-01-01"},
      {.path = "b", .date = "2026-02-01"},
      {.path = "c", .date = "2026-03-01", .condition = "after"},
      {.path = "d", .date = "2026-04-01"},
      {.path = "e", .date = "2026-05-01", .condition = "after"}},
     "2026-01-15,17,,x\n",
     "17/valve: a0 b1 c1 d1 e2\n"},
    {{{.path = "a", .condition = "after"}, {.path = "b", .date = "2026-02-01"}},
     "",
     "17/valve: a0 b0\n"},
    /* without dates: what was taken after comes last, and no repair can be placed */
    {{{.path = "a", .condition = "after"}, {.path = "b"}, {.path = "c"}},
     "",
     "17/valve: b0 c0 a1\n"},
    {{{.path = "b"}, {.path = "c"}}, "2026-03-01,17,,x\n", "17/valve: b0 c0\n"},
    {{{.path = "b"}, {.path = "c", .date = "2026-04-01"}},
     "2026-03-01,17,,x\n",
     "17/valve: b0 c1\n"},
};

static void repairs_part_logs_into_series(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof SERIES / sizeof *SERIES; i++) {
    plag_test_store_open(&made);
    for (size_t k = 0; k < 5 && SERIES[i].log[k].path != NULL; k++) {
      plag_test_log log = SERIES[i].log[k];
      log.vehicle = "17";
      plag_test_store_put(&made, &log, 1);
    }
    plag_test_store_repair(&made, SERIES[i].repairs);
    expect(&ALL, SERIES[i].told);
    plag_test_store_close(&made);
  }
}

static platelag_status look_closely(void *context, const plag_valve_logs *logs,
                                    platelag_error *error) {
  (void)error;
  ++*(int *)context;
  assert_int_equal(logs->count, 2);
  assert_string_equal(logs->engine, "2.0"); /* of the latest that tells one */
  assert_int_equal(logs->named_by, PLAG_NAMED_BY_PLACE);
  const platelag_fleet_log *log = &logs->log[0];
  assert_true(log->dated);
  assert_int_equal(log->at_unix_s, 1773446400);
  assert_int_equal(log->finding, PLATELAG_FINDING_STICKING);
  assert_int_equal(log->family, PLATELAG_FAMILY_MECHANICAL);
  assert_close(log->finding_probability, 0.83, 0, 0);
  assert_close(log->probability[PLATELAG_FAMILY_MECHANICAL], 0.83, 0, 0);
  assert_close(log->probability[PLATELAG_FAMILY_DRIVE], 0.17 / 3, 1e-12, 0);
  assert_int_equal(log->figure[0].known, PLATELAG_KNOWN_VALUE);
  assert_close(log->figure[0].value, 14.3, 0, 0);
  assert_close(log->figure[0].low, 13.9, 1e-12, 0);
  assert_int_equal(log->figure[1].known, PLATELAG_KNOWN_NOTHING);
  assert_close(log->figure[3].high, 2.34, 1e-12, 0);
  assert_string_equal(log->sentence, "It is sticking.");
  assert_string_equal(log->program, PLATELAG_VERSION);
  assert_int_equal(logs->log[1].figure[0].known, PLATELAG_KNOWN_NOTHING);
  assert_int_equal(logs->log[1].condition, PLATELAG_CONDITION_REST);
  return PLATELAG_OK;
}

static void a_log_is_what_was_put_in(void **state) {
  (void)state;
  static const plag_test_log logs[] = {
      {.vehicle = "17",
       .engine = "1.8",
       .date = "2026-03-14",
       .finding = "sticking",
       .family = "mechanical",
       .probability = 0.83,
       .stick_band_pct = 14.3,
       .span_v = 2.31},
      {.vehicle = "17", .engine = "2.0", .date = "2026-03-15", .condition = "rest"}};
  int valves = 0;
  const plag_repairs none = {0};
  plag_test_store_put(&made, logs, 2);
  assert_int_equal(plag_logs_visit(made.store, &none, &ALL, look_closely, &valves, NULL),
                   PLATELAG_OK);
  assert_int_equal(valves, 1);
}

static platelag_status refuse(void *context, const plag_valve_logs *logs, platelag_error *error) {
  (void)logs;
  (void)error;
  ++*(int *)context;
  return PLATELAG_ERROR_IO;
}

static void the_taker_ends_the_visit(void **state) {
  (void)state;
  static const plag_test_log logs[] = {{.vehicle = "17"}, {.vehicle = "18"}, {.vehicle = "19"}};
  const plag_repairs none = {0};
  int calls = 0;
  plag_test_store_put(&made, logs, 3);
  assert_int_equal(plag_logs_visit(made.store, &none, &ALL, refuse, &calls, NULL),
                   PLATELAG_ERROR_IO);
  assert_int_equal(calls, 1);
}

int main(void) {
#define FRESH(name) plag_test_on_store(name, &made)
  const struct CMUnitTest tests[] = {
      FRESH(logs_come_in_order_of_vehicle_valve_and_time),
      FRESH(names_of_any_origin_are_one_vehicle),
      FRESH(a_content_counts_once_under_who_says_whose_it_is),
      cmocka_unit_test(repairs_part_logs_into_series),
      FRESH(a_log_is_what_was_put_in),
      FRESH(the_taker_ends_the_visit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
