/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What does not touch the record does not touch the finding: columns in another order or more of
 * them, a shifted clock, other units, a sensor or a command that counts the other way, a second run
 * in the same file. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_review.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"
#include "platelag/platelag.h"

static const platelag_practice_order ORDERS[] = {
    {.fault = "ridge", .seed = 5131, .minutes = 2.4, .rows_per_second = 8.7},
    {.fault = "sticking", .seed = 5132, .minutes = 2.1, .severity = 0.83},
    {.fault = "slow", .seed = 5133, .minutes = 2.2, .drive = "vacuum", .severity = 0.78},
    {.fault = "none", .seed = 5134, .minutes = 1.9},
    {.fault = "dropouts", .seed = 5135, .minutes = 2.3},
    {.fault = "no_drive", .seed = 5136, .minutes = 1.7},
    {.fault = "open_wire", .seed = 5137, .minutes = 1.3, .severity = 0.91},
};

/* A capture of the layout "comma" in cells; row 0 is the header. */
struct table {
  size_t rows, columns, command, position;
  char *text;
  char **cell; /* row by row */
};

static const char *cell_at(const struct table *table, size_t row, size_t column) {
  return table->cell[row * table->columns + column];
}

static size_t column_of(const struct table *table, const char *name) {
  for (size_t column = 0; column < table->columns; column++)
    if (strcmp(cell_at(table, 0, column), name) == 0)
      return column;
  fail_msg("no column \"%s\"", name);
  return 0;
}

static void cut(struct table *table, const plag_text *capture) {
  *table = (struct table){.columns = 1};
  table->text = malloc(capture->length + 1);
  assert_non_null(table->text);
  memcpy(table->text, capture->bytes, capture->length + 1);
  for (const char *at = table->text; *at != '\n'; at++)
    table->columns += *at == ',';
  for (const char *at = table->text; *at != '\0'; at++)
    table->rows += *at == '\n';
  table->cell = calloc(table->rows * table->columns, sizeof *table->cell);
  assert_non_null(table->cell);
  char *at = table->text;
  for (size_t i = 0; i < table->rows * table->columns; i++) {
    table->cell[i] = at;
    at += strcspn(at, ",\n");
    *at++ = '\0';
  }
  table->command = column_of(table, "Intake runner duty (%)");
  table->position = column_of(table, "Intake runner position (V)");
}

static void clear(struct table *table) {
  free(table->cell);
  free(table->text);
}

static void add_cell(plag_text *text, size_t column, const char *cell) {
  if (column > 0)
    plag_text_add_char(text, ',');
  plag_text_add(text, cell);
}

/* --- the changes: each writes one row --------------------------------------------------------- */

static void as_it_is(const struct table *table, size_t row, plag_text *text) {
  for (size_t column = 0; column < table->columns; column++)
    add_cell(text, column, cell_at(table, row, column));
}

static void turned_about(const struct table *table, size_t row, plag_text *text) {
  for (size_t column = 0; column < table->columns; column++)
    add_cell(text, column, cell_at(table, row, table->columns - 1 - column));
}

/* Every third column, then the rest. */
static void shuffled(const struct table *table, size_t row, plag_text *text) {
  size_t written = 0;
  for (size_t from = 0; from < 3; from++)
    for (size_t column = from; column < table->columns; column += 3)
      add_cell(text, written++, cell_at(table, row, column));
}

/* Columns that nobody knows, between the others; the last is text. */
static void with_strangers(const struct table *table, size_t row, plag_text *text) {
  static const char *const names[] = {"Trip (km)", "Cabin fan stage", "Washer level (%)", "Remark"};
  for (size_t column = 0; column < table->columns; column++) {
    add_cell(text, column, cell_at(table, row, column));
    if (column % 3 != 1)
      continue;
    const size_t stranger = column / 3 % 4;
    if (row == 0)
      add_cell(text, 1, names[stranger]);
    else if (stranger == 3)
      add_cell(text, 1, row % 97 == 0 ? "passed a lorry" : "");
    else
      plag_text_add_format(text, ",%zu.%zu", 20 + (row * 7 + stranger) % 61 / 9, row % 10);
  }
}

static double value_of(const char *cell) {
  double value = NAN;
  (void)platelag_number_read(cell, &value);
  return value;
}

/* The row with `column` under another name and each value turned into scale * value + offset. */
static void with_values(const struct table *table, size_t row, size_t column, const char *name,
                        double scale, double offset, int decimals, plag_text *text) {
  char digits[PLAG_NUMBER_TEXT_BYTES];
  for (size_t i = 0; i < table->columns; i++) {
    const char *cell = cell_at(table, row, i);
    if (i == column && row == 0)
      cell = name;
    if (i == column && row > 0 && cell[0] != '\0') {
      plag_number_format(scale * value_of(cell) + offset, decimals, digits);
      cell = digits;
    }
    add_cell(text, i, cell);
  }
}

