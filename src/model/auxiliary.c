/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Other channels beside the position. Plates that move change the manifold's pressure, the air
 * flow and sooner or later the speed of the engine; an actuator that is driven draws current; a
 * reference or a supply that sags takes the signal along. */
#include <math.h>

#include "core/statistics.h"
#include "model/steps.h"
#include "model/workspace.h"

#define MOST_STEPS    512
#define LEAST_STEPS   6
#define LOOK_S        1.0  /* before and after a step */
#define LARGE_STEP    0.3  /* of the command's span */
#define REFERENCE_SAG 0.04 /* of the median */
#define SUPPLY_LOW_V  10.5 /* common practice, no source */
#define SUPPLY_SAG_V  1.5  /* below the median */
#define SAMPLED       4096
#define REGRESSORS    4    /* throttle, its curvature, engine speed, and the step itself */
#define SINGULAR      1e-9 /* below this mean square a regressor does not vary */

/* Mean of a channel over [from, to]; NaN for none. */
static double mean_between(const platelag_channel *channel, int64_t from_ns, int64_t to_ns) {
  size_t low = 0;
  size_t high = channel->count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (channel->time_ns[middle] < from_ns)
      low = middle + 1;
    else
      high = middle;
  }
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = low; i < channel->count && channel->time_ns[i] <= to_ns; i++) {
    if (!isfinite(channel->value[i]))
      continue;
    sum += channel->value[i];
    count++;
  }
  return count > 0 ? sum / (double)count : NAN;
}

static bool is_large(const platelag_trace *trace, const platelag_step *step) {
  return fabs(step->command_to - step->command_from) >=
         LARGE_STEP * (trace->command_highest - trace->command_lowest);
}

/* How much a channel's mean changed over a step. */
static double change_of(const platelag_channel *channel, int64_t at_ns) {
  const int64_t look_ns = (int64_t)(LOOK_S * 1e9);
  return mean_between(channel, at_ns + look_ns / 4, at_ns + look_ns + look_ns / 4) -
         mean_between(channel, at_ns - look_ns, at_ns);
}

/* Least squares by normal equations, one row at a time. */
typedef struct regression {
  double xx[REGRESSORS][REGRESSORS];
  double xy[REGRESSORS];
  double yy, rows;
} regression;

static void add_row(regression *of, const double x[REGRESSORS], double y) {
  for (int i = 0; i < REGRESSORS; i++) {
    for (int j = 0; j < REGRESSORS; j++)
      of->xx[i][j] += x[i] * x[j];
    of->xy[i] += x[i] * y;
  }
  of->yy += y * y;
  of->rows += 1.0;
}

/* Student's t of the last coefficient: eliminates the others, in their order. A regressor that
 * never changes, or only with those before it, is left out. NaN where the last one is. */
static double t_of_last(regression of) {
  double left = of.rows;
  for (int i = 0; i < REGRESSORS; i++) {
    const double pivot = of.xx[i][i];
    const bool last = i == REGRESSORS - 1;
    if (!(pivot > SINGULAR * of.rows)) {
      if (last)
        return NAN;
      continue;
    }
    left -= 1.0;
    if (last) {
      const double coefficient = of.xy[i] / pivot;
      const double residual = fmax(of.yy - coefficient * of.xy[i], 0.0);
      return left > 0.0 && residual > 0.0 ? coefficient * sqrt(pivot * left / residual) : NAN;
    }
    of.yy -= of.xy[i] * of.xy[i] / pivot;
    for (int j = i + 1; j < REGRESSORS; j++) {
      const double factor = of.xx[i][j] / pivot;
      of.xy[j] -= factor * of.xy[i];
      for (int k = i + 1; k < REGRESSORS; k++)
        of.xx[j][k] -= factor * of.xx[i][k];
    }
  }
  return NAN;
}

/* Student's t of the channel's answer to command steps, with what throttle and engine speed did at
 * the same time regressed out: controllers open and close runners as the engine is driven, so
 * without the throttle an answer of the air says nothing of the plates (NaN). */
