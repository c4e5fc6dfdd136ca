/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/resting.h"

#include <math.h>

#include "core/statistics.h"

/* A command that moves by less than this share of its span rests. */
#define REST_SHARE 0.02
/* The answer to a change is over four lags later, but no sooner than this, s. */
#define REST_LEAST_S 1.2
#define LAGS         4.0
/* A leap within one sampling interval, % of travel, and in sd of the noise. */
#define LEAP_PCT   6.0
#define LEAP_NOISE 8.0
/* Readings further apart than so many sampling intervals tell nothing of leaps. */
#define APART 2.5
/* Stretches of rest that the trend is taken from, at most and at least. */
#define STRETCHES_MOST  512
#define STRETCHES_LEAST 12

typedef struct stretch {
  double at_s, sum_pct, sum_duty, count;
} stretch;

typedef struct look {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_channel *effort; /* the duty of a controller, or NULL */
  double rest_s, leap_pct;
  size_t change, changes, span, duty; /* the next change; behind the segment's last */
  platelag_command_change next;
  double duty_now;
  double anchor, asked_pct;
  int64_t moved_ns; /* when the command last moved */
  double last_pct;
  int64_t last_ns;
  bool has_last;
  stretch now;
  size_t stretch_count, skip, skipped;
  stretch rest[STRETCHES_MOST];
  plag_resting found;
} look;

/* The travel that a command asks for in the end. */
static double asked_pct(const platelag_fit *fit, double command) {
  const size_t knots = fit->map_knots;
  if (knots == 0)
    return NAN;
  if (command <= fit->map_command[0])
    return fit->map_pct[0];
  for (size_t k = 1; k < knots; k++)
    if (command <= fit->map_command[k])
      return fit->map_pct[k - 1] + (command - fit->map_command[k - 1]) /
                                       (fit->map_command[k] - fit->map_command[k - 1]) *
                                       (fit->map_pct[k] - fit->map_pct[k - 1]);
  return fit->map_pct[knots - 1];
}

/* Keeps a stretch; when there is no more room, every second one goes, and so on from there. */
static void keep(look *at) {
  const stretch done = at->now;
  at->now = (stretch){0};
  if (done.count < 2 || at->skipped++ % at->skip != 0)
    return;
  if (at->stretch_count == STRETCHES_MOST) {
    for (size_t i = 0; i < STRETCHES_MOST / 2; i++)
      at->rest[i] = at->rest[2 * i];
    at->stretch_count = STRETCHES_MOST / 2;
    at->skip *= 2;
  }
  at->rest[at->stretch_count++] = done;
}

static void command_is(look *at, double command, int64_t by_ns) {
  const double span = at->trace->command_highest - at->trace->command_lowest;
  if (fabs(command - at->anchor) <= REST_SHARE * span)
    return;
  at->anchor = command;
  at->moved_ns = by_ns;
  at->asked_pct = asked_pct(at->fit, command);
  keep(at);
}

/* The next change of the segment, where there is one. */
static void see_next(look *at) {
  if (at->change < at->changes)
    at->next = platelag_trace_change_at(at->trace, at->change);
}

static void begin_segment(look *at, const platelag_trace_segment *segment) {
  keep(at);
  at->anchor = segment->command_at_start;
  at->asked_pct = asked_pct(at->fit, at->anchor);
  at->moved_ns = segment->from_ns;
  at->change = segment->first_change;
  at->changes = segment->first_change + segment->change_count;
  at->has_last = false;
  see_next(at);
}

static bool is_void(look *at, size_t sample) {
  const platelag_fit *fit = at->fit;
  while (at->span < fit->span_count &&
         sample >= fit->span[at->span].first_sample + fit->span[at->span].sample_count)
    at->span++;
  return at->span < fit->span_count && platelag_mode_is_void(fit->span[at->span].mode);
}

/* The last duty that was read by a time; NaN before the first. Times do not fall from call to call.
 */
static double duty_at(look *at, int64_t now_ns) {
  const platelag_channel *duty = at->effort;
  if (duty == NULL)
    return 0;
  for (; at->duty < duty->count && duty->time_ns[at->duty] <= now_ns; at->duty++)
    if (isfinite(duty->value[at->duty]))
      at->duty_now = duty->value[at->duty];
  return at->duty_now;
}

