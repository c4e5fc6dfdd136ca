/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * However a recorder lays channels into rows, the samples that come out are the same; and what is
 * no single recording - pauses, restarts, several vehicles - becomes segments and runs. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "core/text.h"
#include "support/describe_capture.h"
#include "support/memory_source.h"

enum { SAMPLES = 240 };

/* The truth that every shape records: duty at i / 10 s, position 0.03 s later. */
static int duty_of(int i) {
  return i / 24 % 2 == 0 ? 12 : 63;
}

static int position_of(int i) { /* mV */
  return 1200 + (i * 7919) % 997;
}

typedef void (*write_shape)(plag_text *file);

static void write_one_clock(plag_text *file) {
  plag_text_add(file, "Time (ms),Runner duty (%),Runner position (mV)\n");
  for (int i = 0; i < SAMPLES; i++)
    plag_text_add_format(file, "%d,%d,%d\n", i * 100, duty_of(i), position_of(i));
}

static void write_clock_per_channel(plag_text *file) {
  plag_text_add(file, "Time (ms),Runner duty (%),Time (ms),Runner position (mV)\n");
  for (int i = 0; i < SAMPLES; i++)
    plag_text_add_format(file, "%d,%d,%d,%d\n", i * 100, duty_of(i), i * 100 + 30, position_of(i));
}

static void write_long(plag_text *file) {
  plag_text_add(file, "Time (ms);Signal;Value;Unit\n");
  for (int i = 0; i < SAMPLES; i++)
    plag_text_add_format(file, "%d;Runner duty;%d;%%\n%d;Runner position;%d;mV\n", i * 100,
                         duty_of(i), i * 100 + 30, position_of(i));
}

static void write_long_with_units_in_names(plag_text *file) {
  plag_text_add(file, "Signal|Time (ms)|Value\n");
  for (int i = 0; i < SAMPLES; i++)
    plag_text_add_format(file, "Runner duty (%%)|%d|%d\nRunner position (mV)|%d|%d\n", i * 100,
                         duty_of(i), i * 100 + 30, position_of(i));
}

static void write_sparse(plag_text *file) {
  plag_text_add(file, "Time (ms)\tRunner duty (%)\tRunner position (mV)\n");
  for (int i = 0; i < SAMPLES; i++)
    plag_text_add_format(file, "%d\t%d\t\n%d\t\t%d\n", i * 100, duty_of(i), i * 100 + 30,
                         position_of(i));
}

static void check_samples(const char *what, const platelag_channel *channel, int skew_ms,
                          int (*truth)(int), double scale) {
  if (channel->count != SAMPLES || channel->present != SAMPLES)
    fail_msg("%s: %zu samples of %s", what, channel->count, channel->name);
  for (int i = 0; i < SAMPLES; i++)
    if (channel->time_ns[i] != (int64_t)(i * 100 + skew_ms) * 1000000 ||
        fabs(channel->value[i] - truth(i) * scale) > 1e-12)
      fail_msg("%s: sample %d of %s", what, i, channel->name);
}

static void every_shape_gives_the_same_samples(void **state) {
  (void)state;
  static const struct {
    const char *shape;
    write_shape write;
    int skew_ms;
    double refresh_s;
  } table[] = {
      {"one clock", write_one_clock, 0, 0.1},
      {"clock per channel", write_clock_per_channel, 30, 0.1},
      {"long", write_long, 30, 0.1},
      {"long", write_long_with_units_in_names, 30, 0.1},
      {"sparse rows", write_sparse, 30, 0.1},
  };
  plag_text file = {0};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    plag_text_reset(&file);
    table[i].write(&file);
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    if (plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error) != PLATELAG_OK)
      fail_msg("%s: %s", table[i].shape, error.message);
    assert_string_equal(platelag_capture_reading(capture)->shape, table[i].shape);
    const platelag_channel *duty = plag_test_channel(capture, "Runner duty");
    const platelag_channel *position = plag_test_channel(capture, "Runner position");
    assert_int_equal(duty->role, PLATELAG_ROLE_COMMAND);
    assert_int_equal(position->role, PLATELAG_ROLE_POSITION);
    assert_int_equal(duty->unit, PLATELAG_UNIT_PERCENT);
    assert_int_equal(position->unit, PLATELAG_UNIT_VOLT);
    check_samples(table[i].shape, duty, 0, duty_of, 1);
    check_samples(table[i].shape, position, table[i].skew_ms, position_of, 1e-3);
    assert_close(position->refresh_s, table[i].refresh_s, 1e-6, 0);
    assert_int_equal(platelag_capture_segment_count(capture), 1);
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
}

typedef struct break_case {
  const char *what;
  int first_row; /* rows are written as row / 10 s from here */
  int second_row;
  bool header_again;
  platelag_break why; /* of the second segment; START: there is none */
  double at_s;        /* where it begins */
  int run;
} break_case;

