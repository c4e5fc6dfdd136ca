/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stick band and slip jump: the stiction element (stiction.h) in front of the lag, by likelihood,
 * beside free plates. An on/off command cannot show the band but only bracket it (largest reversal
 * that moved nothing, smallest that moved). */
#include <math.h>

#include "core/error.h"
#include "model/friction_report.h"
#include "model/held.h"
#include "model/workspace.h"

#define P               PLAG_FRICTION_PARAMETERS
#define LEAST_SAMPLES   40
#define LEAST_REVERSALS 2
#define LEAST_STEPS     3   /* each way */
#define LEAST_STEP_PCT  5.0 /* of travel */
#define LEAST_NOISE_PCT 0.02
#define ROW_SHARE       0.6  /* of what a ramp goes in a row */
#define LEAST_GAIN      4.0  /* of log likelihood: less is no friction */
#define SURE_GAIN       25.0 /* less may be what the command did between rows */
#define SURE_GAIN_RAMPS 60.0
#define LAG_TOLERANCE   0.2

static const platelag_estimate nothing = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};

static void set_prior(plag_friction_prior *prior, int index, double mean, double sd) {
  prior->mean[index] = mean;
  prior->sd[index] = sd;
}

/* Sd of a log, from a 90 % interval of the value. */
static double log_sd(const platelag_estimate *estimate) {
  if (estimate->known != PLATELAG_KNOWN_VALUE || !(estimate->low > 0.0))
    return 0.7;
  return fmin(fmax(log(estimate->high / estimate->low) / 3.29, 0.15), 0.7);
}

/* Steps that settled each way are what shows the lag apart from friction. */
static bool lag_is_open(const platelag_fit *fit) {
  size_t settled[2] = {0, 0};
  for (size_t k = 0; k < fit->step_count; k++) {
    const platelag_step *step = &fit->step[k];
    const double way = step->to_pct - step->from_pct;
    if (step->end == PLATELAG_STEP_SETTLED && fabs(way) > LEAST_STEP_PCT)
      settled[way > 0.0]++;
  }
  return settled[0] < LEAST_STEPS || settled[1] < LEAST_STEPS;
}

/* The response's lag stands where steps show it; what friction did to it is little. */
static plag_friction_prior prior_of(const plag_model *model, bool is_open) {
  const platelag_lag *lag = &model->fit->lag;
  const plag_lag_point point = plag_lag_point_of(model->fit);
  plag_friction_prior prior;
  set_prior(&prior, PLAG_BY_BEHIND, 0.0, 100.0);
  set_prior(&prior, PLAG_BY_OFFSET, 0.0, 50.0);
  set_prior(&prior, PLAG_BY_FACTOR, 1.0, 1.0);
  if (is_open) {
    set_prior(&prior, PLAG_BY_DEAD_TIME, 0.0, 0.5);
    set_prior(&prior, PLAG_BY_LOG_TAU_OPEN, log(0.1), 3.0);
    set_prior(&prior, PLAG_BY_LOG_TAU_CLOSE, log(0.1), 3.0);
    return prior;
  }
  const double dead_sd = lag->dead_time_s.known == PLATELAG_KNOWN_VALUE
                             ? (lag->dead_time_s.high - lag->dead_time_s.low) / 3.29
                             : 0.1;
  const double row_s = model->trace->row_period_s;
  set_prior(&prior, PLAG_BY_DEAD_TIME, point.dead_time_s, fmin(fmax(dead_sd, 0.1 * row_s), 0.1));
  set_prior(&prior, PLAG_BY_LOG_TAU_OPEN, log(point.tau_open_s), log_sd(&lag->opening_tau_s));
  set_prior(&prior, PLAG_BY_LOG_TAU_CLOSE, log(point.tau_close_s), log_sd(&lag->closing_tau_s));
  return prior;
}

/* The score on the scale of the free response's: what the element gains on the compact record,
 * carried over to the samples that the other descriptions were scored on. */
static void score_beside_free(plag_model *model, double samples, double gain, double as_one) {
  const platelag_score *free = &model->fit->free;
  platelag_score *score = &model->fit->friction_score;
  *score = *free;
  if (free->convergence != PLATELAG_CONVERGED || !(free->samples > 0.0))
    return;
  const double effective = fmax(samples / as_one, 1.0);
  score->parameters = free->parameters + 2;
  score->log_likelihood = free->log_likelihood + gain / as_one * free->samples / effective;
  score->rms_pct = free->rms_pct * exp(-gain / as_one / effective);
}

