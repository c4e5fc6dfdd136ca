/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All openings and all closings, each laid over each other: how much of the asked way is done, over
 * the time since the command changed, with the fitted response and its interval. */
#include "report/plots.h"

#include <math.h>

#define LEAST_MOVE_PCT 10.0
#define BEFORE_S       0.3
#define SHORTEST_S     1.5
#define LONGEST_S      8.0
#define T63_LENGTHS    5.0
#define T63_PCT        63.2
#define LOWEST_PCT     (-20.0) /* what is drawn */
#define HIGHEST_PCT    130.0
#define SAME_COMMAND   0.03 /* of its span */
enum { CURVE_POINTS = 61, MOST_MOVES = 150 };

/* The travel a step asks for in the end; where it came to rest, when no map tells. */
static double aim_of(const platelag_review_valve *valve, const platelag_step *step) {
  const double target = platelag_fit_target_pct(valve->fit, valve->trace, step->command_to);
  return isnan(target) ? step->to_pct : target;
}

static bool is_move(const platelag_review_valve *valve, const platelag_step *step, bool opening) {
  const double way = aim_of(valve, step) - step->from_pct;
  return isfinite(way) && fabs(way) >= LEAST_MOVE_PCT && (way > 0) == opening;
}

static size_t count_moves(const platelag_review_valve *valve, bool opening) {
  size_t count = 0;
  for (size_t i = 0; i < valve->fit->step_count; i++)
    count += is_move(valve, &valve->fit->step[i], opening);
  return count;
}

