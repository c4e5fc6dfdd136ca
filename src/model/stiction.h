/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two-parameter stiction element in front of dead time and lag, and how well it explains a
 * record.
 *
 * One memoryless rule reproduces the published models (Choudhury, Thornhill, Shah, Control Eng.
 * Practice 13 (2005) 641-658; Kano et al., DYCOPS 2004; He, Wang, Pottmann, Qin, Ind. Eng. Chem.
 * Res. 46 (2007) 4549): stopped plates leave when |r - x| exceeds fS and land d fD behind the
 * target, d the direction; moving plates stay d fD behind it. fS = (S + J) / 2, fD = (S - J) / 2.
 * The models differ in what counts as a stop; see plag_stiction.always_stops. */
#ifndef PLAG_MODEL_STICTION_H
#define PLAG_MODEL_STICTION_H

#include "model/parts.h"

typedef struct plag_stiction {
  double stick_band_pct; /* S */
  double slip_jump_pct;  /* J */
  bool always_stops;     /* after each change (He, Stenman); else on reversal or after rest_s */
  double rest_s;         /* a target that stood this long has let the plates stop */
} plag_stiction;

/* The element's state; `output_pct` is where it puts the plates. */
typedef struct plag_stiction_state {
  double output_pct;
  int direction; /* 0 stopped */
  double target_pct, extreme_pct;
  double changed_s;
  double most_withstood_pct, least_released_pct; /* pulls on stopped plates */
} plag_stiction_state;

void plag_stiction_start(plag_stiction_state *state, double output_pct, double target_pct,
                         int direction, double now_s);
void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s);

/* A record cut into compact arrays for many simulations: samples and target changes of a few
 * stretches. Everything lies in the workspace. */
typedef struct plag_stretch {
  size_t first_sample, sample_count; /* into the arrays below */
  size_t first_event, event_count;
  double command_at_start, target_at_start_pct; /* before any of its events */
  int direction_at_start;                       /* in which the plates were moving; 0 for none */
} plag_stretch;

/* One event or sample in order of time; its fades are exp(-dt/tau) since the moment before. */
typedef struct plag_moment {
  double at_s, fade_open, fade_close;
  uint32_t index; /* into samples or events */
  bool is_event;
} plag_moment;

typedef struct plag_stiction_record {
  size_t sample_count, event_count, stretch_count;
  double *time_s, *travel_pct; /* valid samples */
  double *event_s;             /* target changes; felt dead_time_s later */
  double *event_command, *event_pct;
  plag_stretch *stretch;
  plag_moment *moment; /* of all stretches, event_count + sample_count */
  double dead_time_s, tau_open_s, tau_close_s;
  double timing_share; /* of one sample's movement that the change's unknown moment may shift */
  double *predicted_pct, *spread_pct2; /* scratch: prediction, variance by timing */
  uint32_t edition;                    /* another one whenever targets or lag are others */
} plag_stiction_record;

/* Puts samples and events of each stretch in order, once for all simulations. */
void plag_stiction_order(plag_stiction_record *record);

/* How well an element explains the record. */
typedef struct plag_stiction_score {
  double cost;           /* minus log likelihood, up to a constant */
  double offset, factor; /* travel = offset + factor * prediction */
  /* Pulls at the changes: every element that lets go between these two, and is the same otherwise,
   * does the same. */
  double most_withstood_pct, least_released_pct;
} plag_stiction_score;

/* Simulates and scores; `noise_pct` is the sd of what neither model nor timing explains. The
 * likelihood is a Student t with 4 degrees of freedom, so that strays do not rule. */
plag_stiction_score plag_stiction_try(const plag_stiction_record *record,
                                      const plag_stiction *element, double noise_pct);

/* Residual (read - explained) of one sample after plag_stiction_try. */
static inline double plag_stiction_residual(const plag_stiction_record *record,
                                            const plag_stiction_score *score, size_t sample) {
  return record->travel_pct[sample] - score->offset - score->factor * record->predicted_pct[sample];
}

#endif
