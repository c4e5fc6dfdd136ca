/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps measured with a ruler: no model, only crossings interpolated between readings. Vocabulary
 * of step tests (dead time, T63, T86, overshoot): ANSI/ISA-75.25.01. */
#include "model/steps.h"

#include <math.h>

#include "core/error.h"
#include "model/course.h"
#include "model/workspace.h"

#define LEAST_SHARE    0.02 /* of the command's span; smaller changes are no steps */
#define SIZE_CLASSES   256
#define BEFORE_S       1.0  /* readings this long before a step give the level it left */
#define LONGEST_S      12.0 /* a step is looked at no longer */
#define LEAST_MOVE_PCT 1.0
#define VOID_SHARE     0.2
#define SHORT_BY_PCT   4.0  /* a halt this far short is no settling */
#define MOVE_BEGAN     0.05 /* of the way */

/* Readings around one step. */
typedef struct window {
  size_t before, first, end; /* samples: [before, first) old level, [first, end) answer */
  int64_t at_ns;
} window;

static bool is_valid(const plag_model *model, size_t sample) {
  return !platelag_mode_is_void((platelag_mode)model->mode[sample]);
}

static double travel_at(const plag_model *model, size_t sample) {
  return platelag_trace_travel_pct(model->trace, model->trace->level[sample]);
}

/* Mean of the valid readings in [from, end); NaN for none. */
static double mean_of(const plag_model *model, size_t from, size_t end) {
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = from; i < end; i++) {
    if (!is_valid(model, i))
      continue;
    sum += travel_at(model, i);
    count++;
  }
  return count > 0 ? sum / (double)count : NAN;
}

/* Time after `at_ns` at which readings first pass `level_pct` and go on that way, linear between
 * readings; NaN when they never do. */
static double crossing_s(const plag_model *model, const window *span, double level_pct,
                         double direction) {
  const platelag_trace *trace = model->trace;
  size_t last = span->first > span->before ? span->first - 1 : span->first;
  for (size_t i = span->first; i < span->end; i++) {
    if (!is_valid(model, i))
      continue;
    const double here = direction * (travel_at(model, i) - level_pct);
    if (here >= 0.0) {
      const double there = direction * (travel_at(model, last) - level_pct);
      const double share = i > last && there < 0.0 ? -there / (here - there) : 1.0;
      const double dt_s = platelag_seconds(trace->time_ns[i] - trace->time_ns[last]);
      return platelag_seconds(trace->time_ns[last] - span->at_ns) + share * dt_s;
    }
    last = i;
  }
  return NAN;
}

static double furthest(const plag_model *model, const window *span, double direction) {
  double most = -INFINITY;
  for (size_t i = span->first; i < span->end; i++)
    if (is_valid(model, i))
      most = fmax(most, direction * travel_at(model, i));
  return direction * most;
}

static double void_share(const plag_model *model, const window *span) {
  size_t count = 0;
  for (size_t i = span->first; i < span->end; i++)
    count += !is_valid(model, i);
  return (double)count / (double)(span->end - span->first);
}

static platelag_step_end how_it_ended(const plag_model *model, const window *span,
                                      const platelag_step *step, bool cut) {
  const double move_pct = step->to_pct - step->from_pct;
  if (fabs(move_pct) < fmax(LEAST_MOVE_PCT, 3.0 * model->noise_pct))
    return PLATELAG_STEP_NO_MOVE;
  const size_t count = span->end - span->first;
  const double late = mean_of(model, span->end - (count + 7) / 8, span->end);
  const double earlier = mean_of(model, span->end - (count + 2) / 3, span->end - count / 8);
  if (count >= 4 && fabs(late - earlier) <= fmax(2.5 * model->noise_pct, 0.03 * fabs(move_pct)))
    return PLATELAG_STEP_SETTLED;
  return cut ? PLATELAG_STEP_CUT : PLATELAG_STEP_INTERRUPTED;
}

static void measure(const plag_model *model, const plag_transition *change, const window *span,
                    platelag_step *step) {
  *step = (platelag_step){
      .at_ns = span->at_ns,
      .command_from = change->from,
      .command_to = change->to,
      .dead_time_s = NAN,
      .t63_s = NAN,
      .t86_s = NAN,
      .overshoot_pct = NAN,
      .rest_error_pct = NAN,
      .from_pct = mean_of(model, span->before, span->first),
      .timing_error_s = 0.5 * (platelag_seconds(change->by_ns - change->after_ns) +
                               model->trace->position_refresh_s),
  };
  const size_t count = span->end - span->first;
  step->to_pct = mean_of(model, span->end - (count + 3) / 4, span->end);
  if (count == 0 || isnan(step->from_pct) || isnan(step->to_pct) ||
      void_share(model, span) > VOID_SHARE) {
    step->end = PLATELAG_STEP_VOID;
    return;
  }
  step->end = how_it_ended(model, span, step, change->last);
  if (step->end != PLATELAG_STEP_SETTLED)
    return;
  const double way = step->to_pct - step->from_pct;
  const double direction = way > 0.0 ? 1.0 : -1.0;
  const double began = fmax(MOVE_BEGAN * fabs(way), 3.0 * model->noise_pct);
  step->dead_time_s = crossing_s(model, span, step->from_pct + direction * began, direction);
  step->t63_s = crossing_s(model, span, step->from_pct + 0.632 * way, direction);
  step->t86_s = crossing_s(model, span, step->from_pct + 0.865 * way, direction);
  const double over = direction * (furthest(model, span, direction) - step->to_pct);
  step->overshoot_pct = over > 3.0 * model->noise_pct ? over : 0.0;
}

