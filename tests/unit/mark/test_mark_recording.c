/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a recording earns for being fit to decide from, and the advice in numbers. The marks are
 * shares of ten points a criterion, worked out by hand beside each row. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "mark/book.h"

#define ROAD  (1U << PLATELAG_CONDITION_ROAD)
#define SWEEP (1U << PLATELAG_CONDITION_HAND_SWEEP)

/* A recording that earns all. */
static const plag_shown WHOLE = {.road = true,
                                 .command = true,
                                 .position = true,
                                 .minutes = 4.31,
                                 .rows_per_second = 5.7,
                                 .openings = 11,
                                 .closings = 9,
                                 .reversals = 19,
                                 .visited_pct = 91.3,
                                 .closed_asked = true,
                                 .open_asked = true,
                                 .moved = true,
                                 .width_share = 0.37,
                                 .lost_pct = 1.3,
                                 .conditions = ROAD | SWEEP};

/* One thing of it is otherwise. */
typedef struct row {
  plag_criterion criterion;
  size_t place; /* of a double of plag_shown */
  double value;
  double points; /* of ten */
  const char *reason, *advice;
} row;

#define AT(member) offsetof(plag_shown, member)

static const row ROWS[] = {
    /* 1.7 of 4 minutes */
    {PLAG_CRITERION_LENGTH, AT(minutes), 1.7, 4.25, "1.7 minutes, asked for 4.0",
     "2.3 more minutes would do."},
    /* what is missing is never "0.0 more" */
    {PLAG_CRITERION_LENGTH, AT(minutes), 3.97, 9.925, "4.0 minutes, asked for 4.0",
     "0.1 more minutes would do."},
    {PLAG_CRITERION_LENGTH, AT(minutes), 61, 10, "61.0 minutes", ""},
    /* 1.3 of 5 rows */
    {PLAG_CRITERION_RATE, AT(rows_per_second), 1.3, 2.6, "1.3 rows a second, asked for 5.0",
     "Record fewer channels"},
    /* the fewer of 2 and 9, of 8 */
    {PLAG_CRITERION_MOVES, AT(openings), 2, 2.5, "2 openings and 9 closings",
     "6 more openings would do."},
    {PLAG_CRITERION_MOVES, AT(closings), 7, 8.75, "11 openings and 7 closings",
     "1 more closing would do."},
    {PLAG_CRITERION_MOVES, AT(openings), 0, 0, "0 openings", "8 more openings would do."},
    /* half for 32 of 80 %, and both stops */
    {PLAG_CRITERION_TRAVEL, AT(visited_pct), 32, 7, "32 % of travel", "every part of their travel"},
    /* (3 * 40 - 70) / (2 * 40) = 0.625; 9 moves * ((70 / 40)^2 - 1) = 18.56 */
    {PLAG_CRITERION_PRECISION, AT(width_share), 0.7, 6.25, "70 % of it wide, wanted 40 %",
     "19 moves more each way would narrow the interval of t63 to 40 % of it; four times as many "
     "as now would halve it."},
    {PLAG_CRITERION_PRECISION, AT(width_share), 1.2, 0, "120 %", "72 moves more"},
    {PLAG_CRITERION_PRECISION, AT(width_share), 5.7, 0, "570 %", "Step the command"},
    {PLAG_CRITERION_PRECISION, AT(width_share), INFINITY, 0, "below a limit", "faster"},
    /* (3 * 2 - 3.1) / (2 * 2) = 0.725 */
    {PLAG_CRITERION_GAPS, AT(lost_pct), 3.1, 7.25, "3.1 % of the time", "plugged in"},
    {PLAG_CRITERION_GAPS, AT(lost_pct), 41, 0, "41.0 %", "plugged in"},
    /* 1 of 6 */
    {PLAG_CRITERION_REVERSALS, AT(reversals), 1, 10.0 / 6, "1 reversal of the command, wanted 6",
     "5 more would do"},
};

static const plag_key_row KEY = {
    .vehicle = "cart 1", .valve = "", .code = "", .conditions = ROAD | SWEEP};

/* Marks what is shown with ten points for each criterion. */
static void mark(const plag_shown *shown, const plag_key_row *key, plag_class_book *book,
                 plag_entry *entry) {
  static platelag_rubric rubric;
  platelag_rubric *standard = NULL;
  assert_int_equal(platelag_rubric_create(&standard, NULL), PLATELAG_OK);
  rubric = *standard;
  platelag_rubric_destroy(standard);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    rubric.points[i] = 10;
  *book = (plag_class_book){.rubric = &rubric};
  *entry = (plag_entry){.key = key, .shown = *shown};
  assert_int_equal(plag_entry_mark_recording(book, entry, NULL), PLATELAG_OK);
}

