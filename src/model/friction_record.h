/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A trace cut into compact arrays on which friction is tried many times: samples and changes of the
 * command of a few stretches. Everything lies in the workspace. */
#ifndef PLAG_MODEL_FRICTION_RECORD_H
#define PLAG_MODEL_FRICTION_RECORD_H

#include "model/course.h"

/* Fewer steps than this do not show the lag apart from friction. */
#define PLAG_STEPS_FOR_LAG 3

/* How a command becomes the target the element works on. */
typedef enum plag_friction_map {
  PLAG_FRICTION_MAP_LINE,   /* a straight line, which does not end at the stops: a drive against a
                               spring pulls on there */
  PLAG_FRICTION_MAP_FITTED, /* the response's map, which hysteresis may have flattened */
  PLAG_FRICTION_MAP_EQUAL   /* % of command are % of travel */
} plag_friction_map;

typedef struct plag_friction_stretch {
  size_t first_sample, sample_count; /* into the arrays below */
  size_t first_event, event_count;
  double command_at_start, target_at_start_pct; /* before any of its events */
  double travel_at_start_pct;
  int direction_at_start; /* in which the plates were moving; 0 for none */
} plag_friction_stretch;

/* One event or sample in order of time; its fades are exp(-dt/tau) since the moment before. */
typedef struct plag_moment {
  double at_s, dt_s, fade_open, fade_close;
  uint32_t index; /* into samples or events */
  bool is_event;
} plag_moment;

typedef struct plag_friction_record {
  size_t sample_count, event_count, stretch_count;
  double *time_s, *travel_pct; /* valid samples */
  /* Changes of the target: when (felt a dead time later), how long the moment is open, what to. */
  double *event_s, *event_open_s, *event_command, *event_pct;
  plag_friction_stretch *stretch;
  plag_moment *moment;   /* of all stretches, event_count + sample_count */
  plag_lag_point lag;    /* that the moments are in order for */
  double ramp_pct;       /* what a ramp of the command goes in a row, of travel, rms; 0: no ramps */
  double ramp_pct_per_s; /* its speed, mean */
} plag_friction_record;

/* At most some thousand samples of the trace: where it is longer, four stretches spread over it.
 * Samples long after the last change tell nothing new and are thinned. A change that goes on over
 * rows is cut into small ones. The lag is the response's, or a usual one where too few steps show
 * it. */
platelag_status plag_friction_record_build(plag_model *model, plag_friction_record *record,
                                           platelag_error *error);

/* Fills the targets through one map or the other. */
void plag_friction_record_map(const plag_model *model, plag_friction_record *record,
                              plag_friction_map map);

/* A record's first `samples`, with the targets it has now; it lends what it can of the whole. False
 * without memory. */
bool plag_friction_record_head(plag_model *model, const plag_friction_record *record,
                               size_t samples, plag_friction_record *head);

/* Puts samples and events of each stretch in order for a lag. */
void plag_friction_record_order(plag_friction_record *record, plag_lag_point lag);

/* The first moment of a stretch that is not felt before its first reading; `*map_pct` is the target
 * by then, through the map. */
static inline const plag_moment *plag_friction_first_moment(const plag_friction_record *record,
                                                            const plag_friction_stretch *stretch,
                                                            double *map_pct) {
  const plag_moment *moment = record->moment + stretch->first_sample + stretch->first_event;
  const double start_s = record->time_s[stretch->first_sample];
  *map_pct = stretch->target_at_start_pct;
  for (; moment->is_event && moment->at_s <= start_s; moment++)
    *map_pct = record->event_pct[moment->index];
  return moment;
}

/* Behind its last one. */
static inline const plag_moment *plag_friction_end_moment(const plag_friction_record *record,
                                                          const plag_friction_stretch *stretch) {
  return record->moment + stretch->first_sample + stretch->first_event + stretch->sample_count +
         stretch->event_count;
}

#endif
