/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a conclusion earns, against the key and against what the recording can tell. Ten points a
 * criterion, worked out by hand; the shares are the default rubric's. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "mark/book.h"

enum {
  FREE = PLATELAG_FINDING_FREE,
  SLOW = PLATELAG_FINDING_SLOW,
  STICK = PLATELAG_FINDING_STICKING,
  HIGH = PLATELAG_FINDING_SIGNAL_HIGH,
  LOW = PLATELAG_FINDING_SIGNAL_LOW,
  OPEN = PLATELAG_FINDING_UNDECIDED
};

/* A book of ten points a criterion. */
static platelag_rubric *begin(plag_class_book *book) {
  platelag_rubric *rubric = NULL;
  assert_int_equal(platelag_rubric_create(&rubric, NULL), PLATELAG_OK);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    rubric->points[i] = 10;
  *book = (plag_class_book){.rubric = rubric};
  return rubric;
}

static plag_entry entry_for(const plag_key_row *key) {
  plag_entry entry = {
      .key = key,
      .answer = {.probability = NAN, .figure = {NAN, NAN, NAN}},
      .shown = {.finding = PLATELAG_FINDING_UNDECIDED, .family = PLATELAG_FAMILY_UNDECIDED}};
  return entry;
}

static plag_key_row key_of(int finding) {
  return (plag_key_row){.vehicle = "cart 1",
                        .valve = "",
                        .code = "",
                        .finding = (platelag_finding_kind)finding,
                        .figure = {NAN, NAN, NAN}};
}

static void conclude(plag_class_book *book, plag_entry *entry) {
  assert_int_equal(plag_entry_mark_conclusion(book, entry, NULL), PLATELAG_OK);
}

static void end(plag_class_book *book, platelag_rubric *rubric, plag_entry *entry) {
  free((void *)entry->remark);
  plag_arena_clear(&book->arena);
  platelag_rubric_destroy(rubric);
}

static void findings_earn_by_key_and_recording(void **state) {
  (void)state;
  static const struct {
    int truth, shown, said;
    double points;
    const char *reason;
  } ROWS[] = {
      {STICK, STICK, STICK, 10, "is right, and the recording shows it"},
      {STICK, SLOW, STICK, 10, "is right, though"},
      {STICK, OPEN, STICK, 5, "but the recording alone cannot tell"}, /* unsupported 0.5 */
      {STICK, OPEN, OPEN, 10, "is right: the recording alone cannot tell"},
      {STICK, STICK, OPEN, 0, "\"cannot tell\""},
      {OPEN, STICK, OPEN, 10, "is right"},
      {STICK, HIGH, HIGH, 5, "is what the recording shows"}, /* as_recorded 0.5 */
      {STICK, SLOW, SLOW, 5, "is what the recording shows"}, /* before near */
      {STICK, STICK, SLOW, 4, "is near"},                    /* near 0.4 */
      {STICK, OPEN, SLOW, 4, "is near"},
      {STICK, STICK, HIGH, 0, "\"signal high\""},
      {STICK, OPEN, FREE, 0, "\"free\""},
      {FREE, FREE, STICK, 0, "the recording shows it; the answer was \"sticking\""},
      {HIGH, HIGH, LOW, 0, "\"signal low\""}, /* a high signal's family is open by nature */
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    platelag_rubric *rubric = begin(&book);
    const plag_key_row key = key_of(ROWS[i].truth);
    plag_entry entry = entry_for(&key);
    entry.answer.finding_given = true;
    entry.answer.finding = (platelag_finding_kind)ROWS[i].said;
    entry.shown.finding = (platelag_finding_kind)ROWS[i].shown;
    entry.submission.decidable = ROWS[i].shown != OPEN;
    conclude(&book, &entry);
    const platelag_mark *mark = &entry.submission.mark[PLAG_CRITERION_FINDING];
    if (fabs(mark->points - ROWS[i].points) > 1e-12 || strstr(mark->reason, ROWS[i].reason) == NULL)
      fail_msg("row %zu: %g, %s", i, mark->points, mark->reason);
    /* A recording that shows other than the key is told to the instructor. */
    assert_int_equal(entry.submission.remark_count, ROWS[i].said == ROWS[i].shown &&
                                                        ROWS[i].shown != ROWS[i].truth &&
                                                        ROWS[i].shown != OPEN);
    end(&book, rubric, &entry);
  }
}

