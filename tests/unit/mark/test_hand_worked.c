/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One rubric, three students, marks worked out by hand and met exactly.
 *
 * The rubric, of 66 points: channels 4, length 10 (4 minutes suffice), moves 6 (8 each way),
 * conditions 8, finding 20, family 10, next test 5, probability 3. The key: the plates of cart 7
 * run freely, a drive and a sweep by hand are asked for, and the next test would be the connector.
 *
 * Ann drives for 5 minutes and sweeps by hand. The duty goes up and down by turns (5, 95, 45, 95,
 * 5, 60 % and again), at 5, 10, ... 295 s: 59 times, 30 openings and 29 closings. channels  both 4
 *   length    5 of 4 minutes                  10
 *   moves     29 of 8                          6
 *   conditions 2 of 2                          8
 *   finding   "free" is right                 20
 *   family    "free" is right                 10
 *   next test the connector                    5
 *   probability 90 %: 3 (1 - 0.1^2)            2.97
 *                                             65.97 of 66
 *
 * Bob drives for 1.2 minutes, and no sweep. The duty changes every 10 s: at 10, 30, 50 and 70 s it
 * opens, at 20, 40 and 60 s it closes.
 *   channels  both                             4
 *   length    1.2 of 4 minutes, 0.3 of 10      3
 *   moves     3 of 8, 0.375 of 6               2.25
 *   conditions 1 of 2                          4
 *   finding   "slow" is wrong                  0
 *   family    "drive" is wrong                 0
 *   next test the supply is not in the key     0
 *   probability 80 % and wrong: 3 (1 - 0.8^2)  1.08
 *                                             14.33 of 66
 *
 * Cid stands at idle for 3 minutes: the duty stays at 5 %, and the plates at their stop. That the
 * plates run freely cannot be told from it, and he says so.
 *   channels  both                             4
 *   length    3 of 4 minutes                   7.5
 *   moves     none                             0
 *   conditions 1 of 2                          4
 *   finding   "cannot tell" is right here     20
 *   family    "undecided" is right here       10
 *   next test the connector                    5
 *   probability  none of "cannot tell"         does not apply
 *                                             50.5 of 63 */
#include "support/check.h"
#include "support/made_class.h"

#include <math.h>
#include <string.h>

#include "mark/rubric.h"
#include "platelag/platelag.h"

static const char RUBRIC[] = "[channels]\npoints = 4\n"
                             "[length]\npoints = 10\nminutes = 4\n"
                             "[moves]\npoints = 6\neach_way = 8\n"
                             "[conditions]\npoints = 8\n"
                             "[finding]\npoints = 20\n"
                             "[family]\npoints = 10\n"
                             "[next_test]\npoints = 5\n"
                             "[probability]\npoints = 3\n";

static const char KEY[] = "vehicle,finding,family,conditions,next_test\n"
                          "cart 7,free,free,road|hand_sweep,connector\n";

static const char ANSWERS[] =
    "student,vehicle,file,condition,finding,family,next_test,probability\n"
    "Ann,cart 7,ann.csv,road,free,free,connector,90 %\n"
    "Ann,cart 7,ann-sweep.csv,hand sweep,,,,\n"
    "Bob,cart 7,bob.csv,road,slow,drive,supply,\"0,8\"\n"
    "Cid,cart 7,cid.csv,road,cannot tell,undecided,meter,\n";

static const double BY_TURNS_PCT[] = {5, 95, 45, 95, 5, 60};
static const double IDLE_PCT[] = {5};

static void record(plag_test_class *of, const char *name, plag_test_drive drive) {
  plag_text csv = {0};
  drive.row_s = 0.1;
  plag_test_drive_write(&drive, &csv);
  plag_test_class_record(of, name, csv.bytes);
  plag_text_clear(&csv);
}

/* What a student earns, by criterion; NaN where it does not apply. */
typedef struct earned {
  const char *student;
  double channels, length, moves, conditions, finding, family, next_test, probability;
  double points, of;
} earned;