static void forget_lag(platelag_lag *lag) {
  lag->dead_time_s = lag->opening_t63_s = lag->closing_t63_s = nothing;
  lag->opening_tau_s = lag->closing_tau_s = lag->rate_pct_per_s = nothing;
  lag->apart = false;
}

static bool agrees(const platelag_estimate *estimate, double value) {
  return estimate->known == PLATELAG_KNOWN_NOTHING ||
         (value >= (1.0 - LAG_TOLERANCE) * estimate->low &&
          value <= (1.0 + LAG_TOLERANCE) * estimate->high);
}

/* Whether the response's lag is also that of plates with friction. */
static bool same_lag(const platelag_lag *response, const plag_lag_point *lag) {
  return agrees(&response->opening_t63_s, lag->dead_time_s + lag->tau_open_s) &&
         agrees(&response->closing_t63_s, lag->dead_time_s + lag->tau_close_s);
}

/* Whether the band can be told from nothing. On ramps alone one no wider than the command goes in
 * part of a row is lag as well. */
static bool is_resolved(const plag_friction_search *s, const plag_friction_place *best,
                        double gain) {
  const plag_stiction *element = &best->plates.element;
  if (!s->lag_is_open)
    return gain >= SURE_GAIN;
  return gain >= SURE_GAIN_RAMPS &&
         element->leave_pct + element->behind_pct >= ROW_SHARE * s->record->ramp_pct;
}

static void estimate(plag_friction_search *s) {
  const plag_friction_place none = plag_friction_find_free(s);
  const plag_friction_place best = plag_friction_find(s, &none);
  plag_friction_normal n;
  plag_friction_normal_of(s, &best, PLAG_REFINE_ALL, &n);
  const double as_one = plag_friction_samples_as_one(&n);
  const double gain = none.cost - best.cost;
  if (gain < LEAST_GAIN * as_one) {
    s->noise_pct = none.noise_pct;
    plag_friction_record_map(s->model, s->record, none.map);
    plag_friction_report_limit(s, &none, as_one);
  } else {
    const bool resolved = is_resolved(s, &best, gain / as_one);
    plag_friction_report_values(s, &best, &n, as_one, resolved);
    if (resolved && s->lag_is_open && !same_lag(&s->model->fit->lag, &best.plates.lag))
      forget_lag(&s->model->fit->lag); /* it was friction */
  }
  score_beside_free(s->model, (double)s->record->sample_count, fmax(gain, 0.0), as_one);
}

/* Plates that never leave the place they stand at show no pull that lets go. */
static bool ever_moved(const plag_model *model) {
  const platelag_travel *travel = &model->fit->travel;
  return travel->highest_pct - travel->lowest_pct > 2.0 * plag_held_band_pct(model);
}

static platelag_status search_friction(plag_model *model, platelag_error *error) {
  plag_friction_record record;
  plag_friction_search s = {
      .model = model,
      .record = &record,
      .least_noise_pct = fmax(model->noise_pct, LEAST_NOISE_PCT),
      .most_pull_pct = fmax(model->fit->coverage.position_span_pct, 1.0),
      .lag_is_open = lag_is_open(model->fit),
  };
  s.prior = prior_of(model, s.lag_is_open);
  const platelag_status status = plag_friction_record_build(model, &record, error);
  if (status != PLATELAG_OK || record.sample_count < LEAST_SAMPLES)
    return status;
  plag_friction_find_stops(&s);
  if (!plag_friction_walk_take(model, record.sample_count, &s.walk) ||
      !plag_friction_walk_take(model, record.sample_count, &s.other))
    return plag_error_memory(error, "the friction of a trace");
  estimate(&s);
  return PLATELAG_OK;
}

platelag_status plag_friction_fit(plag_model *model, platelag_error *error) {
  platelag_fit *fit = model->fit;
  fit->friction = (platelag_friction){
      .stick_band_pct = nothing,
      .slip_jump_pct = nothing,
      .moving_pct = nothing,
      .reversals = fit->coverage.openings + fit->coverage.closings,
  };
  fit->friction_score = fit->free;
  if (model->trace->command_kind == PLATELAG_COMMAND_ABSENT || fit->loop.closed ||
      model->valid_count < LEAST_SAMPLES || fit->friction.reversals < LEAST_REVERSALS ||
      !ever_moved(model))
    return PLATELAG_OK;
  if (model->trace->command_kind == PLATELAG_COMMAND_TWO_LEVEL) {
    plag_friction_report_bracket(model);
    return PLATELAG_OK;
  }
  const size_t mark = plag_workspace_mark(model->workspace);
  const platelag_status status = search_friction(model, error);
  plag_workspace_release(model->workspace, mark);
  return status;
}