static void families_earn_by_key_and_recording(void **state) {
  (void)state;
  enum {
    NONE = PLATELAG_FAMILY_FREE,
    PLATES = PLATELAG_FAMILY_MECHANICAL,
    SENSOR = PLATELAG_FAMILY_SENSOR_CIRCUIT,
    DRIVE = PLATELAG_FAMILY_DRIVE,
    EITHER = PLATELAG_FAMILY_UNDECIDED
  };
  static const struct {
    int finding, given; /* the key's; given -1: by the finding */
    int shown, said;
    double points;
  } ROWS[] = {{STICK, -1, PLATES, PLATES, 10},  {STICK, -1, EITHER, PLATES, 5},
              {STICK, -1, EITHER, EITHER, 10},  {STICK, -1, PLATES, EITHER, 0},
              {STICK, -1, DRIVE, DRIVE, 5},     {STICK, -1, PLATES, SENSOR, 0},
              {STICK, DRIVE, DRIVE, DRIVE, 10}, {HIGH, SENSOR, SENSOR, SENSOR, 10},
              {HIGH, -1, SENSOR, EITHER, 10},   {HIGH, PLATES, SENSOR, SENSOR, 5},
              {FREE, -1, NONE, NONE, 10},       {LOW, -1, SENSOR, SENSOR, 10}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    platelag_rubric *rubric = begin(&book);
    plag_key_row key = key_of(ROWS[i].finding);
    plag_entry entry = entry_for(&key);
    key.family_given = ROWS[i].given >= 0;
    key.family = (platelag_family)(ROWS[i].given >= 0 ? ROWS[i].given : 0);
    entry.answer.family_given = true;
    entry.answer.family = (platelag_family)ROWS[i].said;
    entry.shown.family = (platelag_family)ROWS[i].shown;
    conclude(&book, &entry);
    assert_close(entry.submission.mark[PLAG_CRITERION_FAMILY].points, ROWS[i].points, 0, 1e-12);
    end(&book, rubric, &entry);
  }
}

static double probability_points(double stated, bool right) {
  plag_class_book book;
  platelag_rubric *rubric = begin(&book);
  const plag_key_row key = key_of(STICK);
  plag_entry entry = entry_for(&key);
  entry.answer.finding_given = true;
  entry.answer.finding = right ? PLATELAG_FINDING_STICKING : PLATELAG_FINDING_SLOW;
  entry.answer.probability = stated;
  conclude(&book, &entry);
  const platelag_mark *mark = &entry.submission.mark[PLAG_CRITERION_PROBABILITY];
  assert_true(mark->applies);
  const double points = mark->points;
  end(&book, rubric, &entry);
  return points;
}

/* G. W. Brier, Mon. Weather Rev. 78 (1950) 1: who believes p expects most by stating p. Over a grid
 * of beliefs and of statements. */
static void nobody_gains_by_stating_other_than_he_believes(void **state) {
  (void)state;
  enum { STEPS = 20 };
  double right[STEPS + 1];
  double wrong[STEPS + 1];
  for (int i = 0; i <= STEPS; i++) {
    right[i] = probability_points((double)i / STEPS, true);
    wrong[i] = probability_points((double)i / STEPS, false);
  }
  for (int p = 0; p <= STEPS; p++) {
    const double belief = (double)p / STEPS;
    const double honest = belief * right[p] + (1 - belief) * wrong[p];
    for (int q = 0; q <= STEPS; q++)
      if (q != p)
        assert_true(belief * right[q] + (1 - belief) * wrong[q] < honest - 1e-9);
  }
  assert_close(right[STEPS], 10, 0, 1e-12);
  assert_close(wrong[STEPS], 0, 0, 1e-12);
  assert_close(probability_points(0.37, false), 10 * (1 - 0.37 * 0.37), 1e-12, 0);
}

static void tests_earn_by_the_key_or_by_what_settles_most(void **state) {
  (void)state;
  static const struct {
    const char *key, *said;
    double points;
    bool applies;
  } ROWS[] = {{"connector", "connector", 10, true},
              {"connector", "hand_sweep", 0, true},
              {NULL, "hand_sweep", 10, true},
              {NULL, "connector", 7, true}, /* second 0.7 */
              {NULL, "borescope", 4, true}, /* third 0.4 */
              {NULL, "supply", 0, true},
              {NULL, NULL, 0, true},
              {"", "supply", 0, false}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    platelag_rubric *rubric = begin(&book);
    plag_key_row key = key_of(STICK);
    plag_entry entry = entry_for(&key);
    const bool listed = ROWS[i].key != NULL && ROWS[i].key[0] != '\0';
    key.test[0] = ROWS[i].key;
    key.test_count = listed;
    entry.answer.test = ROWS[i].said;
    entry.shown.test[0] = "hand_sweep";
    entry.shown.test[1] = "connector";
    entry.shown.test[2] = "borescope";
    entry.shown.test_count = ROWS[i].applies ? 3 : 0;
    conclude(&book, &entry);
    const platelag_mark *mark = &entry.submission.mark[PLAG_CRITERION_NEXT_TEST];
    if (mark->applies != ROWS[i].applies || fabs(mark->points - ROWS[i].points) > 1e-12)
      fail_msg("row %zu: %g, %s", i, mark->points, mark->reason);
    end(&book, rubric, &entry);
  }
}