/* First sample at or after `time_ns`. */
static size_t sample_from(const platelag_trace *trace, int64_t time_ns) {
  size_t low = 0, high = trace->sample_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (trace->time_ns[middle] < time_ns)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

/* When the command is no longer what the step at `at_ns` made it. */
static int64_t next_command_ns(const platelag_review_valve *valve, const platelag_step *step,
                               int64_t end_ns) {
  const platelag_trace *trace = valve->trace;
  size_t low = 0, high = trace->change_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (platelag_trace_change_at(trace, middle).after_ns < step->at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  const double span = trace->command_highest - trace->command_lowest;
  for (; low < trace->change_count; low++) {
    const platelag_command_change change = platelag_trace_change_at(trace, low);
    if (change.after_ns >= end_ns)
      break;
    if (fabs(change.to - step->command_to) > SAME_COMMAND * span)
      return change.after_ns;
  }
  return end_ns;
}

/* Until when a move is drawn: the command moves on, its segment ends, or the plot does. */
static int64_t end_of_move(const platelag_review_valve *valve, size_t index, double window_s) {
  const platelag_step *step = &valve->fit->step[index];
  int64_t end_ns = step->at_ns + (int64_t)llround(window_s * 1e9);
  for (size_t s = 0; s < valve->trace->segment_count; s++) {
    const platelag_trace_segment *segment = &valve->trace->segment[s];
    if (segment->from_ns <= step->at_ns && step->at_ns <= segment->to_ns && segment->to_ns < end_ns)
      end_ns = segment->to_ns;
  }
  return next_command_ns(valve, step, end_ns);
}

typedef struct moves {
  const platelag_review_valve *valve;
  double window_s;
  double *x, *y; /* NULL while only counting */
  size_t count;
} moves;

static void add_point(moves *all, double x, double y) {
  if (all->x != NULL) {
    all->x[all->count] = x;
    all->y[all->count] = y;
  }
  all->count++;
}

/* The span of modes that holds a sample; spans stand in order and may leave some out. */
static bool is_void(const platelag_fit *fit, size_t sample) {
  size_t low = 0, high = fit->span_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (fit->span[middle].first_sample + fit->span[middle].sample_count <= sample)
      low = middle + 1;
    else
      high = middle;
  }
  return low < fit->span_count && fit->span[low].first_sample <= sample &&
         platelag_mode_is_void(fit->span[low].mode);
}

/* Void readings are left out: they are no movement. */
static void add_move(moves *all, size_t index) {
  const platelag_trace *trace = all->valve->trace;
  const platelag_step *step = &all->valve->fit->step[index];
  const double way = aim_of(all->valve, step) - step->from_pct;
  const int64_t end_ns = end_of_move(all->valve, index, all->window_s);
  size_t at = sample_from(trace, step->at_ns - (int64_t)llround(BEFORE_S * 1e9));
  for (; at < trace->sample_count && trace->time_ns[at] <= end_ns; at++) {
    if (is_void(all->valve->fit, at)) {
      add_point(all, all->window_s, NAN);
      continue;
    }
    const double travel = platelag_trace_travel_pct(trace, trace->level[at]);
    add_point(all, platelag_seconds(trace->time_ns[at] - step->at_ns),
              fmin(fmax(100 * (travel - step->from_pct) / way, LOWEST_PCT), HIGHEST_PCT));
  }
  add_point(all, all->window_s, NAN);
}

/* All moves one way, or as many of them, evenly taken, as a plot can show. */
static void walk_moves(moves *all, bool opening, size_t found) {
  const size_t shown = found < MOST_MOVES ? found : MOST_MOVES;
  size_t seen = 0, taken = 0;
  for (size_t i = 0; i < all->valve->fit->step_count; i++)
    if (is_move(all->valve, &all->valve->fit->step[i], opening)) {
      if (seen * shown / found >= taken) {
        add_move(all, i);
        taken++;
      }
      seen++;
    }
}

static void add_moves(plag_document *document, const platelag_review_valve *valve, bool opening,
                      double window_s, plag_plot_panel *panel) {
  const size_t found = count_moves(valve, opening);
  if (found == 0)
    return;
  moves all = {.valve = valve, .window_s = window_s};
  walk_moves(&all, opening, found);
  const size_t room = all.count;
  all.x = plag_plot_array(document, room);
  all.y = plag_plot_array(document, room);
  if (all.x == NULL || all.y == NULL)
    return;
  all.count = 0;
  walk_moves(&all, opening, found);
  plag_document_say_count(document, found, opening ? "opening" : "closing");
  if (found > MOST_MOVES) {
    plag_document_say(document, ", ");
    plag_document_say_number(document, MOST_MOVES, 0);
    plag_document_say(document, " of them drawn");
  }
  plag_plot_line *line =
      plag_plot_add_line(panel, PLAG_LOOK_MOVE, PLAG_STROKE_TRACK, plag_document_take(document));
  line->count = all.count;
  line->x = all.x;
  line->y = all.y;
}

/* --- the fitted response ---------------------------------------------------------------------- */

static double done_pct(double since_s, double dead_s, double t63_s) {
  const double late_s = since_s - dead_s;
  if (!(late_s > 0))
    return 0;
  return 100 * (1 - exp(-late_s / fmax(t63_s - dead_s, 1e-6)));
}

static double value_or(const platelag_estimate *estimate, double otherwise) {
  return estimate->known == PLATELAG_KNOWN_VALUE ? estimate->value : otherwise;
}

/* A dead time that is known as a limit only counts as half of it. */
static double dead_time_s(const platelag_lag *lag) {
  const bool limit = lag->dead_time_s.known == PLATELAG_KNOWN_UPPER_LIMIT;
  return limit ? lag->dead_time_s.high / 2 : value_or(&lag->dead_time_s, 0);
}

static void add_response(plag_document *document, const platelag_lag *lag,
                         const platelag_estimate *t63, double window_s, plag_plot_panel *panel) {
  if (t63->known != PLATELAG_KNOWN_VALUE && t63->known != PLATELAG_KNOWN_UPPER_LIMIT)
    return;
  double *x = plag_plot_array(document, CURVE_POINTS);
  double *fit = plag_plot_array(document, CURVE_POINTS);
  double *slow = plag_plot_array(document, CURVE_POINTS);
  double *fast = plag_plot_array(document, CURVE_POINTS);
  if (x == NULL || fit == NULL || slow == NULL || fast == NULL)
    return;
  const bool is_value = t63->known == PLATELAG_KNOWN_VALUE;
  const double dead_s = fmin(dead_time_s(lag), is_value ? t63->value : t63->high);
  const double low_s = fmax(isfinite(t63->low) ? t63->low : 0, 1e-3);
  const double high_s = isfinite(t63->high) ? t63->high : LONGEST_S;
  for (size_t i = 0; i < CURVE_POINTS; i++) {
    x[i] = -BEFORE_S + (window_s + BEFORE_S) * (double)i / (CURVE_POINTS - 1);
    fit[i] = is_value ? done_pct(x[i], dead_s, t63->value) : NAN;
    slow[i] = done_pct(x[i], fmin(dead_s, high_s), high_s);
    fast[i] = done_pct(x[i], fmin(dead_s, low_s), low_s);
  }
  plag_plot_line *range = plag_plot_add_line(
      panel, PLAG_LOOK_RANGE, PLAG_STROKE_RANGE,
      is_value ? "its 90 % interval" : "fitted response: at the slowest, or faster");
  *range = (plag_plot_line){range->look, range->stroke, range->name, CURVE_POINTS, x, slow, fast};
  if (!is_value)
    return;
  plag_plot_line *line =
      plag_plot_add_line(panel, PLAG_LOOK_FIT, PLAG_STROKE_TRACK, "fitted response of free plates");
  line->count = CURVE_POINTS;
  line->x = x;
  line->y = fit;
}

/* Long enough for the slower way to settle. */
static double window_of(const platelag_review_valve *valve) {
  const platelag_lag *lag = &valve->fit->lag;
  const double t63_s =
      fmax(fmax(value_or(&lag->opening_t63_s, 0), value_or(&lag->closing_t63_s, 0)),
           valve->spec.t63_limit_s);
  return fmin(fmax(T63_LENGTHS * t63_s, SHORTEST_S), LONGEST_S);
}

static void add_panel(plag_document *document, const platelag_review_valve *valve, bool opening,
                      plag_plot *plot) {
  plag_plot_panel *panel = plag_plot_add_panel(
      plot, opening ? "opening: % of the way done" : "closing: % of the way done", false);
  const platelag_lag *lag = &valve->fit->lag;
  add_response(document, lag, opening ? &lag->opening_t63_s : &lag->closing_t63_s, plot->x.to,
               panel);
  add_moves(document, valve, opening, plot->x.to, panel);
  plag_plot_add_mark(panel, true, true, valve->spec.t63_limit_s,
                     plag_plot_limit_label(document, valve->spec.t63_limit_s, "s"));
  plag_plot_add_mark(panel, false, false, T63_PCT, "63 % done");
  plag_plot_fit_y(panel, -10, 110);
}

void plag_plot_moves(plag_document *document, const platelag_review_valve *valve, plag_plot *plot) {
  if (!plag_plot_in_travel(valve->trace) ||
      count_moves(valve, true) + count_moves(valve, false) == 0)
    return;
  plot->title = "Openings and closings laid over each other";
  plot->text = "Free plates pass 63 % left of the limit; plates that stick stay behind, jump, or "
               "stop on the way.";
  plot->x = (plag_axis){
      .from = -BEFORE_S, .to = window_of(valve), .label = "time since the command changed (s)"};
  add_panel(document, valve, true, plot);
  add_panel(document, valve, false, plot);
}