static double answer_of(plag_model *model, const platelag_channel *channel, size_t *used) {
  const platelag_fit *fit = model->fit;
  const platelag_trace *trace = model->trace;
  const platelag_channel *throttle = trace->auxiliary[PLATELAG_ROLE_THROTTLE];
  const platelag_channel *speed = trace->auxiliary[PLATELAG_ROLE_ENGINE_SPEED];
  *used = 0;
  if (!throttle || throttle->count == 0)
    return NAN;
  regression all = {0};
  const size_t stride = fit->step_count / MOST_STEPS + 1;
  for (size_t k = 0; k < fit->step_count; k += stride) {
    const platelag_step *step = &fit->step[k];
    if (!is_large(trace, step))
      continue;
    const double pedal = change_of(throttle, step->at_ns);
    const double turn = speed && speed->count > 0 ? change_of(speed, step->at_ns) / 100.0 : 0.0;
    const double answer = change_of(channel, step->at_ns);
    if (!isfinite(pedal) || !isfinite(turn) || !isfinite(answer))
      continue;
    const double asked =
        (step->command_to - step->command_from) / (trace->command_highest - trace->command_lowest);
    const double row[REGRESSORS] = {pedal, pedal * fabs(pedal) / 50.0, turn, asked};
    add_row(&all, row, answer);
  }
  *used = (size_t)all.rows;
  return all.rows >= LEAST_STEPS + REGRESSORS ? t_of_last(all) : NAN;
}

static void look_at_air(plag_model *model) {
  static const platelag_role roles[] = {PLATELAG_ROLE_MANIFOLD_PRESSURE, PLATELAG_ROLE_AIR_FLOW};
  platelag_auxiliary *auxiliary = &model->fit->auxiliary;
  for (size_t k = 0; k < sizeof roles / sizeof roles[0]; k++) {
    const platelag_channel *channel = model->trace->auxiliary[roles[k]];
    if (!channel || channel->count == 0)
      continue;
    size_t used = 0;
    const double answer = answer_of(model, channel, &used);
    if (used > auxiliary->steps)
      auxiliary->steps = used;
    if (isfinite(answer) && !(fabs(answer) <= fabs(auxiliary->airflow_answer)))
      auxiliary->airflow_answer = answer;
  }
}

/* Current just after steps, while the actuator works, and when the command asks for more than
 * nothing at all. */
static void look_at_current(plag_model *model) {
  const platelag_channel *current = model->trace->auxiliary[PLATELAG_ROLE_ACTUATOR_CURRENT];
  const platelag_fit *fit = model->fit;
  if (!current || current->count == 0)
    return;
  const int64_t look_ns = (int64_t)(LOOK_S * 1e9);
  double moving = 0.0, commanded = 0.0, moves = 0.0, commands = 0.0;
  const size_t stride = fit->step_count / MOST_STEPS + 1;
  for (size_t k = 0; k < fit->step_count; k += stride) {
    const platelag_step *step = &fit->step[k];
    const double just_after = mean_between(current, step->at_ns, step->at_ns + look_ns / 2);
    const double later = mean_between(current, step->at_ns + look_ns / 2, step->at_ns + look_ns);
    if (isfinite(just_after)) {
      moving += fabs(just_after);
      moves += 1.0;
    }
    if (isfinite(later) && fabs(step->command_to) > 1.0) {
      commanded += fabs(later);
      commands += 1.0;
    }
  }
  if (moves > 0.0)
    model->fit->auxiliary.current_moving_a = moving / moves;
  if (commands > 0.0)
    model->fit->auxiliary.current_commanded_a = commanded / commands;
}

