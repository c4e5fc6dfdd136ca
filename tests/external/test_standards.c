/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What standards say, as publicly listed or tabulated (the standards themselves were not opened):
 * wording of trouble codes (SAE J2012 / ISO 15031-6), scaling of bytes (SAE J1979 / ISO 15031-5),
 * the four questions of emission rules (13 CCR 1968.2(e)(15)), cells that spreadsheets would run
 * (CWE-1236). */
#include <math.h>
#include <string.h>

#include "core/number.h"
#include "core/spreadsheet.h"
#include "judge/code_table.h"
#include "platelag/platelag.h"
#include "support/check.h"
#include "support/made_review.h"
#include "support/memory_source.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static void wording_of_codes(void **state) {
  (void)state;
  static const struct {
    const char *code;
    int bank;
    const char *name;
  } rows[] = {
      {"P2004", 1, "Intake Manifold Runner Control Stuck Open Bank 1"},
      {"P2005", 2, "Intake Manifold Runner Control Stuck Open Bank 2"},
      {"P2006", 1, "Intake Manifold Runner Control Stuck Closed Bank 1"},
      {"P2007", 2, "Intake Manifold Runner Control Stuck Closed Bank 2"},
      {"P2008", 1, "Intake Manifold Runner Control Circuit/Open Bank 1"},
      {"P2009", 1, "Intake Manifold Runner Control Circuit Low Bank 1"},
      {"P2010", 1, "Intake Manifold Runner Control Circuit High Bank 1"},
      {"P2011", 2, "Intake Manifold Runner Control Circuit/Open Bank 2"},
      {"P2012", 2, "Intake Manifold Runner Control Circuit Low Bank 2"},
      {"P2013", 2, "Intake Manifold Runner Control Circuit High Bank 2"},
      {"P200A", 1, "Intake Manifold Runner Performance Bank 1"},
      {"P200B", 2, "Intake Manifold Runner Performance Bank 2"},
      {"P2014", 1, "Intake Manifold Runner Position Sensor/Switch Circuit Bank 1"},
      {"P2015", 1,
       "Intake Manifold Runner Position Sensor/Switch Circuit Range/Performance Bank 1"},
      {"P2016", 1, "Intake Manifold Runner Position Sensor/Switch Circuit Low Bank 1"},
      {"P2017", 1, "Intake Manifold Runner Position Sensor/Switch Circuit High Bank 1"},
      {"P2018", 1, "Intake Manifold Runner Position Sensor/Switch Circuit Intermittent Bank 1"},
      {"P2019", 2, "Intake Manifold Runner Position Sensor/Switch Circuit Bank 2"},
      {"P2020", 2,
       "Intake Manifold Runner Position Sensor/Switch Circuit Range/Performance Bank 2"},
      {"P2021", 2, "Intake Manifold Runner Position Sensor/Switch Circuit Low Bank 2"},
      {"P2022", 2, "Intake Manifold Runner Position Sensor/Switch Circuit High Bank 2"},
      {"P2023", 2, "Intake Manifold Runner Position Sensor/Switch Circuit Intermittent Bank 2"},
      {"P0641", 0, "Sensor Reference Voltage A Circuit/Open"},
      {"P0642", 0, "Sensor Reference Voltage A Circuit Low"},
      {"P0643", 0, "Sensor Reference Voltage A Circuit High"},
      {"P0651", 0, "Sensor Reference Voltage B Circuit/Open"},
      {"P0652", 0, "Sensor Reference Voltage B Circuit Low"},
      {"P0653", 0, "Sensor Reference Voltage B Circuit High"},
      {"P0657", 0, "Actuator Supply Voltage A Circuit/Open"},
      {"P0658", 0, "Actuator Supply Voltage A Circuit Low"},
      {"P0659", 0, "Actuator Supply Voltage A Circuit High"},
      {"P0660", 1, "Intake Manifold Tuning Valve Control Circuit Bank 1"},
      {"P0661", 1, "Intake Manifold Tuning Valve Control Circuit Low Bank 1"},
      {"P0662", 1, "Intake Manifold Tuning Valve Control Circuit High Bank 1"},
      {"P2070", 1, "Intake Manifold Tuning (IMT) Valve Stuck Open Bank 1"},
      {"P2071", 1, "Intake Manifold Tuning (IMT) Valve Stuck Closed Bank 1"},
  };
  assert_int_equal(plag_code_count(), COUNT(rows));
  for (size_t i = 0; i < COUNT(rows); i++) {
    const plag_code_row *found = plag_code_find(rows[i].code);
    assert_non_null(found);
    assert_string_equal(found->code, rows[i].code);
    assert_string_equal(found->name, rows[i].name);
    assert_int_equal(found->bank, rows[i].bank);
  }
  assert_null(plag_code_find("P2003"));
  assert_null(plag_code_find("P2024"));
}

