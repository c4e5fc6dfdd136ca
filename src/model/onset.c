/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/onset.h"

#include <math.h>

#include "core/exponential.h"

#define NEGLIGIBLE      45.0 /* natural log below the best: nothing is added from there */
#define ROOM_FOR_CHANCE 15.0
#define OUT_OF_REACH    700.0
#define FLAT            0.7  /* natural log over a cell that Simpson's rule is exact enough for, */
#define FLAT_AND_LONG   0.05 /* and over one of many tau, along which h does not go evenly */
#define CELL_TAUS       0.25 /* widest cell where it is not flat */
#define SHRINK          0.7788007830714049 /* exp(-CELL_TAUS) */
#define PLACES          24                 /* in a bracket, where residuals are looked at */

/* fmin and fmax are calls, for the sake of NaN; there is none here. */
static inline double lesser(double a, double b) {
  return a < b ? a : b;
}

static inline double greater(double a, double b) {
  return a > b ? a : b;
}

void plag_onset_sum_up(const plag_windows *windows, size_t index, plag_onset_sums *out) {
  const plag_window *w = &windows->window[index];
  const double *y = windows->travel_pct + w->first;
  out->at_rest[0] = 0.0;
  for (size_t i = 0; i < w->count; i++) {
    const double off = y[i] - w->before.pct;
    out->at_rest[i + 1] = out->at_rest[i] + off * off;
  }
  out->about_end[w->count] = 0.0;
  for (size_t i = w->count; i-- > 0;) {
    const double off = y[i] - w->after.pct;
    out->about_end[i] = out->about_end[i + 1] + off * off;
  }
}

/* A window as it is seen with one tau. */
typedef struct seen {
  const double *time_s;
  size_t count;
  double tau_s, step_pct; /* before less after */
  double per_square;      /* 1 / (2 variance) */
  /* For an onset o between readings p - 1 and p the sum of squares is a parabola of
   * h = step exp((o - t_p) / tau): fixed - 2 h re + h^2 ee, with sums over readings from p on of
   * what is off the new level times e = exp(-(t - t_p) / tau), and of e^2. Each piece has an origin
   * of its own, so that nothing overflows. */
  double fixed[PLAG_WINDOW_POINTS + 1];
  double re[PLAG_WINDOW_POINTS + 1];
  double ee[PLAG_WINDOW_POINTS + 1];
} seen;

/* Sums for pieces from `first` on. */
static void see(const plag_windows *windows, const plag_window *w, const plag_onset_sums *sums,
                double tau_s, double variance, size_t first, seen *out) {
  const double *t = windows->time_s + w->first;
  const double *y = windows->travel_pct + w->first;
  const size_t n = w->count;
  out->time_s = t;
  out->count = n;
  out->tau_s = tau_s;
  out->step_pct = w->before.pct - w->after.pct;
  out->per_square = 0.5 / variance;
  out->fixed[n] = sums->at_rest[n];
  out->re[n] = out->ee[n] = 0.0;
  double last_dt_s = -1.0;
  double e = 0.0;
  for (size_t i = n; i-- > first;) {
    if (i + 1 < n && t[i + 1] - t[i] != last_dt_s) {
      last_dt_s = t[i + 1] - t[i];
      e = plag_exp(-last_dt_s / tau_s);
    }
    out->fixed[i] = sums->at_rest[i] + sums->about_end[i];
    out->re[i] = y[i] - w->after.pct + e * out->re[i + 1];
    out->ee[i] = 1.0 + e * e * out->ee[i + 1];
  }
}

static inline double cost_at(const seen *s, size_t piece, double h) {
  const double squares = s->fixed[piece] - h * (2.0 * s->re[piece] - h * s->ee[piece]);
  return greater(squares, 0.0) * s->per_square;
}

/* h of an onset in a piece; behind the last reading it is of no consequence. */
static double h_at(const seen *s, size_t piece, double onset_s) {
  return piece == s->count ? s->step_pct
                           : s->step_pct * plag_exp((onset_s - s->time_s[piece]) / s->tau_s);
}

/* An onset of one piece. */
typedef struct edge {
  double at_s, h, cost;
  double height; /* exp(best - cost), once it is asked for */
} edge;

