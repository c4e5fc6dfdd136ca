/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/onset.h"

#include <math.h>

#include "core/exponential.h"

#define NEGLIGIBLE      45.0 /* natural log below the best: nothing is added from there */
#define ROOM_FOR_CHANCE 15.0
#define OUT_OF_REACH    700.0

/* fmin and fmax are calls, for the sake of NaN; there is none here. */
static inline double lesser(double a, double b) {
  return a < b ? a : b;
}

static inline double greater(double a, double b) {
  return a > b ? a : b;
}

/* For onsets between two readings the sum of squares is a quadratic of h = d exp(o / tau):
 * before + R2 - 2 h RE + h^2 EE, with sums over the readings behind the onset. */
typedef struct sums {
  double before[PLAG_WINDOW_POINTS + 1];
  double r2[PLAG_WINDOW_POINTS + 1];
  double re[PLAG_WINDOW_POINTS + 1];
  double ee[PLAG_WINDOW_POINTS + 1];
  double e[PLAG_WINDOW_POINTS]; /* exp(-t / tau) */
} sums;

static void sum_up(const plag_windows *windows, const plag_window *w, double tau_s, sums *s) {
  const double *t = windows->time_s + w->first;
  const double *y = windows->travel_pct + w->first;
  const size_t n = w->count;
  s->before[0] = 0.0;
  for (size_t i = 0; i < n; i++) {
    const double off = y[i] - w->before.pct;
    s->before[i + 1] = s->before[i] + off * off;
  }
  s->r2[n] = s->re[n] = s->ee[n] = 0.0;
  for (size_t i = n; i-- > 0;) {
    const double off = y[i] - w->after.pct;
    const double e = plag_exp(-t[i] / tau_s);
    s->e[i] = e;
    s->r2[i] = s->r2[i + 1] + off * off;
    s->re[i] = s->re[i + 1] + off * e;
    s->ee[i] = s->ee[i + 1] + e * e;
  }
}

static double squares_at(const sums *s, size_t piece, double h) {
  const double squares =
      s->before[piece] + s->r2[piece] - 2.0 * h * s->re[piece] + h * h * s->ee[piece];
  return greater(squares, 0.0);
}

/* A stretch of onsets between grid points and readings. */
typedef struct cell {
  size_t piece;
  double width_s;
  double h_from, h_to;
  double cost_from, cost_to; /* squares over twice the variance at the ends */
  double best;               /* the least inside */
} cell;

/* Onsets looked at, evenly spaced. */
typedef struct axis {
  double first_s, step_s;
  size_t grid; /* points */
} axis;

/* Written cell by cell; far too large to be set to zero for each window. */
typedef struct cells {
  cell cell[PLAG_ONSET_CELLS + PLAG_WINDOW_POINTS];
  size_t end_of[PLAG_ONSET_CELLS + 1]; /* cells up to grid point i */
  double best;
  double best_at_s;
} cells;

/* Where the cutting has come to. */
typedef struct edge {
  size_t piece;
  double at_s, h, cost;
} edge;

/* Adds the cell from `edge` to there and goes on to its end; the cost is continuous at readings. */
static void add_cell(cells *c, size_t used, const sums *s, edge *from, double end_s, double h,
                     double per_square) {
  cell *one = &c->cell[used];
  one->piece = from->piece;
  one->width_s = end_s - from->at_s;
  one->h_from = from->h;
  one->h_to = h;
  one->cost_from = from->cost;
  one->cost_to = squares_at(s, from->piece, h) * per_square;
  one->best = lesser(one->cost_from, one->cost_to);
  const double re = s->re[from->piece];
  const double ee = s->ee[from->piece];
  if ((re - from->h * ee) * (re - h * ee) < 0.0) /* the parabola's foot lies inside */
    one->best = squares_at(s, from->piece, re / ee) * per_square;
  if (one->best < c->best) {
    c->best = one->best;
    c->best_at_s = 0.5 * (from->at_s + end_s);
  }
  from->at_s = end_s;
  from->h = h;
  from->cost = one->cost_to;
}