/* A scaling of one or two bytes, as the column of a capture. */
struct scaled {
  const char *name, *unit;
  double per_count, offset;
  int most;
  int decimals;
};

enum { DUTY, COOLANT, SPEED, MODULE, POSITION_8, POSITION_10, SCALED };
static const struct scaled SCALES[SCALED] = {
    [DUTY] = {"Intake runner duty", "%", 100.0 / 255, 0, 255, 3},
    [COOLANT] = {"Coolant temperature", "\u00b0C", 1, -40, 255, 0},
    [SPEED] = {"Engine speed", "rpm", 0.25, 0, 65535, 2},
    [MODULE] = {"Battery voltage", "V", 0.001, 0, 65535, 3},
    [POSITION_8] = {"Intake runner position", "V", 5.0 / 255, 0, 255, 5},
    [POSITION_10] = {"Intake runner position", "V", 5.0 / 1023, 0, 1023, 5},
};

static int count_of(int scale, int row) {
  const double open = (row / 63) % 2 == 0 ? 0.24 : 0.71;
  const double wave = sin(0.37 * row) + 0.3 * sin(2.9 * row);
  switch (scale) {
  case DUTY:
    return (row / 63) % 2 == 0 ? 13 : 241;
  case COOLANT:
    return 71 + row / 40;
  case SPEED:
    return 4 * 1470 + row % 311;
  case MODULE:
    return 13862 + row % 97;
  default:
    return (int)lround(open * SCALES[scale].most + 2 * wave);
  }
}

static void add_cell(plag_text *csv, int scale, int row) {
  const struct scaled *of = &SCALES[scale];
  plag_text_add_char(csv, ',');
  plag_text_add_number(csv, of->per_count * count_of(scale, row) + of->offset, of->decimals);
}

/* A minute and a half of bytes as a recorder of the standard's services shows them. */
static void encode(int position, plag_text *csv) {
  const int column[] = {DUTY, COOLANT, SPEED, MODULE, position};
  plag_text_add(csv, "Time (s)");
  for (size_t k = 0; k < COUNT(column); k++)
    plag_text_add_format(csv, ",%s (%s)", SCALES[column[k]].name, SCALES[column[k]].unit);
  for (int row = 0; row < 900; row++) {
    plag_text_add_char(csv, '\n');
    plag_text_add_number(csv, 0.1 * row, 1);
    for (size_t k = 0; k < COUNT(column); k++)
      add_cell(csv, column[k], row);
  }
  plag_text_add_char(csv, '\n');
}

static void assert_counts(const platelag_capture *capture, int scale) {
  const struct scaled *of = &SCALES[scale];
  const platelag_channel *channel = plag_test_channel(capture, of->name);
  assert_int_equal(channel->count, 900);
  for (int row = 0; row < 900; row++)
    assert_int_equal(lround((channel->value[row] - of->offset) / of->per_count),
                     count_of(scale, row));
}

/* Bytes come back from the columns, and one count of the converter, 19.6 mV of 8 bits and 4.9 mV of
 * 10, is the resolution that the trace finds, to the last digit written. */