static edge edge_at(const seen *s, size_t piece, double at_s, double h) {
  return (edge){at_s, h, cost_at(s, piece, h), -1.0};
}

static double height_of(edge *e, double best) {
  if (e->height < 0.0)
    e->height = plag_exp(best - e->cost);
  return e->height;
}

/* A piece's parabola of h. */
typedef struct parabola {
  size_t piece;
  double foot, least, sd; /* h and cost at its foot; sd of h there; no foot: sd 0 */
} parabola;

static parabola parabola_of(const seen *s, size_t piece) {
  parabola p = {.piece = piece};
  if (s->ee[piece] > 0.0) {
    p.foot = s->re[piece] / s->ee[piece];
    p.least = cost_at(s, piece, p.foot);
    p.sd = sqrt(0.5 / (s->per_square * s->ee[piece]));
  }
  return p;
}

/* The least cost between two edges. */
static double least_between(const parabola *p, const edge *from, const edge *to) {
  if (p->sd > 0.0 && (p->foot - from->h) * (p->foot - to->h) < 0.0)
    return p->least;
  return lesser(from->cost, to->cost);
}

/* Integral of exp(best - cost) over h between two edges: what lies beyond one less what lies beyond
 * the other, or all less what lies beyond either side. */
static double area_between(const parabola *p, edge *from, edge *to, double best) {
  const double from_sds = (from->h - p->foot) / p->sd;
  const double to_sds = (to->h - p->foot) / p->sd;
  const double at_from = height_of(from, best) * plag_mills(fabs(from_sds));
  const double at_to = height_of(to, best) * plag_mills(fabs(to_sds));
  if ((from_sds < 0.0) == (to_sds < 0.0))
    return p->sd * fabs(at_from - at_to);
  return p->sd * (sqrt(2.0 * M_PI) * plag_exp(best - p->least) - (at_from + at_to));
}

/* Over onsets: tau / h dh, h at the mean of the cut-off normal distribution. */
static double peaked_mass(const seen *s, const parabola *p, edge *from, edge *to, double best) {
  const double area = area_between(p, from, to, best);
  if (!(area > 0.0))
    return 0.0;
  const double rise = p->sd * p->sd * (height_of(from, best) - height_of(to, best));
  const double mean = p->foot + (to->h > from->h ? rise : -rise) / area;
  const double low = lesser(from->h, to->h);
  const double high = greater(from->h, to->h);
  return s->tau_s / fabs(lesser(greater(mean, low), high)) * area;
}

static double flat_mass(const seen *s, const parabola *p, edge *from, edge *to, double best) {
  const double middle = cost_at(s, p->piece, copysign(sqrt(from->h * to->h), from->h));
  return (to->at_s - from->at_s) *
         (height_of(from, best) + 4.0 * plag_exp(best - middle) + height_of(to, best)) / 6.0;
}

/* Integral of exp(best - cost) over the onsets between two edges of one piece. Where that is
 * neither flat nor short, cells are cut off its end, where h is largest and moves most. */
static double mass_between(const seen *s, const parabola *p, edge *from, edge *to, double best) {
  const double cell_s = CELL_TAUS * s->tau_s;
  double mass = 0.0;
  edge cut;
  for (edge *end = to;; end = &cut) {
    const double least = least_between(p, from, end);
    if (least - best > NEGLIGIBLE || !(end->at_s > from->at_s))
      return mass;
    const bool is_short = end->at_s - from->at_s <= cell_s;
    if (greater(from->cost, end->cost) - least < (is_short ? FLAT : FLAT_AND_LONG) ||
        !(p->sd > 0.0))
      return mass + flat_mass(s, p, from, end, best);
    if (is_short)
      return mass + peaked_mass(s, p, from, end, best);
    edge near = edge_at(s, p->piece, end->at_s - cell_s, end->h * SHRINK);
    const double inside = least_between(p, &near, end);
    if (inside - best <= NEGLIGIBLE)
      mass += greater(near.cost, end->cost) - inside < FLAT ? flat_mass(s, p, &near, end, best)
                                                            : peaked_mass(s, p, &near, end, best);
    cut = near;
  }
}

/* Points at which the integral is wanted: one end of the bracket for each dead time. */
typedef struct ladder {
  double next_s, step_s;
  size_t next, count;
  double h; /* of the last point in this piece; 0: none yet */
  double below[PLAG_ONSET_DELAYS];
} ladder;

