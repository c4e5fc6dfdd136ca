/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A clock a channel: one stamp that is none, or lies far off by itself, costs its own sample and is
 * told; it moves nothing. Clocks that pause or begin anew together keep their channels in step, and
 * one that does so alone is refused, for its channel would be lined up with what it never met. */
#include "support/check.h"

#include <inttypes.h>
#include <string.h>

#include "core/text.h"
#include "support/describe_capture.h"
#include "support/memory_source.h"

enum { ROWS = 120, SKEW_MS = 30, NONE = -1, LINE_OF_ROW_0 = 2 };

/* Row 47's stamp of one clock reads otherwise. */
typedef struct stray {
  const char *what;
  const char *stamp;
  const char *note;
} stray;

enum { STRAY_ROW = 47 };

static const stray STRAYS[] = {
    {"no number", "4x7", "no stamp"},          {"a spreadsheet's marks", "#####", "no stamp"},
    {"nothing at all", "", "no stamp"},        {"far back", "-2385", "far off by itself"},
    {"of another day", "86404700", "far off"}, {"ahead by half a minute", "34730", "far off"},
    {"back to the start", "0", "far off"},
};

static int64_t stamp_ms(int row, int clock) {
  return 1000 + row * 100 + (clock == 1 ? SKEW_MS : 0);
}

static int duty_of(int row) {
  return 20 + row * 37 % 60;
}

static int position_of(int row) {
  return 1200 + row * 131 % 2500;
}

