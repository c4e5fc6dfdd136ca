/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The four questions that emission rules ask of such a circuit, 13 CCR 1968.2(e)(15). */
#ifndef PLAG_JUDGE_CHECKS_H
#define PLAG_JUDGE_CHECKS_H

#include "core/arena.h"
#include "judge/facts.h"

/* Fills `check`, figures in `arena`; false without memory. */
bool plag_checks_ask(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, const plag_facts *facts, plag_arena *arena,
                     platelag_check_result check[PLATELAG_CHECK_COUNT]);

/* Dropouts from which continuity fails: fewer may be the recorder's. */
#define PLAG_DROPOUTS_LEAST 3

/* From this share of reference up a reading is pinned as only a wire pins it (design section 7),
 * %. */
#define PLAG_PINNED_PCT 96.0

/* A sensor reference further off than this is not right, share of what it should be; an actuator's
 * supply belongs between these, V (common practice, no source). */
#define PLAG_REFERENCE_LIMIT_SHARE 0.05
#define PLAG_SUPPLY_LOW_V          10.5
#define PLAG_SUPPLY_HIGH_V         16.0

#endif