static void look_at(look *at, size_t sample) {
  const int64_t now_ns = at->trace->time_ns[sample];
  const double pct = platelag_trace_travel_pct(at->trace, at->trace->level[sample]);
  const double step_s = at->has_last ? platelag_seconds(now_ns - at->last_ns) : INFINITY;
  if (platelag_seconds(now_ns - at->moved_ns) > at->rest_s) {
    const double off = pct - at->asked_pct;
    if (step_s <= APART * at->trace->position_refresh_s) {
      at->found.minutes += step_s / 60;
      at->found.away_leaps += fabs(pct - at->last_pct) > at->leap_pct &&
                              fabs(off) > fabs(at->last_pct - at->asked_pct) + at->leap_pct / 2;
    }
    const double duty = duty_at(at, now_ns);
    if (isfinite(off) && isfinite(duty)) {
      at->now.at_s = platelag_seconds(now_ns);
      at->now.sum_pct += at->effort == NULL ? off : pct;
      at->now.sum_duty += duty;
      at->now.count++;
    }
  }
  at->last_pct = pct;
  at->last_ns = now_ns;
  at->has_last = true;
}

static void walk(look *at) {
  const platelag_trace *trace = at->trace;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    begin_segment(at, segment);
    for (size_t i = 0; i < segment->sample_count; i++) {
      const size_t sample = segment->first_sample + i;
      while (at->change < at->changes && at->next.after_ns <= trace->time_ns[sample]) {
        command_is(at, at->next.to, at->next.by_ns);
        at->change++;
        see_next(at);
      }
      if (!is_void(at, sample))
        look_at(at, sample);
    }
  }
  keep(at);
}

/* A controller moves the plates until the reading fits, so what drifts shows in the place that its
 * duty holds: takes off each stretch the place that its duty would usually hold. */
static void take_duty_off(look *at) {
  double mean_pct = 0;
  double mean_duty = 0;
  for (size_t i = 0; i < at->stretch_count; i++) {
    mean_pct += at->rest[i].sum_pct / at->rest[i].count / (double)at->stretch_count;
    mean_duty += at->rest[i].sum_duty / at->rest[i].count / (double)at->stretch_count;
  }
  double both = 0;
  double square = 0;
  for (size_t i = 0; i < at->stretch_count; i++) {
    const double duty = at->rest[i].sum_duty / at->rest[i].count - mean_duty;
    both += duty * (at->rest[i].sum_pct / at->rest[i].count - mean_pct);
    square += duty * duty;
  }
  const double pct_per_duty = square > 0 ? both / square : 0;
  for (size_t i = 0; i < at->stretch_count; i++)
    at->rest[i].sum_pct -= pct_per_duty * at->rest[i].sum_duty;
}

/* Median of what the stretches of a third of the record are off by, and its standard error. */
static double third(const look *at, double from_s, double to_s, double *variance) {
  double off[STRETCHES_MOST];
  size_t count = 0;
  for (size_t i = 0; i < at->stretch_count; i++)
    if (at->rest[i].at_s >= from_s && at->rest[i].at_s <= to_s)
      off[count++] = at->rest[i].sum_pct / at->rest[i].count;
  if (count < STRETCHES_LEAST / 3)
    return NAN;
  const double middle = plag_median(off, count);
  const double sd = plag_median_deviation(off, count);
  *variance = 1.5708 * sd * sd / (double)count; /* of a median of normal values */
  return middle;
}

/* The last third against the first; they lie two thirds of the record apart. */
static void find_trend(look *at) {
  at->found.trend_pct = at->found.trend_sd_pct = NAN;
  if (at->stretch_count < STRETCHES_LEAST)
    return;
  const double from_s = at->rest[0].at_s;
  const double long_s = at->rest[at->stretch_count - 1].at_s - from_s;
  double before = 0;
  double after = 0;
  const double first = third(at, from_s, from_s + long_s / 3, &before);
  const double last = third(at, from_s + long_s * 2 / 3, INFINITY, &after);
  at->found.trend_pct = 1.5 * (last - first);
  at->found.trend_sd_pct = 1.5 * sqrt(before + after);
}

plag_resting plag_resting_look(const platelag_fit *fit, const platelag_trace *trace, double lag_s) {
  look at = {
      .fit = fit,
      .trace = trace,
      .effort = trace->effort,
      .duty_now = NAN,
      .rest_s = fmax(REST_LEAST_S, isfinite(lag_s) ? LAGS * lag_s : 2 * REST_LEAST_S),
      .leap_pct =
          fmax(LEAP_PCT, isfinite(fit->signal.noise_pct) ? LEAP_NOISE * fit->signal.noise_pct : 0),
      .skip = 1};
  walk(&at);
  if (at.effort != NULL)
    take_duty_off(&at);
  find_trend(&at);
  return at.found;
}
