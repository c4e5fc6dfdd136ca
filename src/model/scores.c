/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How well each description explains the same samples: the plates never move, follow at once,
 * follow with dead time and first order, follow with dead time at a limited speed. Samples shortly
 * after a command change count less, by what the change's unknown moment may have moved them. */
#include <math.h>

#include "core/exponential.h"
#include "model/course.h"
#include "model/intervals.h"
#include "model/response.h"

#define MOST_RESIDUAL_PCT 100.0
#define RATES             5
#define RATE_RATIO        1.4
#define WORTH_A_LOOK      1.3 /* times the noise: below, first order leaves nothing to explain */
#define SLEW_ODDS         6.0 /* natural log, beyond the penalty */

typedef struct tally {
  double weight, squares, sum, count;
  double products, last; /* of successive residuals */
} tally;

static void add(tally *t, double residual_pct, double weight) {
  const double r = fmin(fmax(residual_pct, -MOST_RESIDUAL_PCT), MOST_RESIDUAL_PCT);
  t->weight += weight;
  t->squares += weight * r * r;
  t->sum += weight * r;
  t->count += 1.0;
  t->products += weight * r * t->last;
  t->last = r;
}

static double correlation_of(const tally *t) {
  return t->squares > 0.0 ? fmin(fmax(t->products / t->squares, 0.0), 0.98) : 0.0;
}

static double mean_squares(const tally *t, double least_pct) {
  return t->weight > 0.0 ? fmax(t->squares / t->weight, least_pct * least_pct) : NAN;
}

static platelag_score score_of(double squares, double effective, int parameters) {
  platelag_score score = {.parameters = parameters, .samples = effective};
  score.convergence =
      effective > parameters && isfinite(squares) ? PLATELAG_CONVERGED : PLATELAG_NO_DATA;
  score.rms_pct = sqrt(squares);
  score.log_likelihood = score.convergence == PLATELAG_CONVERGED
                             ? -0.5 * effective * (log(2.0 * M_PI * squares) + 1.0)
                             : NAN;
  return score;
}

static bool counts(const plag_model *model, size_t sample, bool without_held) {
  const platelag_mode mode = (platelag_mode)model->mode[sample];
  return !platelag_mode_is_void(mode) && !(without_held && mode == PLATELAG_MODE_HELD);
}

/* Variance that the unknown moment of command changes adds, as it dies away. */
typedef struct timing {
  double variance, target_pct;
} timing;

static double timing_variance(timing *t, const plag_course *course, double width_s) {
  const double tau_s =
      course->target_pct > course->free_pct ? course->lag.tau_open_s : course->lag.tau_close_s;
  if (course->first) {
    *t = (timing){0.0, course->target_pct};
    return 0.0;
  }
  t->variance *= plag_exp(-2.0 * course->dt_s / tau_s);
  const double step = course->target_pct - t->target_pct;
  if (step != 0.0) {
    const double slope = step * width_s / tau_s;
    t->variance += fmin(slope * slope / 12.0, 0.25 * step * step);
    t->target_pct = course->target_pct;
  }
  return t->variance;
}

static double bracket_s(const platelag_trace *trace, const platelag_fit *fit) {
  return fit->lag.command_on_rows ? 0.0 : fmax(trace->row_period_s, trace->command_refresh_s);
}

/* Fills constant, prompt, free. */
static double tally_plain(const plag_model *model, bool without_held, tally *constant,
                          tally *prompt, tally *free_course) {
  const double width_s = bracket_s(model->trace, model->fit);
  const double noise = model->noise_pct * model->noise_pct;
  double speed_pct = 0.0;
  double mean = NAN;
  timing t = {0};
  plag_course course;
  plag_course at_once;
  plag_course_begin(&course, model);
  plag_course_begin(&at_once, model);
  at_once.lag.dead_time_s = 0.0;
  while (plag_course_next(&course)) {
    (void)plag_course_next(&at_once);
    const double variance = timing_variance(&t, &course, width_s);
    if (!counts(model, course.sample, without_held))
      continue;
    const double weight = noise / (noise + (isfinite(variance) ? variance : 0.0));
    mean = isnan(mean) ? course.travel_pct : mean;
    add(constant, course.travel_pct - mean, weight);
    if (isnan(course.target_pct) || course.first)
      continue;
    add(prompt, course.travel_pct - at_once.target_pct, weight);
    add(free_course, course.travel_pct - course.free_pct, weight);
    speed_pct = fmax(speed_pct, fabs(course.last_move_pct));
  }
  /* About its own mean. */
  if (constant->weight > 0.0)
    constant->squares -= constant->sum * constant->sum / constant->weight;
  return speed_pct;
}

