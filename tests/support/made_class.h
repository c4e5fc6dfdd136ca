/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A class in a folder of a test's own, from texts to marks. */
#ifndef PLATELAG_TESTS_MADE_CLASS_H
#define PLATELAG_TESTS_MADE_CLASS_H

#include "core/text.h"
#include "platelag/mark.h"
#include "support/scratch.h"

/* Zero-initialise. */
typedef struct plag_test_class {
  plag_test_scratch scratch;
  platelag_rubric *rubric;
  platelag_class *marked;
  char path[3][PLAG_TEST_PATH_BYTES]; /* of key, answers and folder, that the class lends */
  platelag_mark_work work;
} plag_test_class;

/* Writes a recording that answers may name. */
void plag_test_class_record(plag_test_class *of, const char *name, const char *bytes);

/* Writes the tables and marks; `rubric` NULL: the default one. The status of what failed. */
platelag_status plag_test_class_build(plag_test_class *of, const char *key, const char *answers,
                                      const char *rubric, platelag_error *error);

/* The submission of a student, the first where he has several; the test fails without it. */
const platelag_submission *plag_test_class_of(const plag_test_class *of, const char *student);

/* Whether one of the submission's remarks holds `words`. */
bool plag_test_class_remarks(const platelag_submission *of, const char *words);

void plag_test_class_clear(plag_test_class *of);

/* A drive to be written as a capture: duty steps of `step_s` by turns of `level_count` levels,
 * plates that follow by first order and a sensor of 1 V closed and 4 V open. */
typedef struct plag_test_drive {
  double minutes, row_s, step_s;
  double t63_s;
  const double *duty_pct;
  size_t level_count;
  unsigned noise; /* its seed */
  bool without_command;
  double band_pct; /* of travel, by which the plates stay behind the command; 0: free */
} plag_test_drive;

void plag_test_drive_write(const plag_test_drive *of, plag_text *csv);

#endif