/* Cuts first_s .. first_s + (grid - 1) step_s at the grid and at the readings. */
static void cut_cells(const plag_windows *windows, const plag_window *w, const sums *s,
                      double tau_s, double variance, const axis *a, cells *c) {
  const double *t = windows->time_s + w->first;
  const double d = w->before.pct - w->after.pct;
  const double per_square = 0.5 / variance;
  const double growth = plag_exp(a->step_s / tau_s);
  size_t used = 0;
  edge at = {.at_s = a->first_s, .h = d * plag_exp(a->first_s / tau_s)};
  while (at.piece < w->count && t[at.piece] < at.at_s)
    at.piece++;
  at.cost = squares_at(s, at.piece, at.h) * per_square;
  c->best = INFINITY;
  c->best_at_s = a->first_s;
  c->end_of[0] = 0;
  double h_grid = at.h;
  for (size_t g = 1; g < a->grid; g++) {
    const double grid_s = a->first_s + a->step_s * (double)g;
    h_grid = g % 32 == 0 ? d * plag_exp(grid_s / tau_s) : h_grid * growth;
    while (at.piece < w->count && t[at.piece] < grid_s) {
      add_cell(c, used++, s, &at, t[at.piece], d / s->e[at.piece], per_square);
      at.piece++;
    }
    add_cell(c, used++, s, &at, grid_s, h_grid, per_square);
    c->end_of[g] = used;
  }
}

/* What was computed at the last end: the end of one cell is the beginning of the next. */
typedef struct ending {
  double cost, height;     /* exp(best - cost) */
  double distance, beyond; /* of the normal distribution, beyond a distance from its middle */
} ending;

static double height_at(ending *last, double best, double cost) {
  if (cost != last->cost) {
    last->cost = cost;
    last->height = plag_exp(best - cost);
  }
  return last->height;
}

static double beyond(ending *last, double distance) {
  if (distance != last->distance) {
    last->distance = distance;
    last->beyond = 0.5 * erfc(distance * M_SQRT1_2);
  }
  return last->beyond;
}

/* Difference of the normal distribution function, exact in the tails too. */
static double normal_between(ending *last, double from, double to) {
  const double at_from = beyond(last, fabs(from));
  const double at_to = beyond(last, fabs(to));
  return (from < 0.0) == (to < 0.0) ? fabs(at_from - at_to) : 1.0 - (at_from + at_to);
}

/* Integral of exp(best - cost) over the cell. Inside one, the cost is a parabola of h. */
static double mass_of(const cell *one, const sums *s, double tau_s, double variance, double best,
                      ending *end) {
  if (one->best - best > NEGLIGIBLE)
    return 0.0;
  if (greater(one->cost_from, one->cost_to) - one->best < 0.7 || !(s->ee[one->piece] > 0.0)) {
    const double middle =
        squares_at(s, one->piece, 0.5 * (one->h_from + one->h_to)) / (2.0 * variance);
    const double from = height_at(end, best, one->cost_from);
    const double to = height_at(end, best, one->cost_to);
    return one->width_s * (from + 4.0 * plag_exp(best - middle) + to) / 6.0;
  }
  const double ee = s->ee[one->piece];
  const double peak = s->re[one->piece] / ee;
  const double sd = sqrt(variance / ee);
  const double least = squares_at(s, one->piece, peak) / (2.0 * variance);
  const double low = lesser(one->h_from, one->h_to);
  const double high = greater(one->h_from, one->h_to);
  const double at = lesser(greater(peak, low), high);
  const double share = normal_between(end, (one->h_from - peak) / sd, (one->h_to - peak) / sd);
  if (share <= 0.0)
    return 0.0;
  const double top =
      best - least < 600.0 ? share * plag_exp(best - least) : plag_exp(best - least + log(share));
  return tau_s / fabs(at) * sd * sqrt(2.0 * M_PI) * top;
}

/* The misfit that chance may leave. */
static double room_for(const plag_window *w) {
  const double readings = (double)w->count;
  return 0.5 * readings + ROOM_FOR_CHANCE + sqrt(2.0 * readings);
}

/* Beyond what chance leaves, a misfit counts by its logarithm. */
static double soften(double misfit, double room) {
  return misfit <= room ? misfit : room + room * log(misfit / room);
}

static double cumulated_at(const double *cumulated, const axis *a, double at_s) {
  const double place = lesser(greater((at_s - a->first_s) / a->step_s, 0.0), (double)(a->grid - 1));
  const size_t below = (size_t)place < a->grid - 1 ? (size_t)place : a->grid - 2;
  const double share = place - (double)below;
  return cumulated[below] + share * (cumulated[below + 1] - cumulated[below]);
}

