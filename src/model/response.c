/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/response.h"

#include <math.h>

#include "core/error.h"
#include "model/intervals.h"
#include "model/map.h"
#include "model/workspace.h"

#define AT_THE_LEAST        1.3 /* of the least tau: touches it */
#define FEW_STEPS           10
#define UNRESOLVED_SHARE    0.2 /* of the sampling interval */
#define LEAST_SAMPLES       8
#define LEAST_STEPS         3    /* each way, that stand alone */
#define SLOW_TAU_S          0.4  /* slower plates seldom come to rest: ... */
#define SLOW_STEPS          16   /* ... fewer steps of theirs know the lag but not the map */
#define PLAG_MAP_SPAN_SHARE 0.85 /* of the command's range that steps alone must visit */

/* Two channels under one stamp a row were polled one after the other, which nobody can see; up to
 * eight stamps of either tell. */
double plag_response_skew_s(const platelag_trace *trace) {
  if (!trace->command || trace->sample_count == 0)
    return 0.0;
  size_t row = 0;
  for (size_t i = 0; i < 8 && i < trace->sample_count; i++) {
    while (row < trace->command->count && trace->command->time_ns[row] < trace->time_ns[i])
      row++;
    if (row == trace->command->count || trace->command->time_ns[row] != trace->time_ns[i])
      return 0.0;
  }
  return trace->row_period_s;
}

void plag_response_tie(plag_response *response, const double *log_mean, const double *log_variance,
                       double samples) {
  if (response->tau[0].known != PLATELAG_KNOWN_VALUE ||
      response->tau[1].known != PLATELAG_KNOWN_VALUE)
    return;
  const double variance = log_variance[0] + log_variance[1];
  const double difference = log_mean[1] - log_mean[0];
  response->apart = difference * difference / variance > log(fmax(samples, 3.0));
  if (response->apart)
    return;
  const double common =
      exp((log_mean[0] * log_variance[1] + log_mean[1] * log_variance[0]) / variance);
  for (int way = 0; way < 2; way++) {
    platelag_estimate *tau = &response->tau[way];
    tau->value = common;
    tau->low = fmin(tau->low, common);
    tau->high = fmax(tau->high, common);
  }
}

platelag_estimate plag_response_tau(const platelag_estimate *tau, double most_s, double period_s,
                                    size_t steps) {
  const bool touches = tau->low < AT_THE_LEAST * PLAG_TAU_LEAST_S;
  const bool short_of = tau->value < UNRESOLVED_SHARE * period_s;
  if (touches || (short_of && steps < FEW_STEPS))
    return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, most_s};
  return *tau;
}

platelag_estimate plag_response_delay(const plag_cloud *cloud) {
  platelag_estimate estimate = plag_estimate_value(cloud);
  if (estimate.low <= 0.0)
    estimate = plag_estimate_upper_limit(cloud);
  return estimate;
}

static void report(platelag_fit *fit, const platelag_trace *trace, const plag_response *response) {
  platelag_lag *lag = &fit->lag;
  lag->dead_time_s = response->dead_time;
  lag->opening_tau_s = response->tau[1];
  lag->closing_tau_s = response->tau[0];
  lag->opening_t63_s = response->t63[1];
  lag->closing_t63_s = response->t63[0];
  lag->skew_bound_s = plag_response_skew_s(trace);
  lag->command_on_rows = response->on_rows;
  lag->apart = response->apart;
}

static void forget(platelag_fit *fit) {
  const platelag_estimate nothing = plag_estimate_nothing();
  fit->lag =
      (platelag_lag){nothing, nothing, nothing, nothing, nothing, nothing, 0.0, false, false};
  fit->map_knots = 0;
  fit->map_low_pct = fit->map_high_pct = NAN;
}

/* The map from the settled levels of the windows, where these visit the command's range. */
static bool map_from_windows(plag_model *model, const plag_windows *windows) {
  const platelag_trace *trace = model->trace;
  plag_map_point point[2 * PLAG_WINDOWS];
  double low = INFINITY;
  double high = -INFINITY;
  for (size_t i = 0; i < windows->count; i++) {
    const plag_window *w = &windows->window[i];
    point[2 * i] = (plag_map_point){w->command_from, w->before.pct, w->before.count};
    point[2 * i + 1] = (plag_map_point){w->command_to, w->after.pct, w->after.count};
    low = fmin(low, fmin(w->command_from, w->command_to));
    high = fmax(high, fmax(w->command_from, w->command_to));
  }
  if (windows->count < 2 ||
      high - low < PLAG_MAP_SPAN_SHARE * (trace->command_highest - trace->command_lowest))
    return false;
  plag_map_build(model->fit, model->trace, point, 2 * windows->count);
  return true;
}