/* 50 rows, then 50 more that go on at `second_row`. */
static const break_case breaks[] = {
    {"no break", 70, 120, false, PLATELAG_BREAK_START, 0, 0},
    {"a skip of a second", 70, 130, false, PLATELAG_BREAK_START, 0, 0},
    {"a pause", 70, 150, false, PLATELAG_BREAK_GAP, 8.0, 0},
    {"a pause of an hour", 70, 36070, false, PLATELAG_BREAK_GAP, 3600, 0},
    {"a restart", 70, 0, false, PLATELAG_BREAK_RESTART, 6.9, 0},
    {"another recording under its own header", 70, 0, true, PLATELAG_BREAK_RUN, 6.9, 1},
    {"a header on a new page", 70, 120, true, PLATELAG_BREAK_START, 0, 0},
};

static void pauses_and_restarts_begin_segments(void **state) {
  (void)state;
  static const char header[] = "Time (s),Runner duty (%),Runner position (V)\n";
  plag_text file = {0};
  for (size_t i = 0; i < sizeof breaks / sizeof breaks[0]; i++) {
    const break_case *row = &breaks[i];
    plag_text_reset(&file);
    plag_text_add(&file, header);
    for (int k = 0; k < 100; k++) {
      const int at = k < 50 ? row->first_row + k : row->second_row + k - 50;
      plag_text_add(&file, k == 50 && row->header_again ? header : "");
      plag_text_add_format(&file, "%d.%d,12.5,1.%03d\n", at / 10, at % 10, k * 7);
    }
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    if (plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error) != PLATELAG_OK)
      fail_msg("%s: %s", row->what, error.message);
    const bool broken = row->why != PLATELAG_BREAK_START;
    if (platelag_capture_segment_count(capture) != (broken ? 2u : 1u))
      fail_msg("%s: %zu segments", row->what, platelag_capture_segment_count(capture));
    if (broken) {
      const platelag_segment *first = platelag_capture_segment_at(capture, 0);
      const platelag_segment *second = platelag_capture_segment_at(capture, 1);
      if (second->why != row->why || second->run != row->run)
        fail_msg("%s: why %d, run %d", row->what, (int)second->why, second->run);
      assert_close((double)first->to_ns * 1e-9, 4.9, 1e-9, 0);
      assert_close((double)second->from_ns * 1e-9, row->at_s, 1e-9, 0);
      assert_close((double)second->to_ns * 1e-9, row->at_s + 4.9, 1e-9, 0);
    }
    assert_int_equal(platelag_capture_run_count(capture), row->run + 1);
    assert_int_equal(plag_test_channel(capture, "Runner position")->count, 100);
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
}

/* Several vehicles, one behind the other: runs with their labels. */
static void vehicles_in_one_file_are_runs(void **state) {
  (void)state;
  static const char *const labels[] = {"Shuttle 7", "Shuttle 11", "Shuttle 16"};
  plag_text file = {0};
  plag_text_add(&file, "Vehicle,Time (s),Runner duty (%),Runner position (V)\n");
  for (int k = 0; k < 240; k++)
    plag_text_add_format(&file, "%s,%d.%d,12.5,1.%03d\n", labels[k / 80], k % 80 / 10, k % 10,
                         k * 3);
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  if (plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(platelag_capture_run_count(capture), 3);
  assert_int_equal(platelag_capture_segment_count(capture), 3);
  for (size_t i = 0; i < 3; i++) {
    assert_string_equal(platelag_capture_run_label(capture, i), labels[i]);
    assert_int_equal(platelag_capture_segment_at(capture, i)->run, i);
    const platelag_segment *segment = platelag_capture_segment_at(capture, i);
    assert_close((double)(segment->to_ns - segment->from_ns) * 1e-9, 7.9, 1e-9, 0);
  }
  platelag_capture_destroy(capture);

  plag_text_reset(&file);
  plag_text_add(&file, "Vehicle,Time (s),Runner duty (%),Runner position (V)\n");
  for (int k = 0; k < 240; k++) /* one at first, then all three in turn */
    plag_text_add_format(&file, "%s,%d.%d,12.5,1.%03d\n", labels[k < 120 ? 0 : k % 3], k / 10,
                         k % 10, k * 3);
  assert_int_equal(plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error),
                   PLATELAG_ERROR_INPUT);
  assert_null(capture);
  assert_non_null(strstr(error.message, "alternate in column \"Vehicle\""));
  plag_text_clear(&file);
}

/* A channel that a slow bus renews every third row has three times the row's period; a command
 * whose steps are too few to say is taken to be polled like it. */
static void a_slower_channel_is_told(void **state) {
  (void)state;
  plag_text file = {0};
  plag_text_add(&file, "Time (s),Runner duty (%),Runner position (V),Engine speed (rpm)\n");
  for (int k = 0; k < 600; k++)
    plag_text_add_format(&file, "%d.%d,%d,1.%03d,%d\n", k / 10, k % 10, k / 47 % 2 * 50,
                         k / 3 * 37 % 1000, 800 + k * 7919 % 997);
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error),
                   PLATELAG_OK);
  assert_close(plag_test_channel(capture, "Runner position")->refresh_s, 0.3, 1e-6, 0);
  assert_close(plag_test_channel(capture, "Engine speed")->refresh_s, 0.1, 1e-6, 0);
  assert_close(plag_test_channel(capture, "Runner duty")->refresh_s, 0.3, 1e-6, 0);
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_shape_gives_the_same_samples),
      cmocka_unit_test(pauses_and_restarts_begin_segments),
      cmocka_unit_test(vehicles_in_one_file_are_runs),
      cmocka_unit_test(a_slower_channel_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
