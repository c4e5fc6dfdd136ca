/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/stiction.h"

#include <math.h>

#include "model/course.h"

#define WIGGLE_PCT   0.45 /* a smaller turn of the target is no reversal (one step of 8 bits) */
#define FREEDOM      4.0  /* of the Student t */
#define LEAST_FACTOR 0.6  /* how far the element's scale may be from the map's */
#define MOST_FACTOR  1.6

void plag_stiction_start(plag_stiction_state *state, double output_pct, double target_pct,
                         double now_s) {
  *state = (plag_stiction_state){.output_pct = output_pct,
                                 .target_pct = target_pct,
                                 .extreme_pct = target_pct,
                                 .changed_s = now_s};
}

void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s) {
  const double leave = 0.5 * (element->stick_band_pct + element->slip_jump_pct);
  const double behind = 0.5 * (element->stick_band_pct - element->slip_jump_pct);
  const double turned = (target_pct - state->extreme_pct) * state->direction;
  if (element->always_stops || now_s - state->changed_s > element->rest_s || turned < -WIGGLE_PCT)
    state->direction = 0;
  if (turned > 0.0 || state->direction == 0)
    state->extreme_pct = target_pct;
  state->target_pct = target_pct;
  state->changed_s = now_s;
  const double pull = target_pct - state->output_pct;
  if (fabs(pull) > leave + 1e-9) {
    state->direction = pull > 0.0 ? 1 : -1;
    state->extreme_pct = target_pct;
    state->output_pct = target_pct - state->direction * behind;
  } else if (state->direction != 0 && (pull - state->direction * behind) * state->direction > 0.0) {
    state->output_pct = target_pct - state->direction * behind;
  }
}

typedef struct lagged {
  double position_pct, at_s;
  plag_decay open, close;
} lagged;

static void glide(lagged *plates, double target_pct, double until_s) {
  plag_decay *decay = target_pct > plates->position_pct ? &plates->open : &plates->close;
  const double factor = plag_decay_over(decay, until_s - plates->at_s);
  plates->position_pct = target_pct + (plates->position_pct - target_pct) * factor;
  plates->at_s = until_s;
}

static void simulate(const plag_stiction_record *record, const plag_stretch *stretch,
                     const plag_stiction *element) {
  const size_t last_event = stretch->first_event + stretch->event_count;
  const size_t end = stretch->first_sample + stretch->sample_count;
  size_t event = stretch->first_event;
  const double start_pct = record->travel_pct[stretch->first_sample];
  const double start_s = record->time_s[stretch->first_sample];
  plag_stiction_state state;
  plag_stiction_start(&state, start_pct, stretch->target_at_start_pct, start_s);
  plag_stiction_feed(&state, element, stretch->target_at_start_pct, start_s);
  lagged plates = {start_pct,
                   start_s,
                   {.tau_s = record->tau_open_s, .dt_s = -1.0},
                   {.tau_s = record->tau_close_s, .dt_s = -1.0}};
  double before_pct = start_pct;
  for (size_t i = stretch->first_sample; i < end; i++) {
    for (; event < last_event && record->event_s[event] <= record->time_s[i]; event++) {
      if (record->event_s[event] > plates.at_s)
        glide(&plates, state.output_pct, record->event_s[event]);
      plag_stiction_feed(&state, element, record->event_pct[event], record->event_s[event]);
    }
    if (record->time_s[i] > plates.at_s)
      glide(&plates, state.output_pct, record->time_s[i]);
    const double moved = record->timing_share * (plates.position_pct - before_pct);
    record->predicted_pct[i] = plates.position_pct;
    record->spread_pct2[i] = moved * moved;
    before_pct = plates.position_pct;
  }
}

/* Weighted straight line of readings over predictions; strays weigh less the further out. */
static void fit_line(const plag_stiction_record *record, double noise_pct,
                     plag_stiction_score *score) {
  for (int round = 0; round < 2; round++) {
    double w = 0, wx = 0, wy = 0, wxx = 0, wxy = 0;
    for (size_t i = 0; i < record->sample_count; i++) {
      const double x = record->predicted_pct[i];
      const double y = record->travel_pct[i];
      const double variance = noise_pct * noise_pct + record->spread_pct2[i];
      const double r = plag_stiction_residual(record, score, i);
      const double weight = 1.0 / (variance + r * r / FREEDOM);
      w += weight;
      wx += weight * x;
      wy += weight * y;
      wxx += weight * x * x;
      wxy += weight * x * y;
    }
    const double spread = wxx - wx * wx / w;
    double factor = spread > 1e-9 * wxx ? (wxy - wx * wy / w) / spread : 1.0;
    if (!(factor > LEAST_FACTOR && factor < MOST_FACTOR))
      factor = 1.0;
    score->factor = factor;
    score->offset = (wy - factor * wx) / w;
  }
}

/* Half the sum of ln(v (1 + r^2 / (4 v))^5): one logarithm for many samples. */
static double cost_of(const plag_stiction_record *record, double noise_pct,
                      const plag_stiction_score *score) {
  double sum = 0.0;
  double product = 1.0;
  for (size_t i = 0; i < record->sample_count; i++) {
    const double r = plag_stiction_residual(record, score, i);
    const double variance = noise_pct * noise_pct + record->spread_pct2[i];
    const double odd = 1.0 + r * r / (FREEDOM * variance);
    const double square = odd * odd;
    product *= square * square * odd * variance;
    if (product > 1e120 || product < 1e-120) {
      sum += log(product);
      product = 1.0;
    }
  }
  return 0.5 * (sum + log(product));
}

plag_stiction_score plag_stiction_try(const plag_stiction_record *record,
                                      const plag_stiction *element, double noise_pct) {
  for (size_t s = 0; s < record->stretch_count; s++)
    simulate(record, &record->stretch[s], element);
  plag_stiction_score score = {.offset = 0.0, .factor = 1.0};
  fit_line(record, noise_pct, &score);
  score.cost = cost_of(record, noise_pct, &score);
  return score;
}