/* First sample of the segment at or after `at_ns`, looked for from `from` on. */
static size_t sample_from(const platelag_trace *trace, size_t from, size_t end, int64_t at_ns) {
  while (from < end && trace->time_ns[from] < at_ns)
    from++;
  return from;
}

static size_t size_class(const platelag_trace *trace, const plag_transition *change) {
  const double share =
      fabs(change->to - change->from) / (trace->command_highest - trace->command_lowest);
  return (size_t)fmin(share * (SIZE_CLASSES - 1), SIZE_CLASSES - 1);
}

static bool is_measurable(const platelag_trace *trace, const plag_transition *change) {
  return change->is_step && fabs(change->to - change->from) >=
                                LEAST_SHARE * (trace->command_highest - trace->command_lowest);
}

/* The least size class of which all steps, and those above, fit the table. */
static size_t least_class(const platelag_trace *trace, size_t *total) {
  size_t count[SIZE_CLASSES] = {0};
  *total = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    plag_transitions walk;
    plag_transition change;
    for (plag_transitions_begin(&walk, trace, s); plag_transitions_next(&walk, &change);) {
      if (!is_measurable(trace, &change))
        continue;
      count[size_class(trace, &change)]++;
      ++*total;
    }
  }
  size_t least = SIZE_CLASSES;
  for (size_t kept = 0; least > 0 && kept + count[least - 1] <= PLAG_MOST_STEPS; least--)
    kept += count[least - 1];
  /* When the largest class alone is too large, its first ones stand for it. */
  return least == SIZE_CLASSES ? SIZE_CLASSES - 1 : least;
}

static size_t measure_segment(plag_model *model, size_t index, size_t least, platelag_step *step,
                              size_t room) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const size_t end = segment->first_sample + segment->sample_count;
  size_t cursor = segment->first_sample;
  size_t count = 0;
  plag_transitions walk;
  plag_transition change;
  for (plag_transitions_begin(&walk, trace, index); plag_transitions_next(&walk, &change);) {
    if (!is_measurable(trace, &change) || size_class(trace, &change) < least || count == room)
      continue;
    window span = {.at_ns = change.by_ns - (change.by_ns - change.after_ns) / 2};
    span.before =
        sample_from(trace, cursor, end, change.after_ns - (int64_t)llround(BEFORE_S * 1e9));
    span.first = sample_from(trace, span.before, end, span.at_ns);
    if (span.before == span.first && span.before > segment->first_sample)
      span.before--;
    int64_t until_ns = span.at_ns + (int64_t)llround(LONGEST_S * 1e9);
    if (until_ns > change.next_ns)
      until_ns = change.next_ns;
    span.end = sample_from(trace, span.first, end, until_ns + 1);
    cursor = span.before;
    if (span.end > span.first)
      measure(model, &change, &span, &step[count++]);
  }
  return count;
}

platelag_status plag_steps_measure(plag_model *model, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  platelag_fit *fit = model->fit;
  if (trace->command_kind == PLATELAG_COMMAND_ABSENT ||
      !(trace->command_highest > trace->command_lowest))
    return PLATELAG_OK;
  const size_t least = least_class(trace, &fit->steps_in_trace);
  const size_t room = fit->steps_in_trace < PLAG_MOST_STEPS ? fit->steps_in_trace : PLAG_MOST_STEPS;
  if (room == 0)
    return PLATELAG_OK;
  platelag_step *step = plag_arena_take_array(model->arena, room, sizeof step[0]);
  if (!step)
    return plag_error_memory(error, "the table of steps");
  for (size_t s = 0; s < trace->segment_count; s++)
    fit->step_count +=
        measure_segment(model, s, least, step + fit->step_count, room - fit->step_count);
  fit->step = step;
  return PLATELAG_OK;
}

void plag_steps_finish(plag_model *model) {
  platelag_fit *fit = model->fit;
  /* The table was made in this fit's own arena and is not yet lent to anybody. */
  platelag_step *step = (platelag_step *)fit->step;
  for (size_t k = 0; k < fit->step_count; k++) {
    if (step[k].end != PLATELAG_STEP_SETTLED && step[k].end != PLATELAG_STEP_NO_MOVE)
      continue;
    step[k].rest_error_pct =
        step[k].to_pct - plag_model_target_pct(fit, model->trace, step[k].command_to);
    const double way = step[k].to_pct - step[k].from_pct;
    const bool is_short = way * step[k].rest_error_pct < 0.0 &&
                          fabs(step[k].rest_error_pct) > SHORT_BY_PCT + 3.0 * model->noise_pct;
    if (step[k].end == PLATELAG_STEP_SETTLED && is_short)
      step[k].end = PLATELAG_STEP_STUCK;
  }
  const plag_lag_point lag = plag_lag_point_of(fit);
  const double tau_s = fmax(lag.tau_open_s, lag.tau_close_s);
  const bool known = fit->lag.opening_tau_s.known != PLATELAG_KNOWN_NOTHING ||
                     fit->lag.closing_tau_s.known != PLATELAG_KNOWN_NOTHING;
  if (known && model->trace->position_refresh_s > 0.0)
    fit->coverage.samples_per_move =
        (lag.dead_time_s + 2.0 * tau_s) / model->trace->position_refresh_s;
}

const char *platelag_step_end_name(platelag_step_end end) {
  static const char *const names[] = {
      [PLATELAG_STEP_SETTLED] = "settled", [PLATELAG_STEP_INTERRUPTED] = "interrupted",
      [PLATELAG_STEP_STUCK] = "stuck",     [PLATELAG_STEP_NO_MOVE] = "no move",
      [PLATELAG_STEP_VOID] = "void",       [PLATELAG_STEP_CUT] = "cut",
  };
  return (size_t)end < sizeof names / sizeof names[0] ? names[end] : "unknown";
}
