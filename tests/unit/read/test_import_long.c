/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Import cases that need more rows, other bytes or a rule over the whole file: encodings, long
 * preambles, columns that change kind late, stamps coarser than rows, recording on change, round
 * robins, captures larger than memory. Numbers as in test_import_cases.c. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "core/text.h"
#include "support/chunk_source.h"
#include "support/describe_capture.h"
#include "support/memory_source.h"

static platelag_capture *read_made(const char *what, const plag_text *file,
                                   const platelag_read_options *options) {
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  if (plag_test_read_bytes(file->bytes, file->length, options, &capture, &error) != PLATELAG_OK)
    fail_msg("%s: refused at %lld: %s", what, (long long)error.line, error.message);
  return capture;
}

static void check_note(const char *what, const platelag_capture *capture, const char *words,
                       int64_t line, size_t count) {
  const platelag_note *note = plag_test_find_note(capture, words);
  if (note == NULL || note->line != line || (count > 0 && note->count != count))
    fail_msg("%s: note \"%s\": line %lld x%zu, expected line %lld x%zu", what, words,
             note == NULL ? -1LL : (long long)note->line, note == NULL ? 0 : note->count,
             (long long)line, count);
}

/* Cases 6: UTF-16 with and without mark, either way. */
static void utf_16_is_read(void **state) {
  (void)state;
  static const char text[] = "Zeit (s);Saugrohrklappe Tastverh\xE4ltnis (%);Saugrohrklappe "
                             "Stellung (V)\r\n0,0;12,5;1,25\r\n0,1;62,5;2,385\r\n";
  static const struct {
    const char *what;
    bool mark, big;
    const char *encoding;
  } table[] = {
      {"little-endian with mark", true, false, "UTF-16LE"},
      {"big-endian with mark", true, true, "UTF-16BE"},
      {"little-endian without", false, false, "UTF-16LE"},
      {"big-endian without", false, true, "UTF-16BE"},
  };
  plag_text file = {0}, described = {0};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    plag_text_reset(&file);
    plag_text_reset(&described);
    const char high[2] = {'\xFE', 0}, low[2] = {'\xFF', 0};
    if (table[i].mark) {
      plag_text_add_bytes(&file, table[i].big ? high : low, 1);
      plag_text_add_bytes(&file, table[i].big ? low : high, 1);
    }
    for (size_t k = 0; k + 1 < sizeof text; k++) {
      plag_text_add_bytes(&file, table[i].big ? "\0" : &text[k], 1);
      plag_text_add_bytes(&file, table[i].big ? &text[k] : "\0", 1);
    }
    platelag_capture *capture = read_made(table[i].what, &file, NULL);
    plag_test_describe_capture(capture, &described);
    assert_string_equal(described.bytes,
                        "semicolon comma, one clock, seconds, 2 rows; command Saugrohrklappe "
                        "Tastverh\xC3\xA4ltnis [%] 0=12.5 0.1=62.5; position Saugrohrklappe "
                        "Stellung [V] 0=1.25 0.1=2.385");
    if (strncmp(platelag_capture_reading(capture)->encoding, table[i].encoding, 8) != 0)
      fail_msg("%s: %s", table[i].what, platelag_capture_reading(capture)->encoding);
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
  plag_text_clear(&described);
}

/* Case 8: preambles of any length seen, with separators in them and without. */
static void a_preamble_of_any_length_is_passed(void **state) {
  (void)state;
  static const int lengths[] = {1, 5, 34, 97};
  plag_text file = {0};
  for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++)
    for (int separated = 0; separated < 2; separated++) {
      plag_text_reset(&file);
      for (int line = 1; line <= lengths[i]; line++)
        plag_text_add_format(&file, separated ? "Setting %d,%d.5\n" : "Setting %d: %d.5\n", line,
                             line * 7);
      plag_text_add(&file, "Time (s),Runner duty (%),Runner position (V)\n");
      for (int row = 0; row < 150; row++)
        plag_text_add_format(&file, "%d.%d,12.5,1.%03d\n", row / 10, row % 10, row * 3);
      platelag_capture *capture = read_made("preamble", &file, NULL);
      const platelag_reading *reading = platelag_capture_reading(capture);
      if (reading->preamble_lines != lengths[i] || reading->header_line != lengths[i] + 1 ||
          reading->rows != 150)
        fail_msg("%d lines, separated %d: preamble %lld, header %lld, rows %zu", lengths[i],
                 separated, (long long)reading->preamble_lines, (long long)reading->header_line,
                 reading->rows);
      platelag_capture_destroy(capture);
    }
  plag_text_clear(&file);
}