/* Steps that stand alone say most where there are enough of them each way. */
static bool steps_suffice(const plag_windows *windows) {
  size_t count[2] = {0, 0};
  for (size_t k = 0; k < windows->count; k++)
    count[windows->window[k].opening ? 1 : 0]++;
  return count[0] >= LEAST_STEPS && count[1] >= LEAST_STEPS;
}

static bool map_is_doubtful(const plag_windows *windows, const plag_response *response) {
  double slowest_s = 0.0;
  for (int way = 0; way < 2; way++)
    if (response->tau[way].known == PLATELAG_KNOWN_VALUE)
      slowest_s = fmax(slowest_s, response->tau[way].value);
  return windows->count < SLOW_STEPS && slowest_s > SLOW_TAU_S;
}

/* From whole stretches of the record; true when that settled, the map with it. */
static platelag_status fit_record(plag_model *model, bool without_held, plag_response *response,
                                  bool *settled, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  plag_stretches stretches;
  plag_response whole = *response;
  const platelag_status status = plag_stretches_build(model, without_held, &stretches, error);
  *settled = false;
  if (status != PLATELAG_OK)
    return status;
  const plag_response_view view = {trace->position_refresh_s, plag_response_skew_s(trace),
                                   trace->change_count};
  plag_response_from_record(&stretches, model->noise_pct, &view, &whole, model->fit);
  if (whole.convergence != PLATELAG_CONVERGED)
    return PLATELAG_OK;
  plag_map_finish(model->fit);
  *response = whole;
  *settled = true;
  return PLATELAG_OK;
}

static bool same_windows(const plag_windows *one, const plag_windows *other) {
  bool same = one->count == other->count;
  for (size_t i = 0; same && i < one->count; i++) {
    const plag_window *a = &one->window[i];
    const plag_window *b = &other->window[i];
    same = a->count == b->count && a->width_s == b->width_s && a->command_from == b->command_from &&
           a->command_to == b->command_to && a->before.mean_pct == b->before.mean_pct &&
           a->after.mean_pct == b->after.mean_pct;
  }
  return same;
}

/* Whether the fit rests on windows and held intervals lie in none of them, so that the fit with all
 * samples stands. */
static platelag_status look_for_held(plag_model *model, bool *untouched, platelag_error *error) {
  *untouched = false;
  if (!model->by_steps)
    return PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  plag_windows all;
  plag_windows without;
  platelag_status status = plag_windows_build(model, false, &all, error);
  if (status == PLATELAG_OK)
    status = plag_windows_build(model, true, &without, error);
  if (status == PLATELAG_OK)
    *untouched = same_windows(&all, &without);
  plag_workspace_release(model->workspace, mark);
  return status;
}

static platelag_status fit_response(plag_model *model, bool without_held, platelag_error *error) {
  plag_windows windows;
  plag_response response = {.dead_time = plag_estimate_nothing()};
  bool has_map = false;
  for (int way = 0; way < 2; way++)
    response.tau[way] = response.t63[way] = plag_estimate_nothing();
  platelag_status status = plag_windows_build(model, without_held, &windows, error);
  if (status != PLATELAG_OK)
    return status;
  plag_response_from_steps(model->trace, &windows, &response);
  const bool has_lag = response.convergence == PLATELAG_CONVERGED && steps_suffice(&windows);
  model->by_steps = has_lag && !map_is_doubtful(&windows, &response);
  plag_response by_record = response;
  if (!model->by_steps)
    status = fit_record(model, without_held, &by_record, &has_map, error);
  if (!has_lag)
    response = by_record;
  if (status != PLATELAG_OK)
    return status;
  if (!has_map && !map_from_windows(model, &windows) && !plag_map_build_from_stretches(model))
    return plag_error_memory(error, "settled readings");
  report(model->fit, model->trace, &response);
  return PLATELAG_OK;
}

platelag_status plag_response_fit(plag_model *model, bool without_held, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  platelag_status status = PLATELAG_OK;
  const size_t mark = plag_workspace_mark(model->workspace);
  const bool may_fit = trace->command_kind != PLATELAG_COMMAND_ABSENT && trace->change_count > 0 &&
                       model->valid_count >= LEAST_SAMPLES;
  bool stands = false;
  if (!without_held)
    model->by_steps = false;
  if (may_fit && without_held)
    status = look_for_held(model, &stands, error);
  if (!stands)
    forget(model->fit);
  if (status == PLATELAG_OK && may_fit && !stands)
    status = fit_response(model, without_held, error);
  plag_workspace_release(model->workspace, mark);
  return status;
}