/* The channel's median, from an even sample. */
static double median_of(plag_model *model, const platelag_channel *channel) {
  const size_t mark = plag_workspace_mark(model->workspace);
  double *value = plag_workspace_take(model->workspace, SAMPLED, sizeof value[0]);
  if (!value)
    return NAN;
  const size_t stride = channel->count / SAMPLED + 1;
  size_t count = 0;
  for (size_t i = 0; i < channel->count; i += stride)
    if (isfinite(channel->value[i]))
      value[count++] = channel->value[i];
  const double middle = plag_median(value, count);
  plag_workspace_release(model->workspace, mark);
  return middle;
}

/* Share of void spans during which the channel lies below `limit`; NaN without spans or channel. */
static double sag_share(const plag_model *model, const platelag_channel *channel, double limit) {
  const platelag_fit *fit = model->fit;
  if (!channel || channel->count == 0 || !isfinite(limit))
    return NAN;
  double low = 0.0;
  double count = 0.0;
  for (size_t k = 0; k < fit->span_count; k++) {
    if (!platelag_mode_is_void(fit->span[k].mode))
      continue;
    const int64_t around_ns = (int64_t)(0.5 * 1e9);
    const double mean = mean_between(channel, fit->span[k].from_ns - around_ns / 2,
                                     fit->span[k].to_ns + around_ns / 2);
    if (!isfinite(mean))
      continue;
    low += mean < limit ? 1.0 : 0.0;
    count += 1.0;
  }
  return count > 0.0 ? low / count : NAN;
}

/* Correlation of the steps' t63 with the supply voltage: a weak drive is slower at low voltage. */
static double lag_supply_correlation(const plag_model *model, const platelag_channel *supply) {
  const platelag_fit *fit = model->fit;
  if (!supply || supply->count == 0)
    return NAN;
  double n = 0, x = 0, y = 0, xx = 0, yy = 0, xy = 0;
  const size_t stride = fit->step_count / MOST_STEPS + 1;
  for (size_t k = 0; k < fit->step_count; k += stride) {
    const platelag_step *step = &fit->step[k];
    if (step->end != PLATELAG_STEP_SETTLED || !(step->t63_s > 0.0) || !is_large(model->trace, step))
      continue;
    const double volts = mean_between(supply, step->at_ns - (int64_t)(LOOK_S * 1e9),
                                      step->at_ns + (int64_t)(LOOK_S * 1e9));
    if (!isfinite(volts))
      continue;
    n += 1.0;
    x += volts;
    y += step->t63_s;
    xx += volts * volts;
    yy += step->t63_s * step->t63_s;
    xy += volts * step->t63_s;
  }
  if (n < LEAST_STEPS)
    return NAN;
  const double sxx = xx - x * x / n;
  const double syy = yy - y * y / n;
  return sxx > 1e-12 * xx && syy > 1e-12 * yy ? (xy - x * y / n) / sqrt(sxx * syy) : NAN;
}

platelag_status plag_auxiliary_compare(plag_model *model, platelag_error *error) {
  (void)error;
  const platelag_trace *trace = model->trace;
  platelag_auxiliary *auxiliary = &model->fit->auxiliary;
  *auxiliary = (platelag_auxiliary){
      .airflow_answer = NAN,
      .current_moving_a = NAN,
      .current_commanded_a = NAN,
      .supply_sag_share = NAN,
      .reference_sag_share = NAN,
      .lag_supply_correlation = NAN,
  };
  look_at_air(model);
  look_at_current(model);
  const platelag_channel *supply = trace->auxiliary[PLATELAG_ROLE_BATTERY_VOLTAGE];
  const platelag_channel *reference = trace->auxiliary[PLATELAG_ROLE_SENSOR_REFERENCE];
  if (supply && supply->count > 0)
    auxiliary->supply_sag_share =
        sag_share(model, supply, fmax(SUPPLY_LOW_V, median_of(model, supply) - SUPPLY_SAG_V));
  if (reference && reference->count > 0)
    auxiliary->reference_sag_share =
        sag_share(model, reference, (1.0 - REFERENCE_SAG) * median_of(model, reference));
  auxiliary->lag_supply_correlation = lag_supply_correlation(model, supply);
  return PLATELAG_OK;
}
