/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a trouble code's name claims, held against what a record shows. */
#ifndef PLAG_JUDGE_CODE_CLAIMS_H
#define PLAG_JUDGE_CODE_CLAIMS_H

#include "core/arena.h"
#include "judge/code_table.h"
#include "judge/facts.h"

typedef struct plag_code_record {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
  platelag_finding_kind seen;
  platelag_meter meter;
  plag_arena *arena; /* of what is told */
} plag_code_record;

typedef struct plag_code_answer {
  platelag_code_verdict verdict;
  double at_s; /* when it is first met; NaN */
  double value, limit;
  const char *unit;
  const char *basis; /* NULL without memory */
  bool indirect;     /* met by what another code is set for first */
} plag_code_answer;

/* Pure but for the arena. */
plag_code_answer plag_code_claims_ask(plag_claim claim, const plag_code_record *at);

/* An answer that rests on no figure. */
plag_code_answer plag_code_claims_unknown(const char *basis);

/* code_voltages.c: the sensor's reference and the actuator's supply, as recorded or measured. */
plag_code_answer plag_code_voltages_reference(const plag_code_record *at);
plag_code_answer plag_code_voltages_reference_low(const plag_code_record *at);
plag_code_answer plag_code_voltages_reference_high(const plag_code_record *at);
plag_code_answer plag_code_voltages_supply(const plag_code_record *at);
plag_code_answer plag_code_voltages_supply_low(const plag_code_record *at);
plag_code_answer plag_code_voltages_supply_high(const plag_code_record *at);

#endif
