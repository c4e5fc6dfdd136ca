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
  const double r = residual_pct < -MOST_RESIDUAL_PCT  ? -MOST_RESIDUAL_PCT
                   : residual_pct > MOST_RESIDUAL_PCT ? MOST_RESIDUAL_PCT
                                                      : residual_pct;
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

/* What the command asks for at the samples of a course, felt after another dead time. */
typedef struct asked {
  double delay_s, pct;
  plag_changes changes;
} asked;

static void follow_asked(asked *a, const plag_course *course) {
  const platelag_fit *fit = course->model->fit;
  const platelag_trace *trace = course->model->trace;
  if (course->first) {
    plag_changes_begin(&a->changes, trace, course->segment, a->delay_s, fit->lag.command_on_rows);
    a->pct = plag_model_target_pct(fit, trace, trace->segment[course->segment].command_at_start);
  }
  for (; a->changes.at_ns <= trace->time_ns[course->sample]; plag_changes_advance(&a->changes))
    a->pct = plag_model_target_pct(fit, trace, a->changes.change.to);
}

static double weight_of(double variance_pct2, double noise_pct) {
  const double noise = noise_pct * noise_pct;
  return noise / (noise + (isfinite(variance_pct2) ? variance_pct2 : 0.0));
}

/* Fills constant, prompt, free; tells the largest move asked for. */
static double tally_plain(const plag_model *model, bool without_held, tally *constant,
                          tally *prompt, tally *free_course) {
  const double width_s = bracket_s(model->trace, model->fit);
  double move_pct = 0.0;
  double mean = NAN;
  timing t = {0};
  plag_course course;
  asked at_once = {0};
  plag_course_begin(&course, model);
  while (plag_course_next(&course)) {
    follow_asked(&at_once, &course);
    const double variance = timing_variance(&t, &course, width_s);
    if (!counts(model, course.sample, without_held))
      continue;
    const double weight = weight_of(variance, model->noise_pct);
    mean = isnan(mean) ? course.travel_pct : mean;
    add(constant, course.travel_pct - mean, weight);
    if (isnan(course.target_pct) || course.first)
      continue;
    add(prompt, course.travel_pct - at_once.pct, weight);
    add(free_course, course.travel_pct - course.free_pct, weight);
    move_pct = fmax(move_pct, fabs(course.last_move_pct));
  }
  /* About its own mean. */
  if (constant->weight > 0.0)
    constant->squares -= constant->sum * constant->sum / constant->weight;
  return move_pct;
}

/* Plates that go towards what is asked at one speed. */
typedef struct slewing {
  double rate_pct_per_s, at_pct;
  asked asked;
  tally tally;
} slewing;

static void slew(slewing *plates, const plag_course *course) {
  follow_asked(&plates->asked, course);
  if (course->first || isnan(plates->asked.pct)) {
    plates->at_pct = course->travel_pct;
    return;
  }
  const double most = plates->rate_pct_per_s * course->dt_s;
  const double off = plates->asked.pct - plates->at_pct;
  plates->at_pct += off < -most ? -most : off > most ? most : off;
}

/* All of them in one walk, on the samples and with the weights of the free course. */
static void tally_slewing(const plag_model *model, bool without_held, slewing *plates,
                          size_t count) {
  const double width_s = bracket_s(model->trace, model->fit);
  timing t = {0};
  plag_course course;
  plag_course_begin(&course, model);
  while (plag_course_next(&course)) {
    const double variance = timing_variance(&t, &course, width_s);
    const bool told =
        !course.first && isfinite(course.target_pct) && counts(model, course.sample, without_held);
    const double weight = weight_of(variance, model->noise_pct);
    for (size_t i = 0; i < count; i++) {
      slew(&plates[i], &course);
      if (told)
        add(&plates[i].tally, course.travel_pct - plates[i].at_pct, weight);
    }
  }
}

/* The speed that does half of the largest move when first order does, and others about it; each
 * with the dead time that puts half of that move where first order has it. */
static void score_slewing(plag_model *model, bool without_held, double move_pct, double effective) {
  platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  const double tau_s = 0.5 * (lag.tau_open_s + lag.tau_close_s);
  const double guess = move_pct / (1.6 * tau_s);
  const bool look = fit->free.rms_pct > WORTH_A_LOOK * model->noise_pct;
  const size_t count = look ? RATES : 1;
  slewing plates[RATES] = {{0}};
  for (size_t i = 0; i < count; i++) {
    const double rate = guess * pow(RATE_RATIO, (double)i - 0.5 * (double)(count - 1));
    plates[i].rate_pct_per_s = rate;
    plates[i].asked.delay_s = fmax(lag.dead_time_s + 0.69 * tau_s - 0.5 * move_pct / rate, 0.0);
  }
  tally_slewing(model, without_held, plates, count);
  double best = INFINITY;
  double best_rate = guess;
  for (size_t i = 0; i < count; i++) {
    const double squares = mean_squares(&plates[i].tally, model->noise_pct);
    if (squares < best) {
      best = squares;
      best_rate = plates[i].rate_pct_per_s;
    }
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
