/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_class.h"

#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/made_random.h"

void plag_test_class_record(plag_test_class *of, const char *name, const char *bytes) {
  char path[PLAG_TEST_PATH_BYTES];
  (void)snprintf(path, sizeof path, "r/%s", name);
  plag_test_scratch_write(&of->scratch, path, bytes, 0);
}

platelag_status plag_test_class_build(plag_test_class *of, const char *key, const char *answers,
                                      const char *rubric, platelag_error *error) {
  char path[PLAG_TEST_PATH_BYTES];
  platelag_status status = PLATELAG_OK;
  platelag_class_destroy(of->marked);
  platelag_rubric_destroy(of->rubric);
  of->marked = NULL;
  of->rubric = NULL;
  plag_test_scratch_write(&of->scratch, "key.csv", key, 0);
  plag_test_scratch_write(&of->scratch, "answers.csv", answers, 0);
  if (rubric != NULL) {
    plag_test_scratch_write(&of->scratch, "rubric.ini", rubric, 0);
    status = platelag_rubric_read(plag_test_scratch_path(&of->scratch, "rubric.ini", path),
                                  &of->rubric, error);
  }
  if (status != PLATELAG_OK)
    return status;
  of->work = (platelag_mark_work){
      .key = plag_test_scratch_path(&of->scratch, "key.csv", of->path[0]),
      .answers = plag_test_scratch_path(&of->scratch, "answers.csv", of->path[1]),
      .folder = plag_test_scratch_path(&of->scratch, "r", of->path[2]),
      .rubric = of->rubric};
  return platelag_class_build(&of->work, &of->marked, error);
}

const platelag_submission *plag_test_class_of(const plag_test_class *of, const char *student) {
  for (size_t i = 0; i < of->marked->submission_count; i++)
    if (strcmp(of->marked->submission[i].student, student) == 0)
      return &of->marked->submission[i];
  fail_msg("nothing of %s", student);
  return NULL;
}

bool plag_test_class_remarks(const platelag_submission *of, const char *words) {
  for (size_t i = 0; i < of->remark_count; i++)
    if (strstr(of->remark[i], words) != NULL)
      return true;
  return false;
}

void plag_test_class_clear(plag_test_class *of) {
  platelag_class_destroy(of->marked);
  platelag_rubric_destroy(of->rubric);
  plag_test_scratch_clear(&of->scratch);
  *of = (plag_test_class){0};
}

void plag_test_drive_write(const plag_test_drive *of, plag_text *csv) {
  plag_test_random random = {20771 + of->noise};
  const int rows = 1 + (int)lround(of->minutes * 60 / of->row_s);
  const double share = 1 - exp(-of->row_s / of->t63_s);
  double at_pct = of->duty_pct[0];
  plag_text_reset(csv);
  plag_text_add_format(csv, "Time (s),%sIntake runner position (V)\n",
                       of->without_command ? "" : "Intake runner duty (%),");
  for (int row = 0; row < rows; row++) {
    const double time_s = row * of->row_s;
    const double duty = of->duty_pct[(size_t)floor(time_s / of->step_s + 1e-9) % of->level_count];
    const double ahead = duty - at_pct;
    if (fabs(ahead) > of->band_pct)
      at_pct += (ahead - copysign(of->band_pct, ahead)) * share;
    const double volts = 1 + 0.03 * fmin(fmax(at_pct, 0), 100);
    plag_text_add_format(csv, "%.2f,", time_s);
    if (!of->without_command)
      plag_text_add_format(csv, "%.1f,", duty);
    plag_text_add_format(csv, "%.3f\n", volts + plag_test_random_uniform(&random, -0.004, 0.004));
  }
}
