/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/windows.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/workspace.h"

#define LOOK_S         15.0 /* a step's answer is looked for this long */
#define LEVEL_READINGS 16   /* at most, for a settled level */
#define LEAST_MOVE_PCT 8.0
#define LEAST_AFTER    5     /* readings behind a step */
#define FLAT_SHARE     0.03  /* of the step: what may still be under way */
#define SAME_COMMAND   0.005 /* of the command's range */
#define SETTLED_TAUS   3.0   /* after these 5 % of a move are to come, which can be put right */

/* Readings of one window before they are copied. */
typedef struct cut {
  const plag_model *model;
  platelag_command_change change;
  size_t segment_first, segment_end;
  int64_t free_from_ns, free_to_ns; /* no other change between these */
  bool without_held;
} cut;

static double travel_at(const plag_model *model, size_t sample) {
  return platelag_trace_travel_pct(model->trace, model->trace->level[sample]);
}

static bool is_usable(const cut *c, size_t sample) {
  const platelag_mode mode = (platelag_mode)c->model->mode[sample];
  return !platelag_mode_is_void(mode) && !(c->without_held && mode == PLATELAG_MODE_HELD);
}

static double since_change_s(const cut *c, size_t sample) {
  return platelag_seconds(c->model->trace->time_ns[sample] - c->change.by_ns);
}

/* Mean and squares of samples [from, to); false when one is not usable. */
static bool level_of(const cut *c, size_t from, size_t to, plag_settled *out, double *squares) {
  double sum = 0.0;
  double square = 0.0;
  for (size_t i = from; i < to; i++) {
    if (!is_usable(c, i))
      return false;
    const double pct = travel_at(c->model, i);
    sum += pct;
    square += pct * pct;
  }
  const double count = (double)(to - from);
  *out = (plag_settled){sum / count, count, since_change_s(c, from), since_change_s(c, to - 1),
                        sum / count};
  *squares = fmax(square - sum * sum / count, 0.0);
  return true;
}

/* A level is settled when its halves agree. */
static bool halves_agree(const cut *c, size_t from, size_t to, double tolerance_pct) {
  const size_t middle = from + (to - from) / 2;
  plag_settled early;
  plag_settled late;
  double squares;
  if (to - from < 2)
    return true;
  return level_of(c, from, middle, &early, &squares) && level_of(c, middle, to, &late, &squares) &&
         fabs(early.mean_pct - late.mean_pct) <= tolerance_pct;
}