static void scaling_of_bytes(void **state) {
  (void)state;
  static const struct {
    int position;
    double quantum_v;
  } rows[] = {{POSITION_8, 0.0196}, {POSITION_10, 0.0049}};
  platelag_workspace *workspace = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  for (size_t k = 0; k < COUNT(rows); k++) {
    plag_text csv = {0};
    platelag_review *review = NULL;
    encode(rows[k].position, &csv);
    assert_int_equal(plag_test_review(csv.bytes, csv.length, NULL, workspace, &review, &error),
                     PLATELAG_OK);
    const platelag_capture *capture = review->capture[0].capture;
    assert_non_null(capture);
    const int scales[] = {DUTY, COOLANT, SPEED, MODULE, rows[k].position};
    for (size_t c = 0; c < COUNT(scales); c++)
      assert_counts(capture, scales[c]);
    assert_int_equal(review->capture[0].valve_count, 1);
    const platelag_trace *trace = review->capture[0].valve[0].trace;
    assert_close(trace->level_quantum, SCALES[rows[k].position].per_count, 0, 1.01e-5);
    assert_close(trace->level_quantum, rows[k].quantum_v, 0, 5e-5);
    platelag_review_destroy(review);
    plag_text_clear(&csv);
  }
  platelag_workspace_destroy(workspace);
}

static platelag_status add_to_text(void *context, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

/* Practice's controllers count the duty in bytes: % = A 100 / 255. */
static void duty_of_practice_is_a_byte(void **state) {
  (void)state;
  bool seen[256] = {false};
  size_t distinct = 0;
  for (uint64_t seed = 3181; seed < 3184; seed++) {
    plag_text csv = {0};
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    const platelag_practice_order order = {.seed = seed, .minutes = 4};
    const platelag_sink sink = {.context = &csv, .write = add_to_text};
    assert_int_equal(platelag_practice_write(&order, &sink, NULL, &error), PLATELAG_OK);
    assert_int_equal(plag_test_read_bytes(csv.bytes, csv.length, NULL, &capture, &error),
                     PLATELAG_OK);
    const platelag_channel *duty = plag_test_channel(capture, "Intake runner duty");
    for (size_t i = 0; i < duty->count; i++) {
      if (isnan(duty->value[i]))
        continue;
      const long count = lround(duty->value[i] * 2.55);
      assert_close(duty->value[i], (double)count * 100.0 / 255.0, 0, 0.0051);
      assert_between((double)count, 0, 255);
      distinct += !seen[count];
      seen[count] = true;
    }
    platelag_capture_destroy(capture);
    plag_text_clear(&csv);
  }
  assert_true(distinct > 40);
}

/* Continuity, range, rationality for what comes in; functional response for what goes out. */
static void four_questions(void **state) {
  (void)state;
  static const char *const name[] = {"continuity", "range", "rationality", "functional_response"};
  static const char *const result[] = {"passed", "failed", "not_evaluable"};
  assert_int_equal(PLATELAG_CHECK_COUNT, COUNT(name));
  for (size_t i = 0; i < COUNT(name); i++)
    assert_string_equal(platelag_check_kind_name((platelag_check_kind)i), name[i]);
  for (size_t i = 0; i < COUNT(result); i++)
    assert_string_equal(platelag_check_name((platelag_check)i), result[i]);
}

/* CWE-1236: what begins with = + - @ tab or CR is marked as text; digits are none of these. */
static void cells_that_would_run(void **state) {
  (void)state;
  static const struct {
    const char *text;
    bool marked;
  } rows[] = {{"=2*3", true}, {"+2*3", true},     {"-2*3", true}, {"@SUM(A1)", true},
              {"\t=2", true}, {"\r2 left", true}, {"2*3", false}, {"ridge", false}};
  for (size_t i = 0; i < COUNT(rows); i++) {
    plag_text cell = {0};
    plag_cell_add_text(&cell, rows[i].text);
    const char *first = cell.bytes + (cell.bytes[0] == '"');
    assert_int_equal(*first == '\'', rows[i].marked);
    plag_text_clear(&cell);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(wording_of_codes),           cmocka_unit_test(scaling_of_bytes),
      cmocka_unit_test(duty_of_practice_is_a_byte), cmocka_unit_test(four_questions),
      cmocka_unit_test(cells_that_would_run),
  };
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
