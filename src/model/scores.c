/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How well each description explains the same samples: the plates never move, follow at once,
 * follow with dead time and first order, follow with dead time at a limited speed. Samples shortly
 * after a command change count less, by what the change's unknown moment may have moved them. */
#include <math.h>

#include "core/error.h"
#include "model/course.h"
#include "model/workspace.h"

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

static bool counts(const plag_model *model, size_t sample) {
  const platelag_mode mode = (platelag_mode)model->mode[sample];
  return !platelag_mode_is_void(mode) && mode != PLATELAG_MODE_HELD;
}

/* Variance that the unknown moment of command changes adds, as it dies away. */
typedef struct timing {
  double variance, target_pct;
  plag_decay open, close; /* of a variance: twice as fast */
} timing;

static timing timing_of(const plag_course *course) {
  return (timing){.open = {.tau_s = 0.5 * course->lag.tau_open_s, .dt_s = -1.0},
                  .close = {.tau_s = 0.5 * course->lag.tau_close_s, .dt_s = -1.0}};
}

static double timing_variance(timing *t, const plag_course *course, double free_pct,
                              double width_s) {
  if (course->first) {
    t->variance = 0.0;
    t->target_pct = course->target_pct;
    return 0.0;
  }
  plag_decay *decay = course->target_pct > free_pct ? &t->open : &t->close;
  const double step = course->target_pct - t->target_pct;
  if (t->variance > 0.0)
    t->variance *= plag_decay_over(decay, course->dt_s);
  if (step != 0.0) {
    const double slope = step * width_s / (2.0 * decay->tau_s);
    t->variance += fmin(slope * slope / 12.0, 0.25 * step * step);
    t->target_pct = course->target_pct;
  }
  return t->variance;
}

static double bracket_s(const platelag_trace *trace, const platelag_fit *fit) {
  return fit->lag.command_on_rows ? 0.0 : fmax(trace->row_period_s, trace->command_refresh_s);
}

static double weight_of(double variance_pct2, double noise_pct) {
  const double noise = noise_pct * noise_pct;
  return noise / (noise + (isfinite(variance_pct2) ? variance_pct2 : 0.0));
}

/* How well plates explain that never move, follow at once, follow freely. */
typedef struct plain {
  tally constant, prompt, free;
  double first_pct; /* of the readings that count */
  double move_pct;  /* largest asked for */
  double *weight;   /* of each sample; 0: it does not count */
} plain;

static void tally_sample(plain *all, const plag_course *course, double asked_at_once_pct,
                         double free_pct, double weight) {
  if (all->constant.count == 0.0)
    all->first_pct = course->travel_pct;
  add(&all->constant, course->travel_pct - all->first_pct, weight);
  if (isnan(course->target_pct) || course->first)
    return;
  add(&all->prompt, course->travel_pct - asked_at_once_pct, weight);
  add(&all->free, course->travel_pct - free_pct, weight);
  all->move_pct = fmax(all->move_pct, fabs(course->last_move_pct));
  all->weight[course->sample] = weight;
}

static void tally_plain(const plag_model *model, plain *all) {
  const double width_s = bracket_s(model->trace, model->fit);
  plag_course course;
  plag_asked_walk at_once = {0};
  plag_course_begin(&course, model);
  timing t = timing_of(&course);
  while (plag_course_next(&course)) {
    if (course.first)
      plag_asked_begin(&at_once, model, course.segment, 0.0);
    const double asked_pct = plag_asked_until(&at_once, model->trace->time_ns[course.sample]);
    const double free_pct = plag_course_free_pct(&course);
    const double variance = timing_variance(&t, &course, free_pct, width_s);
    if (counts(model, course.sample))
      tally_sample(all, &course, asked_pct, free_pct, weight_of(variance, model->noise_pct));
  }
  tally *constant = &all->constant; /* about its own mean */
  if (constant->weight > 0.0)
    constant->squares -= constant->sum * constant->sum / constant->weight;
}

static void score_plain(plag_model *model, const plain *all) {
  platelag_fit *fit = model->fit;
  const bool moved = all->free.count > 0.0;
  const double correlation = correlation_of(&all->free);
  const double samples = moved ? all->free.count : all->constant.count;
  const double effective = samples * (1.0 - correlation) / (1.0 + correlation);
  const int knots = (int)fit->map_knots;
  const double least = model->noise_pct;
  fit->constant = score_of(mean_squares(&all->constant, least), effective, 2);
  fit->prompt = score_of(mean_squares(&all->prompt, least), moved ? effective : 0.0, knots + 1);
  fit->free = score_of(mean_squares(&all->free, least), moved ? effective : 0.0, knots + 4);
  fit->slewing = (platelag_score){.convergence = PLATELAG_NO_DATA, .log_likelihood = NAN};
}

/* Plates that go towards what is asked at one speed. */
typedef struct slewing {
  double rate_pct_per_s, delay_s, at_pct;
  plag_asked_walk asked;
  tally tally;
} slewing;