static void codes_earn_by_the_key_or_by_the_trace(void **state) {
  (void)state;
  enum {
    YES = PLATELAG_CODE_SUPPORTED,
    NO = PLATELAG_CODE_CONTRADICTED,
    OPEN_CODE = PLATELAG_CODE_CANNOT_TELL
  };
  static const struct {
    int key, shown, said; /* -1: none */
    double points;
    bool applies;
  } ROWS[] = {{-1, NO, NO, 10, true},
              {-1, NO, OPEN_CODE, 5, true},
              {-1, NO, YES, 0, true},
              {YES, NO, YES, 10, true},
              {-1, -1, YES, 0, false},
              {-1, YES, -1, 0, true},
              {-1, OPEN_CODE, OPEN_CODE, 10, true}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    platelag_rubric *rubric = begin(&book);
    plag_key_row key = key_of(STICK);
    plag_entry entry = entry_for(&key);
    key.code = "P2015";
    key.verdict_given = ROWS[i].key >= 0;
    key.verdict = (platelag_code_verdict)(ROWS[i].key >= 0 ? ROWS[i].key : 0);
    entry.shown.verdict_known = ROWS[i].shown >= 0;
    entry.shown.verdict = (platelag_code_verdict)(ROWS[i].shown >= 0 ? ROWS[i].shown : 0);
    entry.answer.verdict_given = ROWS[i].said >= 0;
    entry.answer.verdict = (platelag_code_verdict)(ROWS[i].said >= 0 ? ROWS[i].said : 0);
    conclude(&book, &entry);
    const platelag_mark *mark = &entry.submission.mark[PLAG_CRITERION_CODE];
    if (mark->applies != ROWS[i].applies || fabs(mark->points - ROWS[i].points) > 1e-12)
      fail_msg("row %zu: %g, %s", i, mark->points, mark->applies ? mark->reason : "");
    end(&book, rubric, &entry);
  }
}

static void figures_earn_by_interval_and_tolerance(void **state) {
  (void)state;
  /* The tool: 0.42 s, 0.37 to 0.56 s; tolerance 25 %, 0.105 s. The key: 0.31 s, 0.0775 s. */
  static const struct {
    double key, said, points;
    bool applies;
  } ROWS[] = {{NAN, 0.55, 10, true},  {NAN, 0.32, 10, true}, {NAN, 0.62, 5, true},
              {NAN, 0.22, 5, true},   {NAN, 0.64, 0, true},  {NAN, NAN, 0, false},
              {0.31, 0.38, 10, true}, {0.31, 0.46, 5, true}, {0.31, 0.47, 0, true},
              {0.31, NAN, 0, true}};
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    plag_class_book book;
    platelag_rubric *rubric = begin(&book);
    plag_key_row key = key_of(STICK);
    plag_entry entry = entry_for(&key);
    key.figure[1] = ROWS[i].key;
    entry.answer.figure[1] = ROWS[i].said;
    entry.shown.figure[1] = (platelag_estimate){PLATELAG_KNOWN_VALUE, 0.42, 0.37, 0.56};
    conclude(&book, &entry);
    const platelag_mark *mark = &entry.submission.mark[PLAG_CRITERION_FIGURES];
    if (mark->applies != ROWS[i].applies || fabs(mark->points - ROWS[i].points) > 1e-12)
      fail_msg("row %zu: %g, %s", i, mark->points, mark->applies ? mark->reason : "");
    end(&book, rubric, &entry);
  }
}

/* What is not given earns nothing; what is not understood neither, but the reason says so. */
static void what_is_missing_or_odd_earns_nothing(void **state) {
  (void)state;
  plag_class_book book;
  platelag_rubric *rubric = begin(&book);
  const plag_key_row key = key_of(STICK);
  plag_entry entry = entry_for(&key);
  entry.answer.odd[PLAG_SAID_FAMILY] = true;
  entry.answer.said[PLAG_SAID_FAMILY] = "the mechanic";
  conclude(&book, &entry);
  const platelag_mark *mark = entry.submission.mark;
  assert_true(mark[PLAG_CRITERION_FINDING].applies && mark[PLAG_CRITERION_FAMILY].applies);
  assert_close(mark[PLAG_CRITERION_FINDING].points + mark[PLAG_CRITERION_FAMILY].points, 0, 0, 0);
  assert_string_equal(mark[PLAG_CRITERION_FINDING].reason, "no finding was given");
  assert_non_null(strstr(mark[PLAG_CRITERION_FAMILY].reason, "\"the mechanic\" is not understood"));
  assert_false(mark[PLAG_CRITERION_PROBABILITY].applies || mark[PLAG_CRITERION_CODE].applies ||
               mark[PLAG_CRITERION_FIGURES].applies);
  end(&book, rubric, &entry);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(findings_earn_by_key_and_recording),
      cmocka_unit_test(families_earn_by_key_and_recording),
      cmocka_unit_test(nobody_gains_by_stating_other_than_he_believes),
      cmocka_unit_test(tests_earn_by_the_key_or_by_what_settles_most),
      cmocka_unit_test(codes_earn_by_the_key_or_by_the_trace),
      cmocka_unit_test(figures_earn_by_interval_and_tolerance),
      cmocka_unit_test(what_is_missing_or_odd_earns_nothing)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