static void add_marginals(const plag_window *w, const sums *s, double tau_s, double variance,
                          const plag_delays *delays, const axis *a, const cells *c,
                          double *log_likelihood) {
  const double room = room_for(w);
  double cumulated[PLAG_ONSET_CELLS + 1];
  cumulated[0] = 0.0;
  ending end = {INFINITY, 0.0, INFINITY, 0.0};
  for (size_t g = 1; g < a->grid; g++) {
    cumulated[g] = cumulated[g - 1];
    for (size_t i = c->end_of[g - 1]; i < c->end_of[g]; i++)
      cumulated[g] += mass_of(&c->cell[i], s, tau_s, variance, c->best, &end);
  }
  for (size_t i = 0; i < delays->count; i++) {
    const double delay_s = plag_delay_at(delays, i);
    const double mass =
        cumulated_at(cumulated, a, delay_s) - cumulated_at(cumulated, a, delay_s - w->width_s);
    double misfit = c->best;
    if (mass > 1e-300) {
      misfit -= log(mass / w->width_s);
    } else {
      const double outside = greater(c->best_at_s - delay_s, delay_s - w->width_s - c->best_at_s);
      misfit += OUT_OF_REACH * (1.0 + greater(outside, 0.0) / w->width_s);
    }
    log_likelihood[i] -= soften(misfit, room);
  }
}

static double add_exact(const plag_windows *windows, const plag_window *w, const sums *s,
                        double tau_s, double variance, const plag_delays *delays,
                        double *log_likelihood) {
  const double *t = windows->time_s + w->first;
  const double d = w->before.pct - w->after.pct;
  const double room = room_for(w);
  double least = INFINITY;
  size_t piece = 0;
  for (size_t i = 0; i < delays->count; i++) {
    const double delay_s = plag_delay_at(delays, i);
    while (piece < w->count && t[piece] < delay_s)
      piece++;
    const double squares = squares_at(s, piece, d * plag_exp(delay_s / tau_s));
    least = lesser(least, squares);
    log_likelihood[i] -= soften(squares / (2.0 * variance), room);
  }
  return least;
}

double plag_onset_add(const plag_windows *windows, size_t index, double tau_s,
                      const plag_delays *delays, const plag_onset_view *view,
                      double *log_likelihood) {
  const plag_window *w = &windows->window[index];
  sums s;
  sum_up(windows, w, tau_s, &s);
  if (view->on_rows || !(w->width_s > 0.0))
    return add_exact(windows, w, &s, tau_s, view->variance_pct2, delays, log_likelihood);
  axis a = {.step_s = delays->step_s};
  double lead = ceil(w->width_s / delays->step_s);
  const double room = (double)(PLAG_ONSET_CELLS - delays->count);
  if (lead > room) { /* a bracket far longer than the grid is walked in longer strides */
    a.step_s *= 2.0 * lead / room;
    lead = ceil(w->width_s / a.step_s);
  }
  a.first_s = delays->first_s - lead * a.step_s;
  const double span_s = plag_delay_at(delays, delays->count - 1) - a.first_s;
  a.grid = (size_t)ceil(span_s / a.step_s - 1e-9) + 1;
  a.grid = a.grid < 2 ? 2 : a.grid;
  cells c;
  cut_cells(windows, w, &s, tau_s, view->variance_pct2, &a, &c);
  add_marginals(w, &s, tau_s, view->variance_pct2, delays, &a, &c, log_likelihood);
  return c.best * 2.0 * view->variance_pct2;
}

size_t plag_onset_residuals(const plag_windows *windows, size_t index, double tau_s, double delay_s,
                            bool on_rows, double *residual_pct, double *onset_s) {
  const plag_window *w = &windows->window[index];
  const double *t = windows->time_s + w->first;
  const double *y = windows->travel_pct + w->first;
  const double d = w->before.pct - w->after.pct;
  sums s;
  sum_up(windows, w, tau_s, &s);
  const int places = on_rows || !(w->width_s > 0.0) ? 0 : 24;
  double best = INFINITY;
  double best_at_s = delay_s;
  size_t piece = 0;
  for (int i = places; i >= 0; i--) {
    const double at_s = delay_s - w->width_s * (places > 0 ? (double)i / places : 0.0);
    while (piece < w->count && t[piece] < at_s)
      piece++;
    const double squares = squares_at(&s, piece, d * plag_exp(at_s / tau_s));
    if (squares < best) {
      best = squares;
      best_at_s = at_s;
    }
  }
  *onset_s = best_at_s;
  for (size_t i = 0; i < w->count; i++)
    residual_pct[i] = t[i] <= best_at_s
                          ? y[i] - w->before.pct
                          : y[i] - w->after.pct - d * plag_exp(-(t[i] - best_at_s) / tau_s);
  return w->count;
}