static ladder ladder_from(double first_s, const plag_delays *delays) {
  return (ladder){.next_s = first_s, .step_s = delays->step_s, .count = delays->count};
}

static void set_next(ladder *l, double mass) {
  l->below[l->next++] = mass;
  l->next_s = l->next < l->count ? l->next_s + l->step_s : (double)INFINITY;
}

typedef struct ladders {
  ladder low, high;
  double growth; /* of h over a step */
} ladders;

static ladder *next_of(ladders *l) {
  return l->low.next_s <= l->high.next_s ? &l->low : &l->high;
}

/* Where the cost of a piece is not beyond `most`, inside from_s .. to_s. */
static void clip(const seen *s, const parabola *p, double most, double *from_s, double *to_s) {
  if (!(p->sd > 0.0))
    return;
  if (most < p->least) {
    *from_s = *to_s;
    return;
  }
  const double reach = p->sd * sqrt(2.0 * (most - p->least));
  const double one = (p->foot - reach) / s->step_pct;
  const double other = (p->foot + reach) / s->step_pct;
  const double high = greater(one, other);
  const double low = lesser(one, other);
  const double origin_s = s->time_s[p->piece];
  *to_s = high > 0.0 ? lesser(*to_s, origin_s + s->tau_s * plag_log(high)) : *from_s;
  if (low > 0.0)
    *from_s = greater(*from_s, origin_s + s->tau_s * plag_log(low));
}

/* Adds the mass of a piece between from_s and to_s to `total`, and tells it at the points there. */
static double add_piece(const seen *s, const parabola *p, double from_s, double to_s, double best,
                        ladders *l, double total) {
  clip(s, p, best + NEGLIGIBLE, &from_s, &to_s);
  if (!(to_s > from_s))
    return total;
  l->low.h = l->high.h = 0.0;
  edge last = edge_at(s, p->piece, from_s, h_at(s, p->piece, from_s));
  for (ladder *at = next_of(l); at->next_s < to_s; at = next_of(l)) {
    if (at->next_s > from_s) {
      at->h = at->h != 0.0 ? at->h * l->growth : h_at(s, p->piece, at->next_s);
      edge next = edge_at(s, p->piece, at->next_s, p->piece == s->count ? s->step_pct : at->h);
      total += mass_between(s, p, &last, &next, best);
      last = next;
    }
    set_next(at, total);
  }
  edge end = edge_at(s, p->piece, to_s, h_at(s, p->piece, to_s));
  return total + mass_between(s, p, &last, &end, best);
}

/* The least cost and its onset between from_s and to_s of one piece. */
static void look_for_best(const seen *s, const parabola *p, double from_s, double to_s,
                          double *best, double *best_at_s) {
  const edge from = edge_at(s, p->piece, from_s, h_at(s, p->piece, from_s));
  const edge to = edge_at(s, p->piece, to_s, h_at(s, p->piece, to_s));
  const double least = least_between(p, &from, &to);
  if (!(least < *best))
    return;
  *best = least;
  *best_at_s = from.cost <= to.cost ? from_s : to_s;
  if (least < from.cost && least < to.cost)
    *best_at_s = s->time_s[p->piece] + s->tau_s * log(p->foot / s->step_pct);
}

/* The misfit that chance may leave. */
static double room_for(const plag_window *w) {
  const double readings = (double)w->count;
  return 0.5 * readings + ROOM_FOR_CHANCE + sqrt(2.0 * readings);
}

/* Beyond what chance leaves, a misfit counts by its logarithm. */
static double soften(double misfit, double room) {
  return misfit <= room ? misfit : room + room * plag_log(misfit / room);
}

static void add_exact(const seen *s, size_t piece, const plag_delays *delays, double room,
                      double *log_likelihood) {
  for (size_t i = 0; i < delays->count; i++) {
    const double delay_s = plag_delay_at(delays, i);
    while (piece < s->count && s->time_s[piece] < delay_s)
      piece++;
    log_likelihood[i] -= soften(cost_at(s, piece, h_at(s, piece, delay_s)), room);
  }
}

static size_t piece_at(const plag_windows *windows, const plag_window *w, double at_s) {
  size_t piece = 0;
  while (piece < w->count && windows->time_s[w->first + piece] < at_s)
    piece++;
  return piece;
}