static void check(const platelag_mark *is, const row *of) {
  const bool advised =
      of->advice[0] == '\0' ? is->advice[0] == '\0' : strstr(is->advice, of->advice) != NULL;
  if (!is->applies || fabs(is->points - of->points) > 1e-9 ||
      strstr(is->reason, of->reason) == NULL || !advised)
    fail_msg("%s at %g: %g of %g, %s; %s", platelag_criterion_key(of->criterion), of->value,
             is->points, is->of, is->reason, is->advice);
}

static void each_criterion_is_as_worked_by_hand(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    plag_entry entry;
    plag_shown shown = WHOLE;
    memcpy((char *)&shown + ROWS[i].place, &ROWS[i].value, sizeof ROWS[i].value);
    mark(&shown, &KEY, &book, &entry);
    for (size_t k = 0; k <= PLAG_CRITERION_CONDITIONS; k++)
      if (k == (size_t)ROWS[i].criterion)
        check(&entry.submission.mark[k], &ROWS[i]);
      else
        check(&entry.submission.mark[k], &(row){(plag_criterion)k, 0, ROWS[i].value, 10, "", ""});
    plag_arena_clear(&book.arena);
  }
}

static void both_ways_are_asked_for_where_both_lack(void **state) {
  (void)state;
  plag_class_book book;
  plag_entry entry;
  plag_shown shown = WHOLE;
  shown.openings = 7;
  shown.closings = 5;
  mark(&shown, &KEY, &book, &entry);
  check(&entry.submission.mark[PLAG_CRITERION_MOVES],
        &(row){PLAG_CRITERION_MOVES, 0, 5, 6.25, "7 openings and 5 closings",
               "1 more opening and 3 more closings would do."});
  plag_arena_clear(&book.arena);
}

static void stops_channels_and_conditions_earn_their_parts(void **state) {
  (void)state;
  plag_class_book book;
  plag_entry entry;
  plag_shown shown = WHOLE;
  shown.open_asked = shown.command = false;
  shown.width_share = NAN;
  shown.conditions = ROAD;
  mark(&shown, &KEY, &book, &entry);
  check(
      &entry.submission.mark[PLAG_CRITERION_TRAVEL],
      &(row){PLAG_CRITERION_TRAVEL, 0, 0, 7.5, "the open stop was never asked for", "open fully"});
  check(&entry.submission.mark[PLAG_CRITERION_CHANNELS],
        &(row){PLAG_CRITERION_CHANNELS, 0, 0, 5, "position alone is in it", "Add the command"});
  check(
      &entry.submission.mark[PLAG_CRITERION_CONDITIONS],
      &(row){PLAG_CRITERION_CONDITIONS, 0, 0, 5, "1 of 2 recordings", "Missing: a sweep by hand."});
  /* Plates that do not move have no t63 to know. */
  assert_false(entry.submission.mark[PLAG_CRITERION_PRECISION].applies);
  plag_arena_clear(&book.arena);
}

/* A sweep alone: where a drive was asked for it earns nothing, where none was it does not count. */
static void without_a_drive_its_criteria_earn_nothing_or_do_not_apply(void **state) {
  (void)state;
  static const plag_shown SWEPT = {.conditions = SWEEP, .width_share = NAN};
  plag_key_row key = KEY;
  plag_class_book book;
  plag_entry entry;
  mark(&SWEPT, &key, &book, &entry);
  for (size_t i = 0; i < PLAG_CRITERION_CONDITIONS; i++)
    check(&entry.submission.mark[i],
          &(row){(plag_criterion)i, 0, 0, 0, "no drive was recorded", ""});
  plag_arena_clear(&book.arena);
  key.conditions = SWEEP;
  mark(&SWEPT, &key, &book, &entry);
  for (size_t i = 0; i < PLAG_CRITERION_CONDITIONS; i++)
    assert_false(entry.submission.mark[i].applies);
  check(&entry.submission.mark[PLAG_CRITERION_CONDITIONS],
        &(row){PLAG_CRITERION_CONDITIONS, 0, 0, 10, "1 of 1", ""});
  plag_arena_clear(&book.arena);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_criterion_is_as_worked_by_hand),
      cmocka_unit_test(both_ways_are_asked_for_where_both_lack),
      cmocka_unit_test(stops_channels_and_conditions_earn_their_parts),
      cmocka_unit_test(without_a_drive_its_criteria_earn_nothing_or_do_not_apply)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