static void started_late(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, 0, "Time (s)", 1.0, 4183.267, 3, text);
}

static void since_the_epoch(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, 0, "Timestamp", 1.0, 1717233127.419, 3, text);
}

static void in_millivolts(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, table->position, "Intake runner position (mV)", 1000.0, 0.0, 0, text);
}

static void of_reference(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, table->position, "Intake runner position (% of reference)", 20.0, 0.0, 2,
              text);
}

static void mirrored_sensor(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, table->position, "Intake runner position (V)", -1.0, 5.0, 3, text);
}

static void mirrored_command(const struct table *table, size_t row, plag_text *text) {
  with_values(table, row, table->command, "Intake runner duty (%)", -1.0, 100.0, 2, text);
}

/* A recorder that writes the command only when it changes; the first row is full. */
static void command_on_change(const struct table *table, size_t row, plag_text *text) {
  for (size_t column = 0; column < table->columns; column++) {
    const char *cell = cell_at(table, row, column);
    const bool same =
        column == table->command && row > 1 && strcmp(cell, cell_at(table, row - 1, column)) == 0;
    add_cell(text, column, same ? "" : cell);
  }
}

static const struct change {
  const char *name;
  void (*write_row)(const struct table *table, size_t row, plag_text *text);
  double time_tolerance_s, travel_tolerance_pct;
  bool exact;          /* the very same report */
  bool turned;         /* what opens closes now */
  bool while_it_moves; /* says nothing of a signal that is wrong or of plates that never move */
} CHANGES[] = {
    {"as it is", as_it_is, 0, 0, true, false, false},
    {"columns turned about", turned_about, 0, 0, true, false, false},
    {"columns shuffled", shuffled, 0, 0, true, false, false},
    {"unknown columns between", with_strangers, 0, 0, true, false, false},
    {"the clock started late", started_late, 0, 0, true, false, false},
    {"the clock counts since 1970", since_the_epoch, 0, 0, true, false, false},
    {"the command written on change", command_on_change, 0.001, 0.25, false, false, false},
    {"position in mV", in_millivolts, 1e-6, 0.25, false, false, false},
    {"position in % of reference", of_reference, 0.001, 0.25, false, false, false},
    {"the sensor counts the other way", mirrored_sensor, 0.001, 0.25, false, false, true},
    {"the command counts the other way", mirrored_command, 0.001, 0.25, false, true, true},
};

/* Whether plates move under a sensor that reads right. */
static bool moves(const platelag_practice_order *order) {
  static const char *const faults[] = {"ridge", "sticking", "slow", "none"};
  for (size_t i = 0; i < sizeof faults / sizeof *faults; i++)
    if (strcmp(order->fault, faults[i]) == 0)
      return true;
  return false;
}

static platelag_review *review_text(const plag_text *text, platelag_workspace *workspace,
                                    const char *what) {
  platelag_review *review = NULL;
  platelag_error error = {0};
  assert_false(text->failed);
  assert_int_equal(plag_test_review(text->bytes, text->length, NULL, workspace, &review, &error),
                   PLATELAG_OK);
  for (size_t i = 0; i < review->capture_count; i++)
    if (review->capture[i].refusal.status != PLATELAG_OK)
      fail_msg("%s: %s", what, review->capture[i].refusal.message);
  return review;
}

/* Compares the reports of two reviews to the letter; tells and counts a difference. */
static size_t compare_reports(const platelag_review *review, const platelag_review *whole,
                              const char *what, const platelag_practice_order *order) {
  enum { LINE_BYTES = 160 };
  char first[LINE_BYTES];
  char second[LINE_BYTES];
  plag_text one = {0};
  plag_text other = {0};
  plag_test_review_tell(whole, &one);
  plag_test_review_tell(review, &other);
  const bool differ = plag_test_first_difference(one.bytes, other.bytes, first, second, LINE_BYTES);
  if (differ)
    print_error("fault %s, seed %llu: %s differs: %s | %s\n", order->fault,
                (unsigned long long)order->seed, what, first, second);
  plag_text_clear(&one);
  plag_text_clear(&other);
  return differ;
}

