/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cutting a trace into the compact record that the stiction element is tried on. */
#ifndef PLAG_MODEL_FRICTION_RECORD_H
#define PLAG_MODEL_FRICTION_RECORD_H

#include "model/course.h"
#include "model/stiction.h"

/* Fewer steps than this do not show the lag apart from friction. */
#define PLAG_STEPS_FOR_LAG 3

/* How a command becomes the target the element works on. */
typedef enum plag_friction_map {
  PLAG_FRICTION_MAP_FITTED,   /* the response's map, which hysteresis may have flattened */
  PLAG_FRICTION_MAP_STRAIGHT, /* the command's span is the travel's, a straight line */
  PLAG_FRICTION_MAP_EQUAL,    /* % of command are % of travel */
  PLAG_FRICTION_MAPS
} plag_friction_map;

/* At most some thousand samples of the trace: where it is longer, four stretches spread over it.
 * Samples long after the last change tell nothing new and are thinned. */
platelag_status plag_friction_record_build(plag_model *model, plag_stiction_record *record,
                                           platelag_error *error);

/* Fills the targets through one map or the other. */
void plag_friction_record_map(const plag_model *model, plag_stiction_record *record,
                              plag_friction_map map);

/* Takes another lag in place of the response's. */
void plag_friction_record_lag(plag_stiction_record *record, plag_lag_point lag);

#endif