static const earned EARNED[] = {
    {"Ann", 4, 10, 6, 8, 20, 10, 5, 2.97, 65.97, 66},
    {"Bob", 4, 3, 2.25, 4, 0, 0, 0, 1.08, 14.33, 66},
    {"Cid", 4, 7.5, 0, 4, 20, 10, 5, NAN, 50.5, 63},
};

static void check(const platelag_submission *is, const earned *by_hand) {
  const struct {
    plag_criterion criterion;
    double points;
  } rows[] = {{PLAG_CRITERION_CHANNELS, by_hand->channels},
              {PLAG_CRITERION_LENGTH, by_hand->length},
              {PLAG_CRITERION_MOVES, by_hand->moves},
              {PLAG_CRITERION_CONDITIONS, by_hand->conditions},
              {PLAG_CRITERION_FINDING, by_hand->finding},
              {PLAG_CRITERION_FAMILY, by_hand->family},
              {PLAG_CRITERION_NEXT_TEST, by_hand->next_test},
              {PLAG_CRITERION_PROBABILITY, by_hand->probability}};
  size_t applying = 0;
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    const platelag_mark *mark = &is->mark[rows[i].criterion];
    if (mark->applies == isnan(rows[i].points) ||
        (mark->applies && fabs(mark->points - rows[i].points) > 1e-9))
      fail_msg("%s, %s: %.6f, by hand %g: %s", is->student,
               platelag_criterion_key(rows[i].criterion), mark->points, rows[i].points,
               mark->reason);
    applying += mark->applies;
  }
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    applying -= is->mark[i].applies;
  assert_int_equal(applying, 0); /* nothing else counts */
  assert_close(is->points, by_hand->points, 0, 1e-9);
  assert_close(is->of, by_hand->of, 0, 0);
  assert_close(is->percent, 100 * by_hand->points / by_hand->of, 1e-12, 0);
}

static void marks_are_as_worked_by_hand(void **state) {
  (void)state;
  plag_test_class made = {0};
  platelag_error error = {0};
  const plag_test_drive five_s = {.minutes = 5,
                                  .step_s = 5,
                                  .t63_s = 0.2,
                                  .duty_pct = BY_TURNS_PCT,
                                  .level_count = 6,
                                  .noise = 1};
  plag_test_drive of = five_s;
  record(&made, "ann.csv", of);
  of.without_command = true;
  of.minutes = 1;
  of.t63_s = 1.1;
  of.noise = 2;
  record(&made, "ann-sweep.csv", of);
  of = five_s;
  of.minutes = 1.2;
  of.step_s = 10;
  of.noise = 3;
  record(&made, "bob.csv", of);
  of = five_s;
  of.minutes = 3;
  of.duty_pct = IDLE_PCT;
  of.level_count = 1;
  of.noise = 4;
  record(&made, "cid.csv", of);
  if (plag_test_class_build(&made, KEY, ANSWERS, RUBRIC, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(made.marked->submission_count, 3);
  for (size_t i = 0; i < 3; i++)
    check(plag_test_class_of(&made, EARNED[i].student), &EARNED[i]);
  assert_false(plag_test_class_of(&made, "Cid")->decidable);
  assert_int_equal(made.marked->likeness_count, 0);
  /* The middle one of three. */
  assert_close(made.marked->median_percent, 100 * 50.5 / 63, 1e-12, 0);
  const platelag_mark *moves = &plag_test_class_of(&made, "Bob")->mark[PLAG_CRITERION_MOVES];
  assert_string_equal(moves->reason,
                      "4 openings and 3 closings were asked of the plates, wanted 8 each way");
  assert_string_equal(moves->advice, "4 more openings and 5 more closings would do.");
  plag_test_class_clear(&made);
}

int main(void) {
  platelag_library_start();
  const struct CMUnitTest tests[] = {cmocka_unit_test(marks_are_as_worked_by_hand)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
