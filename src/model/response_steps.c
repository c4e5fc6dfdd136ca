/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dead time and tau from steps that stand alone. The log likelihood is tabulated over dead time and
 * log tau, each direction apart, and zoomed until a few grid steps span it; all that is reported is
 * integrated from these two tables (flat in dead time and log tau). */
#include <math.h>

#include "core/exponential.h"
#include "model/intervals.h"
#include "model/misfit.h"
#include "model/onset.h"
#include "model/response.h"
#include "model/step_surface.h"

#define STAGES         7
#define STEPS_FOR_ROWS 6                 /* that speak about command_on_rows */
#define ROWS_ODDS      6.0               /* natural log */
#define FINER          0.5               /* steps of a grid, at most, that is worth its making */
#define SETTLED        0.15              /* change of the noise's variance, at most */
#define TRIANGLE       2.449489742783178 /* half width of a triangle over its sd */
/* Least squares of d exp(-x), onset and tau free, against a constant: from the integrals of the
 * normal equations, exactly 4. */
#define LEVEL_LEVERAGE 4.0

static const size_t STEPS_AT_STAGE[STAGES] = {6, 8, 12, 20, 20, 20, 20};

/* Variance of a reading about the fitted steps, on the degrees of freedom that autocorrelated
 * residuals leave; at least that of settled readings. */
static double variance_of(const plag_windows *windows, const plag_step_surface *s, bool on_rows,
                          size_t most, double *readings) {
  double squares = 0.0;
  double products = 0.0;
  double count = 0.0;
  const double delay_s = plag_delay_at(&s->delays, s->best_delay);
  for (int way = 0; way < 2; way++) {
    const size_t stride = s->windows_of[way] > 0 ? plag_step_stride(s, way, most) : 1;
    size_t seen = 0;
    for (size_t k = 0; k < windows->count; k++) {
      if (windows->window[k].opening != (way == 1) || seen++ % stride != 0)
        continue;
      double residual[PLAG_WINDOW_POINTS];
      double onset_s;
      const size_t n = plag_onset_residuals(windows, k, plag_step_tau_at(s, way, s->best_tau[way]),
                                            delay_s, on_rows, residual, &onset_s);
      double own = 0.0;
      double own_products = 0.0;
      for (size_t i = 0; i < n; i++) {
        own += residual[i] * residual[i];
        own_products += i > 0 ? residual[i] * residual[i - 1] : 0.0;
      }
      /* A step that went astray is no noise. */
      const double most_squares = 60.0 * (double)n * windows->noise_pct * windows->noise_pct;
      const double share = own > most_squares ? most_squares / own : 1.0;
      squares += own * share;
      products += own_products * share;
      count += (double)n;
    }
  }
  const double least = windows->noise_pct * windows->noise_pct;
  const double free_count = fmax(count - 4.0, 1.0);
  const double correlation = squares > 0.0 ? fmin(fmax(products / squares, 0.0), 0.9) : 0.0;
  const double spoilt = correlation > 0.15 ? (1.0 + correlation) / (1.0 - correlation) : 1.0;
  *readings = count / spoilt;
  return fmax(squares / free_count, least * count / free_count) * spoilt;
}

static double log_sum(const double *value, size_t count, size_t stride) {
  double most = -INFINITY;
  for (size_t i = 0; i < count; i++)
    most = fmax(most, value[i * stride]);
  double sum = 0.0;
  for (size_t i = 0; i < count; i++)
    sum += exp(value[i * stride] - most);
  return most + log(fmax(sum, 1.0)); /* the greatest adds 1 */
}

/* Share of cells at the ends of an axis is half a cell: the trapezoid rule. */
static double end_weight(size_t index, size_t count) {
  return index == 0 || index + 1 == count ? 0.5 : 1.0;
}

typedef struct clouds {
  plag_cloud delay, tau, t63;
} clouds;

/* Integrates one direction; `log_mean` and `log_variance` are of log tau. */
static void gather(const plag_step_surface *s, int way, clouds *c, double *log_mean,
                   double *log_variance) {
  double other[PLAG_ONSET_DELAYS];
  const double first = plag_delay_at(&s->delays, 0);
  const double last = plag_delay_at(&s->delays, s->delays.count - 1);
  const double half_delay = 0.5 * s->delays.step_s;
  const double half_log = 0.5 * s->log_tau_step[way];
  const double most_tau = plag_step_tau_at(s, way, PLAG_STEP_TAUS - 1);
  plag_cloud_begin(&c->delay, first, last);
  plag_cloud_begin(&c->tau, plag_step_tau_at(s, way, 0), most_tau);
  plag_cloud_begin(&c->t63, first + plag_step_tau_at(s, way, 0), last + most_tau);
  for (size_t i = 0; i < s->delays.count; i++)
    other[i] = log_sum(&s->value[1 - way][0][i], PLAG_STEP_TAUS, PLAG_ONSET_DELAYS);
  double most = -INFINITY;
  for (size_t i = 0; i < s->delays.count; i++)
    for (size_t j = 0; j < PLAG_STEP_TAUS; j++)
      most = fmax(most, s->value[way][j][i] + other[i]);
  double sum = 0.0;
  double moment = 0.0;
  double square = 0.0;
  for (size_t i = 0; i < s->delays.count; i++)
    for (size_t j = 0; j < PLAG_STEP_TAUS; j++) {
      const double weight = plag_exp(s->value[way][j][i] + other[i] - most) *
                            end_weight(i, s->delays.count) * end_weight(j, PLAG_STEP_TAUS);
      if (weight < 1e-9)
        continue;
      const double tau_s = plag_step_tau_at(s, way, j);
      const double log_tau = log(tau_s);
      plag_cloud_add(&c->delay, plag_delay_at(&s->delays, i), half_delay, weight);
      plag_cloud_add(&c->tau, tau_s, tau_s * half_log, weight);
      plag_cloud_add(&c->t63, plag_delay_at(&s->delays, i) + tau_s,
                     hypot(half_delay, tau_s * half_log), weight);
      sum += weight;
      moment += weight * log_tau;
      square += weight * log_tau * log_tau;
    }
  *log_mean = moment / sum;
  *log_variance = fmax(square / sum - *log_mean * *log_mean, half_log * half_log / 3.0);
}