/* Over the onsets of all brackets: the integral at the ends of each. */
static void integrate(const seen *s, size_t first_piece, double first_s, double last_s, ladders *l,
                      double *best, double *best_at_s) {
  parabola p[PLAG_WINDOW_POINTS + 1];
  *best = INFINITY;
  *best_at_s = first_s;
  size_t pieces = 0;
  double from_s = first_s;
  for (size_t i = first_piece; i <= s->count && from_s < last_s; i++, pieces++) {
    const double to_s = i < s->count ? lesser(s->time_s[i], last_s) : last_s;
    p[pieces] = parabola_of(s, i);
    look_for_best(s, &p[pieces], from_s, to_s, best, best_at_s);
    from_s = to_s;
  }
  double total = 0.0;
  from_s = first_s;
  for (size_t k = 0; k < pieces; k++) {
    const size_t i = p[k].piece;
    const double to_s = i < s->count ? lesser(s->time_s[i], last_s) : last_s;
    total = add_piece(s, &p[k], from_s, to_s, *best, l, total);
    from_s = to_s;
  }
  while (l->low.next < l->low.count)
    set_next(&l->low, total);
  while (l->high.next < l->high.count)
    set_next(&l->high, total);
}

void plag_onset_add(const plag_windows *windows, size_t index, const plag_onset_sums *sums,
                    double tau_s, const plag_delays *delays, const plag_onset_view *view,
                    double *log_likelihood) {
  const plag_window *w = &windows->window[index];
  const bool exact = view->on_rows || !(w->width_s > 0.0);
  const double width_s = exact ? 0.0 : w->width_s;
  const double first_s = delays->first_s - width_s;
  const size_t first_piece = piece_at(windows, w, first_s);
  const double room = room_for(w);
  seen s;
  see(windows, w, sums, tau_s, view->variance_pct2, first_piece, &s);
  if (exact) {
    add_exact(&s, first_piece, delays, room, log_likelihood);
    return;
  }
  ladders l = {ladder_from(first_s, delays), ladder_from(delays->first_s, delays),
               plag_exp(delays->step_s / tau_s)};
  double best;
  double best_at_s;
  integrate(&s, first_piece, first_s, plag_delay_at(delays, delays->count - 1), &l, &best,
            &best_at_s);
  for (size_t i = 0; i < delays->count; i++) {
    const double mass = l.high.below[i] - l.low.below[i];
    double misfit = best;
    if (mass > 1e-300) {
      misfit -= plag_log(mass / width_s);
    } else {
      const double delay_s = plag_delay_at(delays, i);
      const double outside = greater(best_at_s - delay_s, delay_s - width_s - best_at_s);
      misfit += OUT_OF_REACH * (1.0 + greater(outside, 0.0) / width_s);
    }
    log_likelihood[i] -= soften(misfit, room);
  }
}

size_t plag_onset_residuals(const plag_windows *windows, size_t index, double tau_s, double delay_s,
                            bool on_rows, double *residual_pct, double *onset_s) {
  const plag_window *w = &windows->window[index];
  const double *t = windows->time_s + w->first;
  const double *y = windows->travel_pct + w->first;
  plag_onset_sums sums;
  plag_onset_sum_up(windows, index, &sums);
  seen s;
  see(windows, w, &sums, tau_s, 1.0, 0, &s);
  const int places = on_rows || !(w->width_s > 0.0) ? 0 : PLACES;
  double best = INFINITY;
  *onset_s = delay_s;
  size_t piece = 0;
  for (int i = places; i >= 0; i--) {
    const double at_s = delay_s - w->width_s * (places > 0 ? (double)i / places : 0.0);
    while (piece < w->count && t[piece] < at_s)
      piece++;
    const double cost = cost_at(&s, piece, h_at(&s, piece, at_s));
    if (cost < best) {
      best = cost;
      *onset_s = at_s;
    }
  }
  for (size_t i = 0; i < w->count; i++) {
    const double since_s = t[i] - *onset_s;
    residual_pct[i] = since_s <= 0.0
                          ? y[i] - w->before.pct
                          : y[i] - w->after.pct - s.step_pct * plag_exp(-since_s / tau_s);
  }
  return w->count;
}