static void slew(slewing *plates, int64_t now_ns, double dt_s, double travel_pct) {
  const double off = plag_asked_until(&plates->asked, now_ns) - plates->at_pct;
  if (isnan(off)) {
    plates->at_pct = travel_pct;
    return;
  }
  const double most = plates->rate_pct_per_s * dt_s;
  plates->at_pct += off < -most ? -most : off > most ? most : off;
}

static void begin_slewing(const plag_model *model, size_t segment, double travel_pct,
                          slewing *plates, size_t count) {
  for (size_t k = 0; k < count; k++) {
    plag_asked_begin(&plates[k].asked, model, segment, plates[k].delay_s);
    plates[k].at_pct = travel_pct;
  }
}

/* On the samples and with the weights of the free course; all speeds in one walk, since none waits
 * for another. */
static void tally_slewing(const plag_model *model, const double *weight, slewing *plates,
                          size_t count) {
  const platelag_trace *trace = model->trace;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t first = trace->segment[s].first_sample;
    const size_t end = first + trace->segment[s].sample_count;
    for (size_t i = first; i < end; i++) {
      const double travel_pct = platelag_trace_travel_pct(trace, trace->level[i]);
      if (i == first) {
        begin_slewing(model, s, travel_pct, plates, count);
        continue; /* where they are by the reading tells nothing */
      }
      const int64_t now_ns = trace->time_ns[i];
      const double dt_s = platelag_seconds(now_ns - trace->time_ns[i - 1]);
      for (size_t k = 0; k < count; k++) {
        slew(&plates[k], now_ns, dt_s, travel_pct);
        if (weight[i] > 0.0)
          add(&plates[k].tally, travel_pct - plates[k].at_pct, weight[i]);
      }
    }
  }
}

/* The speed that does half of the largest move when first order does, and others about it; each
 * with the dead time that puts half of that move where first order has it. */
static void set_speeds(const plag_lag_point *lag, double move_pct, slewing *plates, size_t count) {
  const double tau_s = 0.5 * (lag->tau_open_s + lag->tau_close_s);
  const double guess = move_pct / (1.6 * tau_s);
  for (size_t k = 0; k < count; k++) {
    const double rate = guess * pow(RATE_RATIO, (double)k - 0.5 * (double)(count - 1));
    const double delay_s = lag->dead_time_s + 0.69 * tau_s - 0.5 * move_pct / rate;
    plates[k] = (slewing){.rate_pct_per_s = rate, .delay_s = fmax(delay_s, 0.0)};
  }
}

static bool is_open(const platelag_estimate *estimate) {
  return estimate->known == PLATELAG_KNOWN_NOTHING || estimate->known == PLATELAG_KNOWN_UPPER_LIMIT;
}

/* Says the speed where it explains more than first order. Not where neither way's lag is resolved:
 * plates that are there by the next reading are seen on their way once or never. */
static void tell_speed(platelag_fit *fit, double rate_pct_per_s) {
  const double effective = fit->free.samples;
  const double gain = fit->slewing.log_likelihood - fit->free.log_likelihood +
                      0.5 * (fit->free.parameters - fit->slewing.parameters) * log(effective);
  if (fit->slewing.convergence != PLATELAG_CONVERGED || !(gain > SLEW_ODDS) ||
      (is_open(&fit->lag.opening_tau_s) && is_open(&fit->lag.closing_tau_s)))
    return;
  /* The grid of speeds is coarse: it bounds what is said of the speed. */
  const double reach = sqrt(RATE_RATIO);
  fit->lag.rate_pct_per_s = (platelag_estimate){PLATELAG_KNOWN_VALUE, rate_pct_per_s,
                                                rate_pct_per_s / reach, rate_pct_per_s * reach};
}

static void score_slewing(plag_model *model, const plain *all) {
  platelag_fit *fit = model->fit;
  const plag_lag_point lag = plag_lag_point_of(fit);
  const bool look = fit->free.rms_pct > WORTH_A_LOOK * model->noise_pct;
  const size_t count = look ? RATES : 1;
  slewing plates[RATES];
  set_speeds(&lag, all->move_pct, plates, count);
  tally_slewing(model, all->weight, plates, count);
  double best = INFINITY;
  double best_rate = plates[0].rate_pct_per_s;
  for (size_t k = 0; k < count; k++) {
    const double squares = mean_squares(&plates[k].tally, model->noise_pct);
    if (squares < best) {
      best = squares;
      best_rate = plates[k].rate_pct_per_s;
    }
  }
  fit->slewing = score_of(best, fit->free.samples, (int)fit->map_knots + 3);
  if (look)
    tell_speed(fit, best_rate);
}

platelag_status plag_scores_set(plag_model *model, platelag_error *error) {
  const size_t mark = plag_workspace_mark(model->workspace);
  plain all = {.weight = plag_workspace_take(model->workspace, model->trace->sample_count + 1,
                                             sizeof all.weight[0])};
  if (!all.weight)
    return plag_error_memory(error, "the scores of a trace");
  tally_plain(model, &all);
  score_plain(model, &all);
  if (model->fit->free.convergence == PLATELAG_CONVERGED && all.move_pct > 0.0)
    score_slewing(model, &all);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
