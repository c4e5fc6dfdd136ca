/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The proof of a repair: the capture after it against the one before. */
#ifndef PLAG_JUDGE_REPAIR_H
#define PLAG_JUDGE_REPAIR_H

#include "core/arena.h"
#include "platelag/finding.h"

#define PLAG_REPAIR_FIGURES 4

/* The verdict: repaired when `after` is free and `before` was not; else by how the figure of the
 * fault moved, beyond both 90 % intervals or not. */
platelag_repair plag_repair_judge(const platelag_case_input *before,
                                  const platelag_case_input *after);

/* Each figure before and after with its interval, as evidence rows into `row` (room for
 * PLAG_REPAIR_FIGURES); false without memory. */
bool plag_repair_tell(const platelag_case_input *before, const platelag_case_input *after,
                      const platelag_valve_spec *spec, plag_arena *arena, platelag_evidence *row,
                      size_t *count);

#endif