static double tally_slewing(const plag_model *model, bool without_held, double rate_pct_per_s,
                            double dead_time_s, tally *slewing) {
  const double width_s = bracket_s(model->trace, model->fit);
  const double noise = model->noise_pct * model->noise_pct;
  timing t = {0};
  double at_pct = 0.0;
  plag_course course;
  plag_course_begin(&course, model);
  course.lag.dead_time_s = fmax(dead_time_s, 0.0);
  while (plag_course_next(&course)) {
    const double variance = timing_variance(&t, &course, width_s);
    const double most = rate_pct_per_s * course.dt_s;
    at_pct = course.first ? course.travel_pct
                          : at_pct + fmin(fmax(course.target_pct - at_pct, -most), most);
    if (!course.first && isfinite(course.target_pct) && counts(model, course.sample, without_held))
      add(slewing, course.travel_pct - at_pct,
          noise / (noise + (isfinite(variance) ? variance : 0.0)));
  }
  return mean_squares(slewing, model->noise_pct);
}

/* With the dead time that puts half of the largest move where first order has it. */
static double squares_at_rate(const plag_model *model, bool without_held, double move_pct,
                              double rate_pct_per_s) {
  const plag_lag_point lag = plag_lag_point_of(model->fit);
  const double tau_s = 0.5 * (lag.tau_open_s + lag.tau_close_s);
  const double dead_time_s = lag.dead_time_s + 0.69 * tau_s - 0.5 * move_pct / rate_pct_per_s;
  tally slewing = {0};
  return tally_slewing(model, without_held, rate_pct_per_s, dead_time_s, &slewing);
}

/* The speed that does half of the largest move when first order does, and others about it. */
static void score_slewing(plag_model *model, bool without_held, double move_pct, double effective) {
  platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  const double tau_s = 0.5 * (lag.tau_open_s + lag.tau_close_s);
  const double guess = move_pct / (1.6 * tau_s);
  const bool look = fit->free.rms_pct > WORTH_A_LOOK * model->noise_pct;
  const int most = look ? RATES / 2 : 0;
  double best = squares_at_rate(model, without_held, move_pct, guess);
  double best_rate = guess;
  for (int way = -1; way <= 1; way += 2)
    for (int i = 1; i <= most; i++) { /* each way until it gets worse */
      const double rate = guess * pow(RATE_RATIO, way * i);
      const double squares = squares_at_rate(model, without_held, move_pct, rate);
      if (squares >= best)
        break;
      best = squares;
      best_rate = rate;
    }
  fit->slewing = score_of(best, effective, (int)fit->map_knots + 3);
  const double gain = fit->slewing.log_likelihood - fit->free.log_likelihood +
                      0.5 * (fit->free.parameters - fit->slewing.parameters) * log(effective);
  if (look && fit->slewing.convergence == PLATELAG_CONVERGED && gain > SLEW_ODDS) {
    /* The grid of speeds is coarse: it bounds what is said of the speed. */
    fit->lag.rate_pct_per_s =
        (platelag_estimate){PLATELAG_KNOWN_VALUE, best_rate, best_rate / sqrt(RATE_RATIO),
                            best_rate * sqrt(RATE_RATIO)};
  }
}

platelag_status plag_scores_set(plag_model *model, bool without_held, platelag_error *error) {
  (void)error;
  platelag_fit *fit = model->fit;
  tally constant = {0};
  tally prompt = {0};
  tally free_course = {0};
  model->largest_move_pct = tally_plain(model, without_held, &constant, &prompt, &free_course);
  const bool moved = free_course.count > 0.0;
  const double correlation = correlation_of(&free_course);
  const double samples = moved ? free_course.count : constant.count;
  const double effective = samples * (1.0 - correlation) / (1.0 + correlation);
  const int knots = (int)fit->map_knots;
  const double least = model->noise_pct;
  fit->constant = score_of(mean_squares(&constant, least), effective, 2);
  fit->prompt = score_of(mean_squares(&prompt, least), moved ? effective : 0.0, knots + 1);
  fit->free = score_of(mean_squares(&free_course, least), moved ? effective : 0.0, knots + 4);
  fit->slewing = (platelag_score){.convergence = PLATELAG_NO_DATA, .log_likelihood = NAN};
  return PLATELAG_OK;
}

platelag_status plag_scores_slewing(plag_model *model, platelag_error *error) {
  (void)error;
  const platelag_score *free_course = &model->fit->free;
  if (free_course->convergence == PLATELAG_CONVERGED && model->largest_move_pct > 0.0)
    score_slewing(model, true, model->largest_move_pct, free_course->samples);
  return PLATELAG_OK;
}
