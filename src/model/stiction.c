/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/stiction.h"

#include <math.h>

#include "model/course.h"

#define WIGGLE_PCT   0.45 /* a smaller turn of the target is no reversal (one step of 8 bits) */
#define FREEDOM      4.0  /* of the Student t */
#define LEAST_FACTOR 0.6  /* how far the element's scale may be from the map's */
#define MOST_FACTOR  1.6

void plag_stiction_start(plag_stiction_state *state, double output_pct, double target_pct,
                         int direction, double now_s) {
  *state = (plag_stiction_state){.output_pct = output_pct,
                                 .direction = direction,
                                 .target_pct = target_pct,
                                 .extreme_pct = target_pct,
                                 .changed_s = now_s,
                                 .least_released_pct = INFINITY};
}

/* Of a pull that could let plates go or turn them; what moves goes on without. */
static void note_pull(plag_stiction_state *state, double pull, double leave) {
  const double size = fabs(pull);
  if (pull * state->direction > 0.0)
    return;
  if (size > leave)
    state->least_released_pct = fmin(state->least_released_pct, size);
  else
    state->most_withstood_pct = fmax(state->most_withstood_pct, size);
}

void plag_stiction_feed(plag_stiction_state *state, const plag_stiction *element, double target_pct,
                        double now_s) {
  const double leave = 0.5 * (element->stick_band_pct + element->slip_jump_pct) + 1e-9;
  const double behind = 0.5 * (element->stick_band_pct - element->slip_jump_pct);
  const double turned = (target_pct - state->extreme_pct) * state->direction;
  if (element->always_stops || now_s - state->changed_s > element->rest_s || turned < -WIGGLE_PCT)
    state->direction = 0;
  if (turned > 0.0 || state->direction == 0)
    state->extreme_pct = target_pct;
  state->target_pct = target_pct;
  state->changed_s = now_s;
  const double pull = target_pct - state->output_pct;
  note_pull(state, pull, leave);
  if (fabs(pull) > leave) {
    state->direction = pull > 0.0 ? 1 : -1;
    state->extreme_pct = target_pct;
    state->output_pct = target_pct - state->direction * behind;
  } else if (state->direction != 0 && (pull - state->direction * behind) * state->direction > 0.0) {
    state->output_pct = target_pct - state->direction * behind;
  }
}

void plag_stiction_order(plag_stiction_record *record) {
  record->edition++;
  for (size_t s = 0; s < record->stretch_count; s++) {
    const plag_stretch *stretch = &record->stretch[s];
    plag_moment *out = record->moment + stretch->first_sample + stretch->first_event;
    const size_t last_event = stretch->first_event + stretch->event_count;
    const size_t last_sample = stretch->first_sample + stretch->sample_count;
    size_t event = stretch->first_event;
    size_t sample = stretch->first_sample;
    double before_s = record->time_s[sample];
    plag_decay open = {.tau_s = record->tau_open_s, .dt_s = -1.0};
    plag_decay close = {.tau_s = record->tau_close_s, .dt_s = -1.0};
    while (event < last_event || sample < last_sample) {
      const bool is_event = sample >= last_sample ||
                            (event < last_event && record->event_s[event] + record->dead_time_s <=
                                                       record->time_s[sample]);
      const double at_s =
          is_event ? record->event_s[event] + record->dead_time_s : record->time_s[sample];
      const double dt_s = fmax(at_s - before_s, 0.0);
      *out++ = (plag_moment){.at_s = at_s,
                             .fade_open = plag_decay_over(&open, dt_s),
                             .fade_close = plag_decay_over(&close, dt_s),
                             .index = (uint32_t)(is_event ? event++ : sample++),
                             .is_event = is_event};
      before_s = at_s;
    }
  }
}

static void simulate(const plag_stiction_record *record, const plag_stretch *stretch,
                     const plag_stiction *element, plag_stiction_score *score) {
  const plag_moment *moment = record->moment + stretch->first_sample + stretch->first_event;
  const plag_moment *end = moment + stretch->sample_count + stretch->event_count;
  double position_pct = record->travel_pct[stretch->first_sample];
  double before_pct = position_pct;
  const double start_s = record->time_s[stretch->first_sample];
  double target_pct = stretch->target_at_start_pct;
  for (; moment->is_event && moment->at_s <= start_s; moment++) /* felt before the first reading */
    target_pct = record->event_pct[moment->index];
  plag_stiction_state state;
  plag_stiction_start(&state, position_pct, target_pct, stretch->direction_at_start, start_s);
  plag_stiction_feed(&state, element, target_pct, start_s);
  for (; moment < end; moment++) {
    const double way = position_pct - state.output_pct;
    position_pct = state.output_pct + way * (way < 0.0 ? moment->fade_open : moment->fade_close);
    if (moment->is_event) {
      plag_stiction_feed(&state, element, record->event_pct[moment->index], moment->at_s);
      continue;
    }
    const double moved = record->timing_share * (position_pct - before_pct);
    record->predicted_pct[moment->index] = position_pct;
    record->spread_pct2[moment->index] = moved * moved;
    before_pct = position_pct;
  }
  score->most_withstood_pct = fmax(score->most_withstood_pct, state.most_withstood_pct);
  score->least_released_pct = fmin(score->least_released_pct, state.least_released_pct);
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
  plag_stiction_score score = {.factor = 1.0, .least_released_pct = INFINITY};
  for (size_t s = 0; s < record->stretch_count; s++)
    simulate(record, &record->stretch[s], element, &score);
  fit_line(record, noise_pct, &score);
  score.cost = cost_of(record, noise_pct, &score);
  return score;
}
