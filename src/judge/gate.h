/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The gate: are the facts that a finding needs in the record at all? It is asked first; what it
 * blocks cannot become a finding, however likely it looks. */
#ifndef PLAG_JUDGE_GATE_H
#define PLAG_JUDGE_GATE_H

#include "judge/facts.h"

#define PLAG_GATE_SENTENCES 13

typedef struct plag_gate {
  bool blocked[PLATELAG_FINDING_COUNT];
  bool by_hand; /* it looks as if a hand turned the shaft */
  size_t count;
  /* Static, "why; what to do": what is missing and how to get it, and the findings it blocks as
   * bits. */
  const char *lacking[PLAG_GATE_SENTENCES];
  unsigned blocks[PLAG_GATE_SENTENCES];
} plag_gate;

void plag_gate_look(const platelag_fit *fit, const platelag_trace *trace,
                    const platelag_valve_spec *spec, const plag_facts *facts, plag_gate *gate);

#endif
