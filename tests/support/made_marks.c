/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_marks.h"

#include "support/check.h"

#include <math.h>

static const char *const remark[] = {"remarked: thimbleweed"};

static void set_mark(platelag_submission *one, plag_criterion criterion, double points, double of,
                     const char *reason, const char *advice) {
  one->mark[criterion] = (platelag_mark){
      .applies = true, .points = points, .of = of, .reason = reason, .advice = advice};
  one->points += points;
  one->of += of;
  one->percent = 100 * one->points / one->of;
}

static void begin(platelag_submission *one, const char *student, const char *vehicle,
                  const char *files) {
  *one = (platelag_submission){.student = student,
                               .vehicle = vehicle,
                               .files = files,
                               .line = 385,
                               .marked = true,
                               .problem = "",
                               .found = PLATELAG_FINDING_STICKING,
                               .family = PLATELAG_FAMILY_MECHANICAL,
                               .sentence = "The plates stick: stick band 23.85 % of travel.",
                               .decidable = true,
                               .percent = NAN};
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    one->mark[i] = (platelag_mark){.reason = "", .advice = ""};
}

static void fill(platelag_submission *list) {
  begin(&list[0], PLAG_TEST_FIRST, "loader <i>17</i>", "quill'.csv");
  set_mark(&list[0], PLAG_CRITERION_LENGTH, 2.3, 4, "2.3 minutes, asked for 4.0",
           "1.7 more minutes would do.");
  set_mark(&list[0], PLAG_CRITERION_FINDING, 25, 25, "\"sticking\" is right", "");
  set_mark(&list[0], PLAG_CRITERION_FAMILY, 15, 15, "\"mechanical\" is right", "");
  list[0].remark_count = 1;
  list[0].remark = remark;
  begin(&list[1], PLAG_TEST_SECOND, "loader 23", "vetch23.csv");
  set_mark(&list[1], PLAG_CRITERION_LENGTH, 4, 4, "5.9 minutes, asked for 4.0", "");
  set_mark(&list[1], PLAG_CRITERION_FINDING, 0, 25, "the vehicle has slow plates",
           "Go through the report.");
  set_mark(&list[1], PLAG_CRITERION_FAMILY, 3.5, 15, "the fault lies in the plates",
           "Go through the report.");
  begin(&list[2], PLAG_TEST_SECOND, "loader 38", "");
  list[2].marked = false;
  list[2].problem = "no recording was handed in";
  list[2].sentence = "";
  begin(&list[3], PLAG_TEST_THIRD, "loader 17", "wort.csv");
  set_mark(&list[3], PLAG_CRITERION_LENGTH, 4, 4, "6.1 minutes, asked for 4.0", "");
  set_mark(&list[3], PLAG_CRITERION_FINDING, 25, 25, "\"sticking\" is right", "");
}

void plag_test_marks_make(plag_test_marks *made) {
  *made = (plag_test_marks){0};
  fill(made->submission);
  assert_int_equal(platelag_rubric_create(&made->rubric, NULL), PLATELAG_OK);
  for (size_t i = 0; i < PLAG_TEST_SUBMISSIONS; i++) {
    plag_answer *said = &made->entry[i].answer;
    *said = (plag_answer){.finding_given = true,
                          .finding = PLATELAG_FINDING_STICKING,
                          .family_given = true,
                          .family = PLATELAG_FAMILY_UNDECIDED,
                          .test = "hand_sweep",
                          .probability = i == 0 ? 0.83 : NAN,
                          .figure = {NAN, 0.385, NAN}};
    made->entry[i].submission = made->submission[i];
  }
  made->likeness[0] = (platelag_likeness){.one = 0,
                                          .other = 3,
                                          .file_one = "quill'.csv",
                                          .file_other = "wort.csv",
                                          .correlation = 0.874,
                                          .samples = 2385,
                                          .share = 0.913,
                                          .shift_s = 38.5,
                                          .scale = 1.023,
                                          .what = "the same readings, twinned"};
  made->book = (plag_class_book){.entry = made->entry,
                                 .entry_count = PLAG_TEST_SUBMISSIONS,
                                 .rubric = made->rubric,
                                 .marked = {.submission_count = PLAG_TEST_SUBMISSIONS,
                                            .submission = made->submission,
                                            .likeness_count = 1,
                                            .likeness = made->likeness,
                                            .student_count = 3,
                                            .median_percent = 96.1,
                                            .rubric = made->rubric}};
  made->book.marked.book = &made->book;
}

void plag_test_marks_clear(plag_test_marks *made) {
  platelag_rubric_destroy(made->rubric);
}
