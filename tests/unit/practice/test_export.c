/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every layout carries the same rows in its own dress. */
#include "support/check.h"
#include "support/made_capture.h"

#include <stdio.h>
#include <string.h>

#include "core/number.h"
#include "practice/export.h"
#include "practice/order.h"

static const platelag_practice_order plain = {.fault = "ridge", .seed = 4711, .minutes = 1.3};
/* Long enough for a missing cell. */
static const platelag_practice_order longer = {.fault = "ridge", .seed = 4711, .minutes = 3.4};

static plag_record record_of(const platelag_practice_order *order) {
  plag_record record;
  assert_int_equal(plag_order_record(order, &record, NULL), PLATELAG_OK);
  return record;
}

/* What must stand in a layout's bytes; a layout that is not here is told apart by those that are.
 */
static const struct {
  const char *layout, *bytes;
} dress[] = {
    {"comma", "Time (s),Engine speed (rpm),"},
    {"semicolon", ";Intake runner duty (%);"},
    {"tab", "\tIntake runner position [V]\t"},
    {"pipe", "|Intake runner position / V|"},
    {"german_semicolon", "\r\n14.03.2024 08:17:42,310;"},
    {"german_semicolon", ";K\xFChlmitteltemperatur [\xB0"
                         "C];"},
    {"german_preamble", "Saugrohrklappe Istposition;"},
    {"french_semicolon", ";2\xA0"},
    {"spanish_tab", "\xEF\xBB\xBF"
                    "Tiempo [s]\t"},
    {"preamble", "Vehicle: Shuttle 11\n"},
    {"long_preamble", "Setting 29: "},
    {"sep_line", "sep=;\n"},
    {"units_row", "\ns,rpm,%,%,"},
    {"units_in_cells", " rpm;"},
    {"units_after_comma", "\"Intake runner position, V\","},
    {"snake_case", "time_s,engine_speed_rpm,"},
    {"utf8_mark", "\xEF\xBB\xBFTime (s)"},
    {"windows_1252", "temperature (\xB0"
                     "C)"},
    {"carriage_return", "\r0.000,"},
    {"quoted", "\r\n\"0.000\",\""},
    {"grouped_comma", "\"2,"},
    {"grouped_apostrophe", ";2'"},
    {"milliseconds", "Time (ms),"},
    {"microseconds", "\n1840000,"},
    {"run_time", "\n0:00:00.000,"},
    {"time_of_day", "\n08:17:42.310,"},
    {"midnight", "\n00:00:"},
    {"am_pm", "\n8:17:42.310 AM,"},
    {"iso", "\n2024-03-14T08:17:42.310,"},
    {"iso_zone", "\n2024-03-14T08:17:42.310+01:00,"},
    {"iso_blank", "\n2024-03-14 08:17:42.310;"},
    {"month_first", "\n03/14/2024 08:17:42.310,"},
    {"epoch_s", "\n1710404262.310,"},
    {"epoch_ms", "\n1710404262310,"},
    {"date_and_time", "\n2024-03-14;08:17:42.310;"},
    {"clock_per_channel", ";Time (s);Intake runner position (V);"},
    {"long_form", ",Intake runner position,"},
    {"sparse_rows", "\n0.000,,"},
    {"trailing_separator", " (V),\n"},
    {"wider_than_header", " (V)\n0.000;"},
    {"footer", "\r\nEnd of recording\r\n"},
    {"repeated_header", "\nTime (s),Engine"},
    {"vehicle_column", "\nShuttle 11,2024"},
    {"missing_words", ",N/A,"},
    {"missing_dashes", ";--;"},
    {"missing_null", ",null,"},
    {"missing_nan", "\tNaN\t"},
    {"missing_ind", ",-1.#IND,"},
    {"broken_names", ",\"Intake runner position\r\n(V)\","},
    {"three_header_rows", "\nstamp,measured,measured,"},
    {"repeated_position", "Sensor reference voltage (V),Intake runner position (V)\n"},
    {"epoch_us", "\n1710404262310000,"},
    {"zulu", "\n2024-03-14T07:17:42.310Z,"},
    {"time_and_zone", "\n08:17:42.310+01:00,"},
    {"dotted_time", "\n08:17.42.310;"},
    {"on_change", ",,,"},
    {"two_runs", "\nTime (s),Engine speed (rpm),"},
    {"whole_seconds", "\n08:17:42,"},
    {"minutes_seconds", "\n17:42.3,"},
    {"day_fraction", "\n45365.345628588,"},
    {"row_number", "\n613,"},
    {"no_clock", "\n7"},
};

static void every_dress_is_there(void **state) {
  (void)state;
  made_capture made = {0};
  plag_record record = record_of(&longer);
  for (size_t index = 0; index < sizeof dress / sizeof dress[0]; index++) {
    assert_true(made_capture_of(&made, &record, dress[index].layout));
    if (memmem(made.capture.bytes, made.capture.length, dress[index].bytes,
               strlen(dress[index].bytes)) == NULL)
      fail_msg("%s: \"%s\" is not in it", dress[index].layout, dress[index].bytes);
  }
  plag_record_clear(&record);
  made_capture_clear(&made);
}

