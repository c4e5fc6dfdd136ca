/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts of a fit and who makes them; fit.c calls them in this order. One file a part. */
#ifndef PLAG_MODEL_PARTS_H
#define PLAG_MODEL_PARTS_H

#include "core/arena.h"
#include "platelag/fit.h"

typedef struct plag_asked plag_asked;
typedef struct plag_effort plag_effort;
typedef struct plag_held_basis plag_held_basis;

/* What the parts share while one trace is fitted. All arrays are of trace->sample_count and lie in
 * the workspace; they are valid until the next fit. */
typedef struct plag_model {
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  platelag_workspace *workspace;
  plag_arena *arena;         /* the fit's; what the fit lends is taken from here */
  platelag_fit *fit;         /* being filled */
  unsigned char *mode;       /* platelag_mode a sample */
  double noise_pct;          /* sd of one valid reading, % of travel, at least quantum / sqrt(12) */
  size_t valid_count;        /* samples whose mode is not void */
  plag_asked *asked;         /* what the command asks for, by the map (asked.h) */
  const plag_effort *effort; /* of a controller; NULL in an open loop and without its duty */
  plag_held_basis *held_basis; /* what the last search for held intervals rested on; or NULL */
  bool by_steps;               /* the response rests on steps that stand alone, and nothing else */
  bool straight;               /* the map is a line between stops, by all that rested */
} plag_model;

/* 1 modes.c, signal.c: rails, erratic, frozen; noise; the signal's figures. Sets mode (void ones
 * final, the others FOLLOWING), noise_pct, fit->signal, fit->coverage. */
platelag_status plag_modes_find_void(plag_model *model, platelag_error *error);

/* 2 steps.c: which changes are steps that a ruler can measure; fit->step without rest errors. */
platelag_status plag_steps_measure(plag_model *model, platelag_error *error);

/* 3 response.c: static map, dead time, tau each way, intervals. fit->lag, fit->map_*. Samples of
 * held spans are left out when `without_held`. */
platelag_status plag_response_fit(plag_model *model, bool without_held, platelag_error *error);

/* scores.c: how well plates that never move, follow at once, follow freely, follow at one speed
 * explain the samples outside held spans; that speed. */
platelag_status plag_scores_set(plag_model *model, platelag_error *error);

/* desired.c: the map of a desired position, where its unit gives it; needs fit->travel. */
platelag_status plag_desired_set_map(plag_model *model, platelag_error *error);

/* effort.c: model->effort, once the loop and the travel are known. */
platelag_status plag_effort_find(plag_model *model, platelag_error *error);

/* 4 held.c: held intervals and at-stop samples, given the response; mode, fit->held, profile. */
platelag_status plag_held_find(plag_model *model, platelag_error *error);

/* 5 friction.c: stick band and slip jump, with the response's lag; score friction. */
platelag_status plag_friction_fit(plag_model *model, platelag_error *error);

/* 6 travel.c, loop.c, warm_up.c, auxiliary.c: what remains. Where the plates rest depends on the
 * lag, and is measured again with a better one. */
platelag_status plag_travel_measure(plag_model *model, platelag_error *error);
platelag_status plag_travel_measure_rests(plag_model *model, platelag_error *error);
platelag_status plag_loop_look(plag_model *model, platelag_error *error);
platelag_status plag_warm_up_compare(plag_model *model, platelag_error *error);
platelag_status plag_auxiliary_compare(plag_model *model, platelag_error *error);

/* Scratch of `count` elements of `size` bytes that stands until the fit is done; NULL without
 * memory. */
void *plag_workspace_take(platelag_workspace *workspace, size_t count, size_t size);

/* The travel that the command asks for in the end (the fit's map); NaN while it is unknown. */
double plag_model_target_pct(const platelag_fit *fit, const platelag_trace *trace, double command);

#endif