/* Case 18: what a column holds late in a file. */
static void a_column_may_change_kind_late(void **state) {
  (void)state;
  enum { ROWS = 40000 };
  plag_text file = {0};
  plag_text_add(&file, "Time (s),Runner duty (%),Runner position (V)\n");
  for (int row = 0; row < ROWS; row++) {
    plag_text_add_format(&file, "%d.%d,", row / 10, row % 10);
    plag_text_add_format(&file, row < 39000 ? "%d.5" : "OFF", row % 80);
    plag_text_add_format(&file, row < 100 ? ",\n" : ",2.%03d\n", row % 1000);
  }
  platelag_capture *capture = read_made("late", &file, NULL);
  const platelag_channel *duty = plag_test_channel(capture, "Runner duty");
  const platelag_channel *position = plag_test_channel(capture, "Runner position");
  assert_int_equal(duty->count, ROWS);
  assert_int_equal(duty->present, ROWS);
  assert_int_equal(plag_test_channel(capture, "Time")->present, ROWS);
  assert_close(duty->value[38999], 39.5, 0, 0);
  assert_close(duty->value[39000], 0, 0, 0);
  check_note("late", capture, "words like on and off among numbers", 39002, 1000);
  assert_int_equal(position->missing, 100);
  assert_close(position->value[99], NAN, 0, 0);
  assert_close(position->value[100], 2.1, 1e-12, 0);
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

/* More than 2 % of words in the position refuse the file, where the first stands; fewer are told.
 */
static void words_in_a_needed_column_have_a_limit(void **state) {
  (void)state;
  static const struct {
    int every;
    bool refused;
  } table[] = {{20, true}, {45, true}, {60, false}, {300, false}};
  plag_text file = {0};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    plag_text_reset(&file);
    plag_text_add(&file, "Time (s),Runner duty (%),Runner position (V)\n");
    for (int row = 0; row < 1200; row++) {
      const char *word = row % table[i].every == table[i].every - 1 ? "error x" : "1.25";
      plag_text_add_format(&file, "%d.%d,12.5,%s\n", row / 10, row % 10, word);
    }
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    const platelag_status status =
        plag_test_read_bytes(file.bytes, file.length, NULL, &capture, &error);
    if (table[i].refused) {
      assert_int_equal(status, PLATELAG_ERROR_INPUT);
      assert_int_equal(error.line, table[i].every + 1);
      assert_int_equal(error.column, 3);
      assert_non_null(strstr(error.message, "error x"));
    } else {
      assert_int_equal(status, PLATELAG_OK);
      check_note("words", capture, "\"error x\" is no value", table[i].every + 1,
                 1200 / (size_t)table[i].every);
      assert_int_equal(platelag_capture_reading(capture)->unparsed, 1200 / table[i].every);
    }
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
}

/* Case 25: stamps of whole seconds over ten rows a second, begun and ended inside a second. */
static void coarse_stamps_are_spread(void **state) {
  (void)state;
  plag_text file = {0};
  plag_text_add(&file, "Clock,Runner duty (%),Runner position (V)\n");
  for (int row = 6; row < 1003; row++) /* true time: row / 10 s */
    plag_text_add_format(&file, "10:%02d:%02d,12.5,1.%03d\n", row / 600, row / 10 % 60, row % 1000);
  platelag_capture *capture = read_made("coarse", &file, NULL);
  const platelag_channel *position = plag_test_channel(capture, "Runner position");
  assert_int_equal(position->count, 997);
  for (size_t i = 0; i < position->count; i++)
    assert_close((double)position->time_ns[i] * 1e-9, (double)i * 0.1, 0, 0.011);
  assert_close(platelag_capture_reading(capture)->row_period_s, 0.1, 0, 0.001);
  assert_int_equal(platelag_capture_segment_count(capture), 1);
  check_note("coarse", capture, "spread evenly", 2, 0);
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

/* Case 29: a recorder that writes a cell only when its value changes. */
static void empty_cells_of_a_recorder_of_changes_hold(void **state) {
  (void)state;
  plag_text file = {0};
  plag_text_add(&file, "Time (s),Runner duty (%),Runner position (V),Engine speed (rpm)\n");
  plag_text_add(&file, "0.0,12.5,1.25,812\n");
  for (int row = 1; row < 120; row++) {
    plag_text_add_format(&file, "%d.%d,", row / 10, row % 10);
    if (row % 30 == 0)
      plag_text_add_format(&file, "%d.5", row);
    if (row % 3 == 0)
      plag_text_add_format(&file, ",1.%03d,", row);
    else
      plag_text_add(&file, ",,");
    plag_text_add_format(&file, row % 3 == 1 ? "%d\n" : "\n", 800 + row);
  }
  platelag_capture *capture = read_made("on change", &file, NULL);
  const platelag_channel *duty = plag_test_channel(capture, "Runner duty");
  const platelag_channel *position = plag_test_channel(capture, "Runner position");
  assert_int_equal(duty->count, 120);
  assert_close(duty->value[29], 12.5, 0, 0);
  assert_close(duty->value[30], 30.5, 0, 0);
  assert_close(duty->value[59], 30.5, 0, 0);
  assert_close(position->value[4], 1.003, 1e-12, 0);
  check_note("on change", capture, "\"unchanged\"", 2, 0);
  platelag_capture_destroy(capture);
  plag_text_clear(&file);
}

/* Case 35: each row renews one of the channels and repeats the rest. */
static void a_round_robin_shows_in_the_refresh_time(void **state) {
  (void)state;
  static const int polled[] = {2, 3, 6};
  plag_text file = {0};
  for (size_t i = 0; i < sizeof polled / sizeof polled[0]; i++) {
    plag_text_reset(&file);
    plag_text_add(&file, "Time (s),Runner position (V),Engine speed (rpm)");
    for (int k = 2; k < polled[i]; k++)
      plag_text_add_format(&file, ",Other %d", k);
    plag_text_add(&file, "\n");
    int last[6] = {0};
    for (int row = 0; row < 900; row++) {
      last[row % polled[i]] = 1000 + (row * 7919) % 3001;
      plag_text_add_format(&file, "%d.%02d,1.%04d", row / 20, row % 20 * 5, last[0]);
      for (int k = 1; k < polled[i]; k++)
        plag_text_add_format(&file, ",%d", last[k]);
      plag_text_add(&file, "\n");
    }
    platelag_capture *capture = read_made("round robin", &file, NULL);
    assert_close(plag_test_channel(capture, "Runner position")->refresh_s, 0.05 * polled[i], 1e-6,
                 0);
    assert_close(plag_test_channel(capture, "Engine speed")->refresh_s, 0.05 * polled[i], 1e-6, 0);
    platelag_capture_destroy(capture);
  }
  plag_text_clear(&file);
}

/* Case 11: two columns of one name are told apart by number only. */
static void a_name_that_stands_twice_is_no_choice(void **state) {
  (void)state;
  static const char file[] = "Time (s),Duty (%),Position (V),Position (V)\n0.0,12.5,1.25,3.5\n"
                             "0.1,62.5,1.27,3.6\n0.2,62.5,2.385,3.7\n";
  static const struct {
    const char *position;
    const char *refused; /* words, or NULL */
    int column;
  } table[] = {{"Position (V)", "name of columns 3 and 4", 0},
               {"#4", NULL, 4},
               {"column 3", NULL, 3},
               {"Positon", "no column is named \"Positon\"", 0}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    platelag_error error = {0};
    platelag_spec *spec = NULL;
    platelag_capture *capture = NULL;
    assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
    assert_int_equal(platelag_spec_name_columns(spec, NULL, table[i].position, &error),
                     PLATELAG_OK);
    const platelag_read_options options = {.spec = spec};
    const platelag_status status = plag_test_read_bytes(file, 0, &options, &capture, &error);
    if (table[i].refused != NULL) {
      assert_int_equal(status, PLATELAG_ERROR_INPUT);
      if (strstr(error.message, table[i].refused) == NULL)
        fail_msg("%s: %s", table[i].position, error.message);
    } else {
      assert_int_equal(status, PLATELAG_OK);
      size_t positions = 0;
      for (size_t k = 0; k < platelag_capture_channel_count(capture); k++) {
        const platelag_channel *channel = platelag_capture_channel_at(capture, k);
        positions += channel->role == PLATELAG_ROLE_POSITION;
        if (channel->role == PLATELAG_ROLE_POSITION)
          assert_int_equal(channel->column, table[i].column);
      }
      assert_int_equal(positions, 1);
    }
    platelag_capture_destroy(capture);
    platelag_spec_destroy(spec);
  }
}

/* Case 34: memory follows the samples that are needed, not the file. */
static void a_long_capture_takes_little_memory(void **state) {
  (void)state;
  enum { COLUMNS = 120 };
  plag_text rows = {0};
  for (int k = 0; k < 40; k++) {
    plag_text_add_format(&rows, "1.%03d", 100 + k);
    for (int i = 1; i < COLUMNS; i++)
      plag_text_add_format(&rows, ",%d.%d", (k * 37 + i * 11) % 900, k % 10);
    plag_text_add(&rows, "\n");
  }
  struct rusage before, after;
  assert_int_equal(getrusage(RUSAGE_SELF, &before), 0);
  plag_test_chunks chunks = {
      .bytes = rows.bytes, .size = rows.length, .repeat = (uint64_t)rows.length * 2000};
  const platelag_source source = plag_test_chunk_source(&chunks);
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_name_columns(spec, NULL, "#1", &error), PLATELAG_OK);
  const platelag_read_options options = {.spec = spec, .rows_per_second = 10};
  platelag_capture *capture = NULL;
  if (platelag_capture_read_source(&source, &options, &capture, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(getrusage(RUSAGE_SELF, &after), 0);
  assert_int_equal(platelag_capture_reading(capture)->rows, 80000);
  size_t kept = 0;
  for (size_t i = 0; i < platelag_capture_channel_count(capture); i++)
    kept += platelag_capture_channel_at(capture, i)->count;
  assert_int_equal(kept, 80000);
  /* 40 bytes a sample and a little for the windows, of a file of 45 MB */
  assert_true(rows.length * 2000 > 40000000);
#ifndef __SANITIZE_ADDRESS__ /* which keeps what was freed */
  assert_true(after.ru_maxrss - before.ru_maxrss < 3200 + 8192);
#endif
  platelag_capture_destroy(capture);
  platelag_spec_destroy(spec);
  plag_text_clear(&rows);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_long_capture_takes_little_memory),
      cmocka_unit_test(utf_16_is_read),
      cmocka_unit_test(a_preamble_of_any_length_is_passed),
      cmocka_unit_test(a_column_may_change_kind_late),
      cmocka_unit_test(words_in_a_needed_column_have_a_limit),
      cmocka_unit_test(coarse_stamps_are_spread),
      cmocka_unit_test(empty_cells_of_a_recorder_of_changes_hold),
      cmocka_unit_test(a_round_robin_shows_in_the_refresh_time),
      cmocka_unit_test(a_name_that_stands_twice_is_no_choice),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
