/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A model of one trace before any part has run, for tests of single parts. */
#ifndef PLATELAG_TESTS_MADE_MODEL_H
#define PLATELAG_TESTS_MADE_MODEL_H

#include "model/parts.h"

typedef struct plag_test_model {
  plag_model model;
  platelag_fit fit;
  plag_arena arena;
  platelag_spec *spec;
} plag_test_model;

/* Fails the test without memory. The trace stays the caller's. */
void plag_test_model_begin(plag_test_model *made, const platelag_trace *trace);
void plag_test_model_end(plag_test_model *made);

/* States the response instead of fitting it: lowest and highest command ask for 0 and 100 %. */
void plag_test_model_set_response(plag_test_model *made, double dead_time_s, double tau_open_s,
                                  double tau_close_s);

#endif
