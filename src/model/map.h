/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The static map: a monotone, saturating, piecewise linear course of travel over command, made of
 * settled readings. Two knots serve an on/off command, up to nine a duty. */
#ifndef PLAG_MODEL_MAP_H
#define PLAG_MODEL_MAP_H

#include "model/parts.h"

/* A settled reading: what the command was and where the plates came to rest. */
typedef struct plag_map_point {
  double command;
  double travel_pct;
  double weight;
} plag_map_point;

/* Sets the fit's map (knots, map_low_pct, map_high_pct, map_rising) from settled readings, which
 * are put in another order. Levels are weighted medians, made monotone by pooling neighbours that
 * disagree (Ayer et al., Ann. Math. Stat. 26 (1955) 641). */
void plag_map_build(platelag_fit *fit, const platelag_trace *trace, plag_map_point *point,
                    size_t count);

/* The same from the last readings before each change of the command, whether they had settled or
 * not: what can be had from a busy command. False without memory. */
bool plag_map_build_from_stretches(const plag_model *model);

/* Puts the knots in monotone order and sets what follows from them. */
void plag_map_finish(platelag_fit *fit);

/* Share of the command's range that steps must visit for a map of theirs to stand. */
#define PLAG_MAP_SPAN_SHARE 0.85

/* map_friction.c: once friction and steps are known, the map of what free plates would do.
 * `*changed` is false where friction bends nothing, or cannot be told to. */
platelag_status plag_map_put_back_friction(plag_model *model, bool *changed, platelag_error *error);

/* map_settled.c: the same by all that rested while the command stood, once the lag is known; else
 * the knots' corners are opened. */
platelag_status plag_map_straighten(plag_model *model, platelag_error *error);

/* A drive against a spring asks for a straight line up to either stop: between the last knot before
 * a stop and the next, which may lie far beyond the corner, the line goes on until it is there. */
void plag_map_open_corners(platelag_fit *fit);

/* map_hinge.c: a straight line between two stops in place of the knots of many levels, where it
 * explains the settled readings as well. False where the knots stay. */
bool plag_map_try_hinge(platelag_fit *fit, const platelag_trace *trace, const plag_map_point *point,
                        size_t count);

#endif
