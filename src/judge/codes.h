/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Codes: which the trace would be expected to set, and whether it supports those that are stored.
 */
#ifndef PLAG_JUDGE_CODES_H
#define PLAG_JUDGE_CODES_H

#include "core/arena.h"
#include "judge/facts.h"

/* Expected codes in order of time, then stored ones that the trace would not set. Bank 2 valves get
 * bank 2's codes, others bank 1's. False without memory. */
bool plag_codes_list(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, const plag_facts *facts,
                     platelag_finding_kind seen, const platelag_circumstances *circumstances,
                     plag_arena *arena, const platelag_code **code, size_t *count);

/* Puts what becomes of each stored code behind the evidence `*rows`, in a new array; rows of codes
 * that were there before are left out. False without memory. */
bool plag_codes_tell(const platelag_code *code, size_t count, plag_arena *arena,
                     const platelag_evidence **rows, size_t *row_count);

#endif
