/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fusing the captures of one valve into one posterior. */
#ifndef PLAG_JUDGE_FUSION_H
#define PLAG_JUDGE_FUSION_H

#include "judge/posterior.h"

typedef struct plag_fusion {
  plag_posterior posterior;
  plag_facts facts;                     /* the case's own: sweep and meter */
  bool blocked[PLATELAG_FINDING_COUNT]; /* what no capture found */
  const platelag_case_input *main;      /* the capture that says most; NULL: only sweeps */
  const platelag_case_input *sweep;     /* the hand sweep that says most; NULL: none */
  const platelag_case_input *after;     /* the last capture after the repair; NULL: none */
  bool swept;                           /* a hand sweep that says something is there */
  bool meter_disagrees;
  double capture_signal_v; /* what the capture read where the meter could be compared; NaN */
} plag_fusion;

/* Weighs all captures. Captures after the repair blame nobody, unless there is no other. Pure. */
void plag_fusion_weigh(const platelag_case_input *input, size_t count,
                       const platelag_valve_spec *spec, const platelag_meter *meter,
                       plag_fusion *fusion);

#endif