/* The samples in (a, b], searched from `hint` on. */
static size_t first_after(const platelag_trace *trace, size_t hint, size_t end, int64_t at_ns) {
  size_t reach = 1;
  size_t low = hint;
  while (low + reach < end && trace->time_ns[low + reach] <= at_ns) {
    low += reach;
    reach *= 2;
  }
  size_t high = low + reach < end ? low + reach : end;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (trace->time_ns[middle] <= at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

/* Index behind the last reading that is still clearly on its way. */
static size_t settled_from(const cut *c, size_t from, size_t to, const plag_window *window) {
  const double near_pct = fmax(4.0 * c->model->noise_pct,
                               0.02 * fabs(window->after.mean_pct - window->before.mean_pct));
  size_t last = from;
  for (size_t i = from; i < to; i++)
    if (fabs(travel_at(c->model, i) - window->after.mean_pct) > near_pct)
      last = i + 1;
  return last;
}

static bool copy_readings(const cut *c, size_t from, size_t to, plag_windows *windows,
                          plag_window *window) {
  const size_t stride = (to - from + PLAG_WINDOW_POINTS - 1) / PLAG_WINDOW_POINTS;
  for (size_t i = from; i < to; i += stride) {
    if (!is_usable(c, i))
      return false;
    windows->time_s[window->first + window->count] = since_change_s(c, i);
    windows->travel_pct[window->first + window->count++] = travel_at(c->model, i);
  }
  return true;
}

/* Samples about a change: [rested, begin) before it, [begin, end) until the next, the last
 * `settled` of which are a level. */
typedef struct stay {
  size_t rested, begin, end, settled;
} stay;

static bool find_stay(const cut *c, size_t hint, stay *out) {
  const platelag_trace *trace = c->model->trace;
  out->begin = first_after(trace, hint, c->segment_end, c->change.after_ns);
  const int64_t look_ns = c->change.by_ns + (int64_t)(LOOK_S * 1e9);
  const int64_t to_ns = c->free_to_ns < look_ns ? c->free_to_ns : look_ns;
  out->end = first_after(trace, out->begin, c->segment_end, to_ns);
  if (out->end < out->begin + LEAST_AFTER)
    return false;
  out->rested = out->begin;
  while (out->rested > c->segment_first && out->begin - out->rested < LEVEL_READINGS / 2 &&
         trace->time_ns[out->rested - 1] > c->free_from_ns)
    out->rested--;
  const size_t quarter = (out->end - out->begin) / 4;
  out->settled = quarter < 2 ? 2 : quarter > LEVEL_READINGS ? LEVEL_READINGS : quarter;
  return out->begin - out->rested >= 2;
}

/* The levels on both sides; false where they are none, or not apart. */
static bool read_levels(const cut *c, const stay *at, plag_window *window, double *squares) {
  double before_squares;
  double after_squares;
  if (!level_of(c, at->rested, at->begin, &window->before, &before_squares) ||
      !level_of(c, at->end - at->settled, at->end, &window->after, &after_squares))
    return false;
  const double move_pct = window->after.mean_pct - window->before.mean_pct;
  const double noise_pct = c->model->noise_pct;
  const double flat_pct = fmax(FLAT_SHARE * fabs(move_pct), 3.0 * noise_pct);
  window->opening = move_pct > 0.0;
  *squares = before_squares + after_squares;
  return fabs(move_pct) >= fmax(LEAST_MOVE_PCT, 6.0 * noise_pct) &&
         halves_agree(c, at->rested, at->begin, flat_pct) &&
         halves_agree(c, at->end - 2 * at->settled, at->end, flat_pct);
}

/* Makes the window of one change; false when it does not stand alone. `squares` and `degrees`
 * gather the noise of settled readings. */
static bool cut_window(const cut *c, size_t hint, plag_windows *windows, double *squares,
                       double *degrees) {
  stay at;
  double own_squares;
  plag_window window = {
      .width_s = platelag_seconds(c->change.by_ns - c->change.after_ns),
      .command_from = c->change.from,
      .command_to = c->change.to,
      .rested_s = platelag_seconds(c->change.after_ns - c->free_from_ns),
      .first = windows->count * PLAG_WINDOW_POINTS,
  };
  if (!find_stay(c, hint, &at) || !read_levels(c, &at, &window, &own_squares))
    return false;
  const size_t settled = settled_from(c, at.begin, at.end, &window);
  const size_t stop = settled + (settled - at.begin) / 2 + 4;
  const size_t start = at.begin - at.rested > 3 ? at.begin - 3 : at.rested;
  if (!copy_readings(c, start, stop < at.end ? stop : at.end, windows, &window))
    return false;
  windows->window[windows->count++] = window;
  *squares += own_squares;
  *degrees += window.before.count + window.after.count - 2.0;
  return true;
}

static void set_segment(cut *c, size_t segment) {
  const platelag_trace_segment *s = &c->model->trace->segment[segment];
  c->segment_first = s->first_sample;
  c->segment_end = s->first_sample + s->sample_count;
}

/* Whether change `index` has room before and behind it, as far as time alone can tell. */
static bool has_room(cut *c, size_t index) {
  const platelag_trace *trace = c->model->trace;
  c->change = platelag_trace_change_at(trace, index);
  const platelag_trace_segment *s = &trace->segment[c->change.segment];
  c->free_from_ns = s->from_ns - 1;
  c->free_to_ns = s->to_ns;
  if (index > s->first_change)
    c->free_from_ns = platelag_trace_change_at(trace, index - 1).by_ns;
  if (index + 1 < s->first_change + s->change_count)
    c->free_to_ns = platelag_trace_change_at(trace, index + 1).after_ns;
  const int64_t period_ns = (int64_t)(trace->position_refresh_s * 1e9);
  set_segment(c, c->change.segment);
  return c->free_to_ns - c->change.by_ns >= (LEAST_AFTER - 1) * period_ns &&
         c->change.after_ns - c->free_from_ns >= period_ns;
}

/* Draws each settled level towards the mean of its command's, by how far those scatter. */
static void share_levels(const plag_model *model, plag_windows *windows) {
  const double near = SAME_COMMAND * (model->trace->command_highest - model->trace->command_lowest);
  plag_window *w = windows->window;
  const size_t count = 2 * windows->count;
  double squares = 0.0;
  double degrees = 0.0;
  for (int pass = 0; pass < 2; pass++) {
    const double own = fmax(windows->spread_pct * windows->spread_pct, 1e-6);
    for (size_t i = 0; i < count; i++) {
      plag_settled *level = i % 2 ? &w[i / 2].after : &w[i / 2].before;
      const double command = i % 2 ? w[i / 2].command_to : w[i / 2].command_from;
      double sum = 0.0;
      double mass = 0.0;
      for (size_t j = 0; j < count; j++) {
        const plag_settled *other = j % 2 ? &w[j / 2].after : &w[j / 2].before;
        const double at = j % 2 ? w[j / 2].command_to : w[j / 2].command_from;
        if (fabs(at - command) > near)
          continue;
        sum += other->mean_pct * other->count;
        mass += other->count;
      }
      const double off = level->mean_pct - sum / mass;
      const double error = windows->noise_pct * windows->noise_pct / level->count;
      if (pass == 0 && mass > level->count) {
        squares += fmin(off * off, 25.0 * error + 4.0) - error;
        degrees += 1.0;
      } else if (pass == 1) {
        level->pct = sum / mass + off * own / (own + error);
      }
    }
    windows->spread_pct = degrees > 0.0 ? sqrt(fmax(squares / degrees, 0.0)) : 0.0;
  }
}

platelag_status plag_windows_build(plag_model *model, bool without_held, plag_windows *windows,
                                   platelag_error *error) {
  const platelag_trace *trace = model->trace;
  *windows = (plag_windows){0};
  windows->window = plag_workspace_take(model->workspace, PLAG_WINDOWS, sizeof(plag_window));
  windows->time_s =
      plag_workspace_take(model->workspace, PLAG_WINDOWS * PLAG_WINDOW_POINTS, sizeof(double));
  windows->travel_pct =
      plag_workspace_take(model->workspace, PLAG_WINDOWS * PLAG_WINDOW_POINTS, sizeof(double));
  if (!windows->window || !windows->time_s || !windows->travel_pct)
    return plag_error_memory(error, "windows about command steps");
  cut c = {.model = model, .without_held = without_held};
  size_t roomy = 0;
  for (size_t k = 0; k < trace->change_count; k++)
    roomy += has_room(&c, k);
  const size_t stride = roomy / PLAG_WINDOWS + 1;
  double squares = 0.0;
  double degrees = 0.0;
  size_t seen = 0;
  size_t hint = 0;
  for (size_t k = 0; k < trace->change_count && windows->count < PLAG_WINDOWS; k++) {
    if (!has_room(&c, k) || seen++ % stride != 0)
      continue;
    hint = hint < c.segment_first ? c.segment_first : hint;
    hint = first_after(trace, hint, c.segment_end, c.free_from_ns);
    (void)cut_window(&c, hint, windows, &squares, &degrees);
  }
  windows->quantum_pct = fabs(platelag_trace_travel_pct(trace, trace->level_quantum) -
                              platelag_trace_travel_pct(trace, 0.0));
  windows->noise_pct = fmax(degrees > 0.0 ? sqrt(squares / degrees) : model->noise_pct,
                            fmax(windows->quantum_pct / sqrt(12.0), 0.01));
  share_levels(model, windows);
  return PLATELAG_OK;
}

void plag_windows_correct(plag_windows *windows, double dead_time_s, double tau_open_s,
                          double tau_close_s) {
  for (size_t i = 0; i < windows->count; i++) {
    plag_window *w = &windows->window[i];
    const double tau_s = w->opening ? tau_open_s : tau_close_s;
    if (!(tau_s > 0.0))
      continue;
    const double delay_s = dead_time_s - 0.5 * w->width_s;
    const double from = fmax(w->after.from_s - delay_s, 0.0) / tau_s;
    const double to = fmax(w->after.to_s - delay_s, 0.0) / tau_s;
    const double mean = to > from ? (exp(-from) - exp(-to)) / (to - from) : exp(-from);
    const double left = fmin(mean, 0.5);
    w->after.pct = w->before.pct + (w->after.pct - w->before.pct) / (1.0 - left);
  }
}

void plag_windows_drop_unsettled(plag_windows *windows, double dead_time_s, double tau_open_s,
                                 double tau_close_s) {
  size_t kept = 0;
  for (size_t i = 0; i < windows->count; i++) {
    const plag_window *w = &windows->window[i];
    const double tau_s = w->opening ? tau_open_s : tau_close_s;
    const double least_s = dead_time_s + SETTLED_TAUS * tau_s;
    const double least_before_s =
        dead_time_s + SETTLED_TAUS * fmin(tau_open_s, tau_close_s); /* which way it came is open */
    if (w->after.from_s >= least_s && w->rested_s >= least_before_s)
      windows->window[kept++] = *w;
  }
  windows->count = kept;
}

static double t63_of(const plag_windows *windows, const plag_window *w) {
  const double *t = windows->time_s + w->first;
  const double *y = windows->travel_pct + w->first;
  const double move = w->after.pct - w->before.pct;
  for (size_t i = 1; i < w->count; i++) {
    const double now = (y[i] - w->before.pct) / move;
    const double last = (y[i - 1] - w->before.pct) / move;
    if (now < 0.632)
      continue;
    const double share = now > last ? (0.632 - fmin(last, 0.632)) / (now - last) : 1.0;
    return t[i - 1] + share * (t[i] - t[i - 1]) + 0.5 * w->width_s;
  }
  return t[w->count - 1] + 0.5 * w->width_s;
}

double plag_windows_t63_s(const plag_windows *windows, bool opening) {
  double t63[PLAG_WINDOWS];
  size_t count = 0;
  for (size_t i = 0; i < windows->count; i++)
    if (windows->window[i].opening == opening)
      t63[count++] = t63_of(windows, &windows->window[i]);
  return plag_median(t63, count);
}
