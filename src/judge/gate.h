/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The gate: are the facts that a finding needs in the record at all? It is asked first; what it
 * blocks cannot become a finding, however likely it looks. */
#ifndef PLAG_JUDGE_GATE_H
#define PLAG_JUDGE_GATE_H

#include "judge/facts.h"

#define PLAG_GATE_SENTENCES 12

typedef struct plag_gate {
  bool blocked[PLATELAG_FINDING_COUNT];
  size_t count;
  const char *lacking[PLAG_GATE_SENTENCES]; /* static: what is missing and how to get it */
} plag_gate;

void plag_gate_look(const platelag_fit *fit, const platelag_trace *trace,
                    const platelag_valve_spec *spec, const plag_facts *facts, plag_gate *gate);

#endif