/* What the settled levels of one direction leave open, as a share of its steps: the noise of their
 * mean, and the offset that a converter without dither hides in all of them alike (rms q / sqrt(12)
 * less what dither of sd s takes away, exp(-2 pi^2 s^2 / q^2)). */
static double level_error_share(const plag_windows *windows, int way) {
  double readings = 0.0;
  double steps = 0.0;
  double move_pct = 0.0;
  for (size_t k = 0; k < windows->count; k++) {
    const plag_window *w = &windows->window[k];
    if (w->opening != (way == 1))
      continue;
    readings += w->after.count;
    move_pct += fabs(w->after.pct - w->before.pct);
    steps += 1.0;
  }
  const double noise2 = windows->noise_pct * windows->noise_pct;
  const double quantum2 = windows->quantum_pct * windows->quantum_pct;
  double hidden2 = 0.0;
  if (quantum2 > 0.0) {
    const double dither2 = fmax(noise2 - quantum2 / 12.0, 0.0);
    hidden2 = quantum2 / 12.0 * exp(-4.0 * M_PI * M_PI * dither2 / quantum2);
  }
  return sqrt(noise2 / readings + hidden2) / (move_pct / steps);
}

static void report(const platelag_trace *trace, const plag_windows *windows, plag_step_surface *s,
                   double readings, plag_response *out) {
  double log_mean[2] = {0.0, 0.0};
  double log_variance[2] = {1.0, 1.0};
  const double skew_s = plag_response_skew_s(trace);
  /* Below zero where the command was polled after the position inside a row. */
  const double delay_s = plag_delay_at(&s->delays, s->best_delay);
  out->dead_time_s = fmax(delay_s, 0.0);
  for (int way = 0; way < 2; way++) {
    if (s->windows_of[way] == 0)
      continue;
    clouds c;
    gather(s, way, &c, &log_mean[way], &log_variance[way]);
    out->tau_s[way] = plag_step_tau_at(s, way, s->best_tau[way]);
    /* A level off by a share of the step moves log tau by LEVEL_LEVERAGE of it. */
    const double share = level_error_share(windows, way);
    const double level_s = TRIANGLE * LEVEL_LEVERAGE * share * out->tau_s[way];
    plag_cloud_blur(&c.tau, level_s);
    /* What is read off plates that are not first order is as uncertain as half of it. */
    const plag_misfit misfit =
        plag_misfit_at_t63(windows, way == 1, out->tau_s[way], delay_s, out->on_rows);
    const double misfit_s = TRIANGLE * fmax(misfit.error_s, 0.25 * fabs(misfit.later_s));
    plag_cloud_shift(&c.t63, misfit.later_s);
    plag_cloud_blur(&c.t63, hypot(hypot(level_s, misfit_s), skew_s));
    plag_cloud_blur(&c.delay, hypot(TRIANGLE * share * out->tau_s[way], skew_s));
    log_variance[way] += LEVEL_LEVERAGE * share * LEVEL_LEVERAGE * share;
    const platelag_estimate tau = plag_estimate_value(&c.tau);
    out->tau[way] = plag_response_tau(&tau, plag_cloud_quantile(&c.tau, 0.90),
                                      trace->position_refresh_s, s->windows_of[way]);
    out->t63[way] = plag_response_delay(&c.t63);
    out->dead_time = plag_response_delay(&c.delay);
  }
  plag_response_tie(out, log_mean, log_variance, readings);
}

/* Whether changes happen exactly on the rows that show them: the brackets' scatter is not there.
 * Goes over to the dead times that belong to it if so. */
