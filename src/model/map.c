/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/map.h"

#include <math.h>
#include <stdlib.h>

#include "model/workspace.h"

/* Commands closer than this share of the whole range are one level, ... */
#define SAME_LEVEL_SHARE 0.01
/* ... which is no wider than twice that: many close to each other are no level. */
#define WIDEST_LEVEL 2.0
#define STRETCHES    ((size_t)1024)

double plag_model_target_pct(const platelag_fit *fit, const platelag_trace *trace, double command) {
  const size_t knots = fit->map_knots;
  if (isnan(command))
    return NAN;
  if (knots == 0) { /* two ends are known without knots, or nothing is */
    const double span = trace->command_highest - trace->command_lowest;
    if (fit->map_low_pct == fit->map_high_pct || !(span > 0.0))
      return NAN;
    const double share = fmin(fmax((command - trace->command_lowest) / span, 0.0), 1.0);
    return fit->map_low_pct + share * (fit->map_high_pct - fit->map_low_pct);
  }
  if (command <= fit->map_command[0])
    return fit->map_pct[0];
  for (size_t i = 1; i < knots; i++)
    if (command <= fit->map_command[i]) {
      const double share =
          (command - fit->map_command[i - 1]) / (fit->map_command[i] - fit->map_command[i - 1]);
      return fit->map_pct[i - 1] + share * (fit->map_pct[i] - fit->map_pct[i - 1]);
    }
  return fit->map_pct[knots - 1];
}

double platelag_fit_target_pct(const platelag_fit *fit, const platelag_trace *trace,
                               double command) {
  return plag_model_target_pct(fit, trace, command);
}

static int by_command(const void *a, const void *b) {
  const plag_map_point *one = a;
  const plag_map_point *other = b;
  return (one->command > other->command) - (one->command < other->command);
}

static int by_travel(const void *a, const void *b) {
  const plag_map_point *one = a;
  const plag_map_point *other = b;
  return (one->travel_pct > other->travel_pct) - (one->travel_pct < other->travel_pct);
}

/* Pools neighbours that go against `rising`; returns the squares that this costs. */
static double pool(const double *pct, const double *weight, size_t knots, bool rising,
                   double *out) {
  double level[PLATELAG_MAP_KNOTS];
  double mass[PLATELAG_MAP_KNOTS];
  size_t length[PLATELAG_MAP_KNOTS];
  size_t blocks = 0;
  const double sign = rising ? 1.0 : -1.0;
  for (size_t i = 0; i < knots; i++) {
    level[blocks] = sign * pct[i];
    mass[blocks] = weight[i];
    length[blocks++] = 1;
    while (blocks > 1 && level[blocks - 2] > level[blocks - 1]) {
      const double sum = mass[blocks - 2] + mass[blocks - 1];
      level[blocks - 2] =
          (level[blocks - 2] * mass[blocks - 2] + level[blocks - 1] * mass[blocks - 1]) / sum;
      mass[blocks - 2] = sum;
      length[blocks - 2] += length[blocks - 1];
      blocks--;
    }
  }
  double cost = 0.0;
  size_t at = 0;
  for (size_t b = 0; b < blocks; b++)
    for (size_t i = 0; i < length[b]; i++, at++) {
      out[at] = sign * level[b];
      cost += weight[at] * (out[at] - pct[at]) * (out[at] - pct[at]);
    }
  return cost;
}

static void make_monotone(platelag_fit *fit, const double *weight) {
  double rising[PLATELAG_MAP_KNOTS];
  double falling[PLATELAG_MAP_KNOTS];
  const size_t knots = fit->map_knots;
  const bool up = pool(fit->map_pct, weight, knots, true, rising) <=
                  pool(fit->map_pct, weight, knots, false, falling);
  for (size_t i = 0; i < knots; i++)
    fit->map_pct[i] = up ? rising[i] : falling[i];
  fit->map_rising = knots > 0 && fit->map_pct[knots - 1] > fit->map_pct[0];
  fit->map_low_pct = knots > 0 ? fit->map_pct[0] : NAN;
  fit->map_high_pct = knots > 0 ? fit->map_pct[knots - 1] : NAN;
}

void plag_map_finish(platelag_fit *fit) {
  double weight[PLATELAG_MAP_KNOTS];
  for (size_t i = 0; i < PLATELAG_MAP_KNOTS; i++)
    weight[i] = 1.0;
  make_monotone(fit, weight);
}