/* The digits of a text, in order, without the zero bytes of UTF-16, marks, units and notation. */
static void keep_digits(const plag_text *text, plag_text *digits) {
  plag_text_reset(digits);
  for (size_t at = 0; at < text->length; at++)
    if (text->bytes[at] >= '0' && text->bytes[at] <= '9')
      plag_text_add_char(digits, text->bytes[at]);
}

/* Position, pressure and battery of three rows, as digits one behind the other as they stand in a
 * wide row. */
static void find_probe(const plag_text *comma, int row, char *probe, size_t size) {
  const char *line = comma->bytes;
  for (int skip = 0; skip <= row; skip++)
    line = strchr(line, '\n') + 1;
  const char *cell = line;
  for (int skip = 0; skip < 6; skip++)
    cell = strchr(cell, ',') + 1;
  size_t length = 0;
  for (int cells = 0; cells < 3 && length + 1 < size; cell++) {
    cells += *cell == ',';
    if (*cell >= '0' && *cell <= '9')
      probe[length++] = *cell;
  }
  probe[length] = '\0';
}

static void every_layout_carries_the_same_samples(void **state) {
  (void)state;
  made_capture comma = {0}, other = {0};
  plag_text digits = {0};
  assert_true(made_capture_make(&comma, &plain));
  plag_record record = record_of(&plain);
  static const int rows[] = {17, 238, 611};
  for (size_t index = 0; index < plag_export_layout_count(); index++) {
    const plag_export_layout *layout = plag_export_layout_at(index);
    assert_true(made_capture_of(&other, &record, layout->name));
    /* In other shapes stamps stand between these cells; or what repeats is left out. */
    if (layout->shape != PLAG_SHAPE_WIDE || layout->on_change)
      continue;
    keep_digits(&other.capture, &digits);
    for (size_t at = 0; at < sizeof rows / sizeof rows[0]; at++) {
      char probe[64];
      find_probe(&comma.capture, rows[at], probe, sizeof probe);
      assert_true(strlen(probe) >= 9);
      if (strstr(digits.bytes, probe) == NULL)
        fail_msg("%s: row %d does not hold the digits %s", layout->name, rows[at], probe);
    }
  }
  plag_text_clear(&digits);
  plag_record_clear(&record);
  made_capture_clear(&comma);
  made_capture_clear(&other);
}

static void no_two_layouts_are_the_same(void **state) {
  (void)state;
  enum { MOST = 100 };
  static made_capture made[MOST];
  const size_t count = plag_export_layout_count();
  assert_true(count >= 24 && count <= MOST);
  plag_record record = record_of(&longer);
  for (size_t index = 0; index < count; index++) {
    assert_true(made_capture_of(&made[index], &record, plag_export_layout_at(index)->name));
    for (size_t other = 0; other < index; other++)
      if (made[index].capture.length == made[other].capture.length &&
          memcmp(made[index].capture.bytes, made[other].capture.bytes,
                 made[index].capture.length) == 0)
        fail_msg("%s and %s are the same", plag_export_layout_at(index)->name,
                 plag_export_layout_at(other)->name);
  }
  plag_record_clear(&record);
  for (size_t index = 0; index < count; index++)
    made_capture_clear(&made[index]);
}

/* A record written is what an order for that layout gives. */
static void an_order_for_a_layout_is_the_record_in_it(void **state) {
  (void)state;
  made_capture ordered = {0}, written = {0};
  plag_record record = record_of(&plain);
  for (size_t index = 0; index < plag_export_layout_count(); index++) {
    platelag_practice_order order = plain;
    order.layout = plag_export_layout_at(index)->name;
    assert_true(made_capture_make(&ordered, &order));
    assert_true(made_capture_of(&written, &record, order.layout));
    assert_int_equal(written.capture.length, ordered.capture.length);
    assert_memory_equal(written.capture.bytes, ordered.capture.bytes, written.capture.length);
  }
  plag_record_clear(&record);
  made_capture_clear(&ordered);
  made_capture_clear(&written);
}

static void a_date_is_the_calendars(void **state) {
  (void)state;
  static const struct {
    int64_t days;
    const char *text;
  } rows[] = {{0, "2024-03-14T08:17:42.310"},    {18, "2024-04-01T08:17:42.310"},
              {292, "2024-12-31T08:17:42.310"},  {293, "2025-01-01T08:17:42.310"},
              {717, "2026-03-01T08:17:42.310"},  {1446, "2028-02-28T08:17:42.310"},
              {1447, "2028-02-29T08:17:42.310"}, {1448, "2028-03-01T08:17:42.310"}};
  plag_text text = {0};
  for (size_t index = 0; index < sizeof rows / sizeof rows[0]; index++) {
    plag_text_reset(&text);
    plag_export_clock_add(PLAG_CLOCK_ISO, '.', rows[index].days * INT64_C(86400000), false, &text);
    assert_string_equal(text.bytes, rows[index].text);
  }
  plag_text_clear(&text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_dress_is_there),
      cmocka_unit_test(every_layout_carries_the_same_samples),
      cmocka_unit_test(no_two_layouts_are_the_same),
      cmocka_unit_test(an_order_for_a_layout_is_the_record_in_it),
      cmocka_unit_test(a_date_is_the_calendars),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
