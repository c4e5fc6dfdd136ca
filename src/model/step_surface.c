/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/step_surface.h"

#define DEEP          13.0 /* natural log below the best that is still on the grid */
#define LEAST_NOISIER 0.1
#define MOST_NOISIER  100.0

void plag_step_surface_tabulate(const plag_windows *windows, const plag_onset_view *view,
                                size_t most, plag_step_surface *s) {
  for (int way = 0; way < 2; way++) {
    for (size_t j = 0; j < PLAG_STEP_TAUS; j++)
      for (size_t i = 0; i < PLAG_ONSET_DELAYS; i++)
        s->value[way][j][i] = 0.0;
    if (s->windows_of[way] == 0)
      continue;
    const size_t stride = plag_step_stride(s, way, most);
    size_t seen = 0;
    for (size_t k = 0; k < windows->count; k++) {
      if (windows->window[k].opening != (way == 1) || seen++ % stride != 0)
        continue;
      plag_onset_sums sums;
      plag_onset_sum_up(windows, k, &sums);
      for (size_t j = 0; j < PLAG_STEP_TAUS; j++)
        plag_onset_add(windows, k, &sums, plag_step_tau_at(s, way, j), &s->delays, view,
                       s->value[way][j]);
    }
  }
}

static double best_over_tau(const plag_step_surface *s, int way, size_t delay, size_t *at) {
  double best = -INFINITY;
  for (size_t j = 0; j < PLAG_STEP_TAUS; j++)
    if (s->value[way][j][delay] > best) {
      best = s->value[way][j][delay];
      *at = j;
    }
  return best;
}

void plag_step_surface_find_best(plag_step_surface *s) {
  s->best = -INFINITY;
  for (size_t i = 0; i < s->delays.count; i++) {
    size_t at[2] = {0, 0};
    const double value = best_over_tau(s, 0, i, &at[0]) + best_over_tau(s, 1, i, &at[1]);
    if (value > s->best) {
      s->best = value;
      s->best_delay = i;
      s->best_tau[0] = at[0];
      s->best_tau[1] = at[1];
    }
  }
}

/* New ends of an axis of `count` points: one point beyond what is above `deep`, half the old length
 * further out where that touches an end, never beyond the bounds. */
static void zoom_axis(const double *profile, size_t count, double deep, double least, double most,
                      double *first, double *step, size_t new_count) {
  size_t low = count;
  size_t high = 0;
  for (size_t i = 0; i < count; i++)
    if (profile[i] > deep) {
      low = i < low ? i : low;
      high = i;
    }
  const double beyond = 0.5 * (double)count;
  const double from = *first + *step * (low == 0 ? -beyond : (double)low - 1.0);
  const double to =
      *first + *step * (high + 1 >= count ? (double)high + beyond : (double)high + 1.0);
  const double new_first = fmax(from, least);
  const double new_last = fmax(fmin(to, most), new_first + 1e-6);
  *first = new_first;
  *step = (new_last - new_first) / (double)(new_count - 1);
}

/* `noisier`: times the variance that the surface was made with, which makes it so much flatter. */
void plag_step_surface_zoom(plag_step_surface *s, const plag_step_bounds *b, double noisier) {
  const double deep = s->best - DEEP * fmin(fmax(noisier, LEAST_NOISIER), MOST_NOISIER);
  double profile[PLAG_ONSET_DELAYS];
  double delay_profile[PLAG_ONSET_DELAYS];
  const plag_delays old = s->delays;
  for (size_t i = 0; i < old.count; i++) {
    size_t at;
    delay_profile[i] = best_over_tau(s, 0, i, &at) + best_over_tau(s, 1, i, &at);
  }
  for (int way = 0; way < 2; way++) {
    if (s->windows_of[way] == 0)
      continue;
    for (size_t j = 0; j < PLAG_STEP_TAUS; j++) {
      profile[j] = -INFINITY;
      for (size_t i = 0; i < old.count; i++) {
        size_t at;
        profile[j] = fmax(profile[j], s->value[way][j][i] + best_over_tau(s, 1 - way, i, &at));
      }
    }
    zoom_axis(profile, PLAG_STEP_TAUS, deep, log(PLAG_TAU_LEAST_S), log(b->tau_most_s[way]),
              &s->log_tau_first[way], &s->log_tau_step[way], PLAG_STEP_TAUS);
  }
  zoom_axis(delay_profile, old.count, deep, b->delay_least_s, b->delay_most_s, &s->delays.first_s,
            &s->delays.step_s, PLAG_ONSET_DELAYS);
  s->delays.count = PLAG_ONSET_DELAYS;
}