/* The knot of points `from` up to `to`: mean command, weighted median travel. */
static void add_knot(platelag_fit *fit, plag_map_point *point, size_t from, size_t to,
                     double *weight) {
  double mass = 0.0;
  double command = 0.0;
  for (size_t i = from; i < to; i++) {
    mass += point[i].weight;
    command += point[i].weight * point[i].command;
  }
  qsort(point + from, to - from, sizeof *point, by_travel);
  double below = 0.0;
  size_t middle = from;
  while (middle + 1 < to && below + point[middle].weight < 0.5 * mass)
    below += point[middle++].weight;
  /* Between the two of an even split the median is their mean. */
  double pct = point[middle].travel_pct;
  if (middle + 1 < to && fabs(below + point[middle].weight - 0.5 * mass) < 1e-9 * mass)
    pct = 0.5 * (pct + point[middle + 1].travel_pct);
  fit->map_command[fit->map_knots] = command / mass;
  fit->map_pct[fit->map_knots] = pct;
  weight[fit->map_knots++] = mass;
}

/* Whether point `i` begins another level than that which began with point `from`. */
static bool begins_level(const plag_map_point *point, size_t from, size_t i, double gap) {
  return point[i].command - point[i - 1].command > gap ||
         point[i].command - point[from].command > WIDEST_LEVEL * gap;
}

static size_t count_levels(const plag_map_point *point, size_t count, double gap) {
  size_t levels = count > 0;
  size_t from = 0;
  for (size_t i = 1; i < count; i++)
    if (begins_level(point, from, i, gap)) {
      levels++;
      from = i;
    }
  return levels;
}

void plag_map_build(platelag_fit *fit, const platelag_trace *trace, plag_map_point *point,
                    size_t count) {
  bool few = true;
  double weight[PLATELAG_MAP_KNOTS] = {0};
  fit->map_knots = 0;
  if (count > 0) {
    qsort(point, count, sizeof *point, by_command);
    const double range = point[count - 1].command - point[0].command;
    const double gap = SAME_LEVEL_SHARE * range;
    few = count_levels(point, count, gap) <= PLATELAG_MAP_KNOTS;
    size_t from = 0;
    for (size_t i = 1; i <= count; i++) {
      const bool last = i == count;
      const bool ends =
          !last && (few ? begins_level(point, from, i, gap)
                        : point[i].command - point[from].command > range / PLATELAG_MAP_KNOTS);
      if (!last && (!ends || fit->map_knots + 1 == PLATELAG_MAP_KNOTS))
        continue;
      /* add_knot sorts its points by travel: the command of the next was read before. */
      add_knot(fit, point, from, i, weight);
      from = i;
    }
  }
  make_monotone(fit, weight);
  if (!few && plag_map_try_hinge(fit, trace, point, count))
    plag_map_finish(fit);
}

bool plag_map_build_from_stretches(const plag_model *model) {
  const platelag_trace *trace = model->trace;
  const size_t stride = trace->change_count / STRETCHES + 1;
  plag_map_point *point =
      plag_workspace_take(model->workspace, 2 * STRETCHES + 2, sizeof(plag_map_point));
  if (!point)
    return false;
  size_t count = 0;
  size_t sample = 0;
  for (size_t k = 0; k < trace->change_count && count < 2 * STRETCHES; k += stride) {
    const platelag_command_change change = platelag_trace_change_at(trace, k);
    while (sample < trace->sample_count && trace->time_ns[sample] <= change.after_ns)
      sample++;
    if (sample == 0 || platelag_mode_is_void((platelag_mode)model->mode[sample - 1]))
      continue;
    point[count++] = (plag_map_point){
        .command = change.from,
        .travel_pct = platelag_trace_travel_pct(trace, trace->level[sample - 1]),
        .weight = 1.0,
    };
  }
  if (count == 0)
    for (size_t i = 0; i < trace->sample_count && count < 2 * STRETCHES;
         i += trace->sample_count / STRETCHES + 1)
      if (!platelag_mode_is_void((platelag_mode)model->mode[i]) && trace->command)
        point[count++] = (plag_map_point){
            .command = trace->command_lowest,
            .travel_pct = platelag_trace_travel_pct(trace, trace->level[i]),
            .weight = 1.0,
        };
  plag_map_build(model->fit, model->trace, point, count);
  return true;
}
