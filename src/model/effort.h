/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The effort: the duty by which a controller moves the plates until the position fits. What it
 * takes to hold plates at a place against the spring is a line over the place; what the duty has
 * beyond it pulls at them. */
#ifndef PLAG_MODEL_EFFORT_H
#define PLAG_MODEL_EFFORT_H

#include "model/parts.h"

/* duty = at_closed + per_pct * travel, for plates that stand without friction. */
struct plag_effort {
  const platelag_channel *duty;
  bool known; /* false where the duty holds no place: no spring, or too little seen */
  double at_closed, per_pct;
  double stray_pct; /* 95 % of the readings of standing plates lie no further off the line */
  /* plates that let go under a duty that crept up (effort_slips.c); pulls in % of travel */
  size_t slips;
  double withstood_pct; /* before, median */
  double left_pct;      /* the same way, when they stopped again, median */
  double scatter_pct;   /* sd of one slip's sum of both */
};

/* The duty at a time: the channel's last sample; NaN before the first. `*cursor` is 0 at first;
 * times must not fall from call to call. */
double plag_effort_duty_at(const plag_effort *effort, size_t *cursor, int64_t at_ns);

/* Where that duty would hold plates without friction, % of travel; NaN when unknown. */
double plag_effort_asked_pct(const plag_effort *effort, double duty);

/* effort_slips.c: watches slips of a known effort, and moves its line so that what was withstood
 * one way and the other is alike. */
platelag_status plag_effort_watch_slips(const plag_model *model, plag_effort *effort,
                                        platelag_error *error);

#endif