static void the_finding_stays(void **state) {
  size_t far = 0;
  for (size_t i = 0; i < sizeof ORDERS / sizeof *ORDERS; i++) {
    const platelag_practice_order *order = &ORDERS[i];
    made_capture made = {0};
    struct table table;
    plag_text text = {0};
    assert_true(made_capture_make(&made, order));
    cut(&table, &made.capture);
    platelag_review *whole = review_text(&made.capture, *state, order->fault);
    for (size_t k = 0; k < sizeof CHANGES / sizeof *CHANGES; k++) {
      const struct change *change = &CHANGES[k];
      if (change->while_it_moves && !moves(order))
        continue;
      plag_text_reset(&text);
      for (size_t row = 0; row < table.rows; row++) {
        change->write_row(&table, row, &text);
        plag_text_add_char(&text, '\n');
      }
      platelag_review *review = review_text(&text, *state, change->name);
      assert_int_equal(review->capture[0].valve_count, 1);
      if (change->exact)
        far += compare_reports(review, whole, change->name, order);
      else
        far += plag_test_compare_figures(
            &review->capture[0].valve[0], &whole->capture[0].valve[0],
            (plag_test_closeness){change->name, order, change->time_tolerance_s,
                                  change->travel_tolerance_pct, change->turned});
      platelag_review_destroy(review);
    }
    platelag_review_destroy(whole);
    plag_text_clear(&text);
    clear(&table);
    made_capture_clear(&made);
  }
  assert_int_equal(far, 0);
}

/* The capture twice in one file, as the recordings of two vehicles: each gives what it gives alone.
 */
static void two_runs_are_two_of_the_same(void **state) {
  size_t far = 0;
  for (size_t i = 0; i < sizeof ORDERS / sizeof *ORDERS; i++) {
    const platelag_practice_order *order = &ORDERS[i];
    made_capture made = {0};
    struct table table;
    plag_text text = {0};
    assert_true(made_capture_make(&made, order));
    cut(&table, &made.capture);
    platelag_review *whole = review_text(&made.capture, *state, order->fault);
    plag_text_add(&text, "Vehicle,");
    as_it_is(&table, 0, &text);
    plag_text_add_char(&text, '\n');
    for (int run = 0; run < 2; run++)
      for (size_t row = 1; row < table.rows; row++) {
        plag_text_add(&text, run == 0 ? "Shuttle 41," : "Shuttle 43,");
        as_it_is(&table, row, &text);
        plag_text_add_char(&text, '\n');
      }
    platelag_review *review = review_text(&text, *state, "two runs");
    assert_int_equal(review->capture_count, 2);
    for (size_t run = 0; run < review->capture_count; run++)
      far += plag_test_compare_figures(
          &review->capture[run].valve[0], &whole->capture[0].valve[0],
          (plag_test_closeness){run == 0 ? "first run" : "second run", order, 1e-6, 1e-6, false});
    platelag_review_destroy(review);
    platelag_review_destroy(whole);
    plag_text_clear(&text);
    clear(&table);
    made_capture_clear(&made);
  }
  assert_int_equal(far, 0);
}

/* A command polled far less often than the position: between two of its readings the plates move
 * for a reason that nobody recorded. Sound plates must not be blamed for it. */
static void a_command_polled_seldom_blames_nobody(void **state) {
  static const struct {
    platelag_practice_order order;
    size_t rows; /* from one reading of the command to the next */
  } row_of[] = {
      {{.fault = "none", .seed = 6211, .minutes = 3.3, .rows_per_second = 9.3}, 9},
      {{.fault = "none", .seed = 6213, .minutes = 3.1, .rows_per_second = 10.7}, 23},
      {{.fault = "none", .seed = 6217, .minutes = 3.4, .rows_per_second = 8.9}, 41},
      {{.fault = "none", .seed = 6219, .minutes = 2.9, .drive = "vacuum"}, 17},
      {{.fault = "none", .seed = 6221, .minutes = 3.7, .rows_per_second = 19.1}, 67},
  };
  for (size_t i = 0; i < sizeof row_of / sizeof *row_of; i++) {
    made_capture made = {0};
    struct table table;
    plag_text text = {0};
    assert_true(made_capture_make(&made, &row_of[i].order));
    cut(&table, &made.capture);
    for (size_t row = 0; row < table.rows; row++) {
      for (size_t column = 0; column < table.columns; column++)
        add_cell(&text, column,
                 column == table.command && row % row_of[i].rows > 0
                     ? ""
                     : cell_at(&table, row, column));
      plag_text_add_char(&text, '\n');
    }
    platelag_review *review = review_text(&text, *state, "a seldom command");
    const platelag_finding_kind found = review->capture[0].valve[0].finding->kind;
    if (found != PLATELAG_FINDING_FREE && found != PLATELAG_FINDING_UNDECIDED)
      fail_msg("seed %llu, a command every %zu rows: %s", (unsigned long long)row_of[i].order.seed,
               row_of[i].rows, platelag_finding_name(found));
    platelag_review_destroy(review);
    plag_text_clear(&text);
    clear(&table);
    made_capture_clear(&made);
  }
}

static int set_up(void **state) {
  platelag_library_start();
  platelag_error error = {0};
  return platelag_workspace_create((platelag_workspace **)state, &error) == PLATELAG_OK ? 0 : -1;
}

static int tear_down(void **state) {
  platelag_workspace_destroy(*state);
  return 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_finding_stays),
      cmocka_unit_test(two_runs_are_two_of_the_same),
      cmocka_unit_test(a_command_polled_seldom_blames_nobody),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