static platelag_capture *read(const plag_text *file) {
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  if (plag_test_read_bytes(file->bytes, file->length, NULL, &capture, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_string_equal(platelag_capture_reading(capture)->shape, "clock per channel");
  return capture;
}

static void begin(plag_text *file) {
  plag_text_reset(file);
  plag_text_add(file, "Time (ms);Runner duty (%);Time (ms);Runner position (mV)\n");
}

static void add_row(plag_text *file, int row, int64_t duty_ms, int64_t position_ms) {
  plag_text_add_format(file, "%" PRId64 ";%d;%" PRId64 ";%d\n", duty_ms, duty_of(row), position_ms,
                       position_of(row));
}

static void check_channel(const char *what, const platelag_channel *channel, int clock,
                          int left_out) {
  size_t at = 0;
  for (int row = 0; row < ROWS; row++) {
    if (row == left_out)
      continue;
    const int value = clock == 0 ? duty_of(row) : position_of(row);
    const double scale = clock == 0 ? 1.0 : 1e-3;
    if (at >= channel->count || channel->time_ns[at] != (stamp_ms(row, clock) - 1000) * 1000000)
      fail_msg("%s: time of row %d of %s", what, row, channel->name);
    assert_close(channel->value[at++], value * scale, 1e-12, 0);
  }
  assert_int_equal(channel->count, at);
}

static void a_stray_stamp_costs_its_own_sample(void **state) {
  (void)state;
  plag_text file = {0};
  for (size_t i = 0; i < sizeof STRAYS / sizeof STRAYS[0]; i++)
    for (int clock = 0; clock < 2; clock++) {
      begin(&file);
      for (int row = 0; row < ROWS; row++) {
        if (row != STRAY_ROW)
          add_row(&file, row, stamp_ms(row, 0), stamp_ms(row, 1));
        else if (clock == 0)
          plag_text_add_format(&file, "%s;%d;%" PRId64 ";%d\n", STRAYS[i].stamp, duty_of(row),
                               stamp_ms(row, 1), position_of(row));
        else
          plag_text_add_format(&file, "%" PRId64 ";%d;%s;%d\n", stamp_ms(row, 0), duty_of(row),
                               STRAYS[i].stamp, position_of(row));
      }
      platelag_capture *capture = read(&file);
      check_channel(STRAYS[i].what, plag_test_channel(capture, "Runner duty"), 0,
                    clock == 0 ? STRAY_ROW : NONE);
      check_channel(STRAYS[i].what, plag_test_channel(capture, "Runner position"), 1,
                    clock == 1 ? STRAY_ROW : NONE);
      assert_int_equal(platelag_capture_segment_count(capture), 1);
      const platelag_note *note = plag_test_find_note(capture, STRAYS[i].note);
      if (note == NULL)
        fail_msg("%s: no note", STRAYS[i].what);
      assert_int_equal(note->line, STRAY_ROW + LINE_OF_ROW_0);
      assert_int_equal(note->count, 1);
      platelag_capture_destroy(capture);
    }
  plag_text_clear(&file);
}

/* From one row on the stamps of both clocks are others. */
static void clocks_that_go_together_stay_in_step(void **state) {
  (void)state;
  static const struct {
    const char *what;
    int first_row;
    int64_t by_ms;
    size_t segments;
  } table[] = {{"a pause", 60, 17300, 2},
               {"anew", 60, -6830, 2},
               {"a short pause", 60, 900, 1},
               {"a pause before the last row", ROWS - 1, 17300, 2}};
  plag_text file = {0};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    begin(&file);
    for (int row = 0; row < ROWS; row++) {
      const int64_t by_ms = row < table[i].first_row ? 0 : table[i].by_ms;
      add_row(&file, row, stamp_ms(row, 0) + by_ms, stamp_ms(row, 1) + by_ms);
    }
    platelag_capture *capture = read(&file);
    const platelag_channel *duty = plag_test_channel(capture, "Runner duty");
    const platelag_channel *position = plag_test_channel(capture, "Runner position");
    assert_int_equal(duty->count, ROWS);
    assert_int_equal(position->count, ROWS);
    for (int row = 0; row < ROWS; row++)
      if (position->time_ns[row] - duty->time_ns[row] != SKEW_MS * 1000000)
        fail_msg("%s: row %d is out of step", table[i].what, row);
    assert_int_equal(platelag_capture_segment_count(capture), table[i].segments);
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
}

/* A channel that is polled half as often fills half of the rows, and begins anew half-way down. */
static void clocks_begin_anew_at_rows_of_their_own(void **state) {
  (void)state;
  plag_text file = {0};
  begin(&file);
  for (int row = 0; row < ROWS; row++) {
    plag_text_add_format(&file, "%" PRId64 ";%d;", stamp_ms(row % 60, 0), duty_of(row));
    if (row < ROWS / 2)
      plag_text_add_format(&file, "%" PRId64 ";%d\n", stamp_ms(2 * row % 60, 1), position_of(row));
    else
      plag_text_add(&file, ";\n");
  }
  platelag_capture *capture = read(&file);
  const platelag_channel *duty = plag_test_channel(capture, "Runner duty");
  const platelag_channel *position = plag_test_channel(capture, "Runner position");
  assert_int_equal(duty->count, ROWS);
  assert_int_equal(position->count, ROWS / 2);
  for (int row = 0; row < ROWS / 2; row++)
    if (position->time_ns[row] - duty->time_ns[2 * row] != SKEW_MS * 1000000)
      fail_msg("row %d is out of step", row);
  assert_int_equal(platelag_capture_segment_count(capture), 2);
  for (size_t i = 0; i < 2; i++) {
    const platelag_segment *segment = platelag_capture_segment_at(capture, i);
    assert_int_equal(segment->from_ns, duty->time_ns[60 * i]);
    assert_int_equal(segment->to_ns, duty->time_ns[60 * i + 59]);
  }
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

static void expect_refusal(const plag_text *file, const char *words, int64_t line) {
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_test_read_bytes(file->bytes, file->length, NULL, &capture, &error),
                   PLATELAG_ERROR_INPUT);
  assert_null(capture);
  if (strstr(error.message, words) == NULL)
    fail_msg("\"%s\" in place of \"%s\"", error.message, words);
  assert_int_equal(error.line, line);
}

static void a_clock_that_leaves_the_others_is_refused(void **state) {
  (void)state;
  plag_text file = {0};
  begin(&file); /* the position's clock begins anew, the command's goes on */
  for (int row = 0; row < ROWS; row++)
    add_row(&file, row, stamp_ms(row, 0), stamp_ms(row, 1) - (row < 60 ? 0 : 5000));
  expect_refusal(&file, "begins anew 0 times, that of \"Runner position (mV)\" 1 times",
                 60 + LINE_OF_ROW_0);
  begin(&file); /* every fifth stamp of the command is none */
  for (int row = 0; row < ROWS; row++)
    if (row % 5 == 3)
      plag_text_add_format(&file, "?;%d;%" PRId64 ";%d\n", duty_of(row), stamp_ms(row, 1),
                           position_of(row));
    else
      add_row(&file, row, stamp_ms(row, 0), stamp_ms(row, 1));
  expect_refusal(&file, "24 cells of the clock of \"Runner duty (%)\" are no stamps",
                 3 + LINE_OF_ROW_0);
  plag_text_clear(&file);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_stray_stamp_costs_its_own_sample),
      cmocka_unit_test(clocks_that_go_together_stay_in_step),
      cmocka_unit_test(clocks_begin_anew_at_rows_of_their_own),
      cmocka_unit_test(a_clock_that_leaves_the_others_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