static bool is_on_rows(const plag_windows *windows, plag_onset_view view, size_t most,
                       plag_step_surface *s) {
  if (windows->count < STEPS_FOR_ROWS)
    return false;
  plag_step_surface exact = *s;
  const double last_s = plag_delay_at(&s->delays, s->delays.count - 1);
  exact.delays.first_s -= windows->window[0].width_s;
  exact.delays.step_s = (last_s - exact.delays.first_s) / (PLAG_ONSET_DELAYS - 1);
  view.on_rows = true;
  for (int pass = 0; pass < 2; pass++) {
    plag_step_surface_tabulate(windows, &view, most, &exact);
    plag_step_surface_find_best(&exact);
    if (exact.best > s->best + ROWS_ODDS) {
      *s = exact;
      return true;
    }
    exact.delays.first_s = plag_delay_at(&exact.delays, exact.best_delay) - exact.delays.step_s;
    exact.delays.step_s *= 2.0 / (PLAG_ONSET_DELAYS - 1);
  }
  return false;
}

static void begin(const platelag_trace *trace, const plag_windows *windows, plag_step_surface *s,
                  plag_step_bounds *b) {
  double longest_s = 0.0;
  double width_s = 0.0;
  for (size_t k = 0; k < windows->count; k++)
    width_s = fmax(width_s, windows->window[k].width_s);
  for (int way = 0; way < 2; way++) {
    if (s->windows_of[way] == 0) {
      s->log_tau_first[way] = log(PLAG_TAU_LEAST_S);
      s->log_tau_step[way] = 0.1;
      continue;
    }
    const double t63_s = fmax(plag_windows_t63_s(windows, way == 1), 0.0);
    longest_s = fmax(longest_s, t63_s);
    b->tau_most_s[way] = 1.5 * t63_s + width_s + 0.05;
    s->log_tau_first[way] = log(fmax(PLAG_TAU_LEAST_S, 0.02 * b->tau_most_s[way]));
    s->log_tau_step[way] = (log(b->tau_most_s[way]) - s->log_tau_first[way]) / (PLAG_STEP_TAUS - 1);
    b->tau_most_s[way] *= 2.0;
  }
  b->delay_least_s = -plag_response_skew_s(trace);
  b->delay_most_s = longest_s + width_s + 0.02;
  s->delays = (plag_delays){.first_s = b->delay_least_s, .count = PLAG_ONSET_DELAYS};
  s->delays.step_s = (b->delay_most_s - b->delay_least_s) / (PLAG_ONSET_DELAYS - 1);
}

static void count_windows(const plag_windows *windows, plag_step_surface *s) {
  s->windows_of[0] = s->windows_of[1] = 0;
  for (size_t k = 0; k < windows->count; k++)
    s->windows_of[windows->window[k].opening ? 1 : 0]++;
}

/* Puts right what follows from the response as it is known now: levels that were read before the
 * plates were there. False when no window stands any more. */
static bool settle(plag_windows *windows, plag_step_surface *s) {
  const double dead_time_s = plag_delay_at(&s->delays, s->best_delay);
  const double tau_close_s = plag_step_tau_at(s, 0, s->best_tau[0]);
  const double tau_open_s = plag_step_tau_at(s, 1, s->best_tau[1]);
  plag_windows_drop_unsettled(windows, dead_time_s, tau_open_s, tau_close_s);
  count_windows(windows, s);
  plag_windows_correct(windows, dead_time_s, tau_open_s, tau_close_s);
  return windows->count > 0;
}

void plag_response_from_steps(const platelag_trace *trace, plag_windows *windows,
                              plag_response *out) {
  plag_step_surface s = {0};
  plag_step_bounds b = {0};
  count_windows(windows, &s);
  if (windows->count == 0) {
    out->convergence = PLATELAG_NO_DATA;
    return;
  }
  begin(trace, windows, &s, &b);
  plag_onset_view view = {.variance_pct2 = windows->noise_pct * windows->noise_pct};
  double readings = 0.0;
  for (int stage = 0; stage < STAGES; stage++) {
    const size_t most = STEPS_AT_STAGE[stage];
    plag_step_surface_tabulate(windows, &view, most, &s);
    plag_step_surface_find_best(&s);
    if (stage == 1 && !settle(windows, &s)) {
      out->convergence = PLATELAG_NO_DATA;
      return;
    }
    if (stage == 2 && is_on_rows(windows, view, most, &s))
      view.on_rows = out->on_rows = true;
    const double last_variance = view.variance_pct2;
    if (stage >= 1)
      view.variance_pct2 = variance_of(windows, &s, view.on_rows, most, &readings);
    const double last_delay_step_s = s.delays.step_s;
    if (stage + 1 == STAGES)
      break;
    plag_step_surface zoomed = s;
    plag_step_surface_zoom(&zoomed, &b, view.variance_pct2 / last_variance);
    /* Enough: the next grid would be hardly finer, and the noise has settled. */
    if (stage >= 3 && zoomed.delays.step_s > FINER * last_delay_step_s &&
        fabs(view.variance_pct2 / last_variance - 1.0) < SETTLED)
      break;
    s = zoomed;
  }
  out->convergence = PLATELAG_CONVERGED;
  out->has[0] = s.windows_of[0] > 0;
  out->has[1] = s.windows_of[1] > 0;
  report(trace, windows, &s, readings, out);
}
