/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From a coarse grid over both pulls on the head of the record, by a compass search and least
 * squares in turns, to the description that explains most. The likelihood has kinks where a
 * threshold crosses a change of the command, so of the pull that lets go no slope is asked for. */
#include "model/friction_search.h"

#include <math.h>

#include "core/statistics.h"
#include "model/held.h"
#include "model/workspace.h"

#define HEAD_SAMPLES  200
#define PART_SAMPLES  500  /* enough to find out what there is, not how much */
#define WIDE_SHARE    0.25 /* of what free plates leave */
#define OVERSHOOT     0.5  /* plates may land this share of the pull beyond the target */
#define RESTED_TAUS   3.0  /* a target that stood this long has let the plates stop */
#define CLUES         6
#define MOST_CLUES    512
#define LEAST_CLUES   3
#define CLUE_PULL_PCT 0.8
#define CLUE_NOISES   5.0
#define MOST_LAGS     4
#define SAMPLED_PULLS 40
#define SAMPLED_LEAST 0.7 /* of the middle clue */
#define SAMPLED_STEP  0.02
#define WORTH_A_LOOK  3.0 /* natural log, on the head: less is not looked into */
#define NO_TAU_S      1e-3
#define ORDER_GAIN                                                                                 \
  40.0 /* natural log: what the lag ahead must explain more, as neighbours are alike */
#define NO_WORSE 0.5 /* natural log */

/* Pulls to begin with. Held intervals tell them: the one that lets go lies just above the largest
 * that was withstood, which lag and turns of the command make seem larger. Without, small ones. */
typedef struct clues {
  double leave_pct[CLUES];
  double jump_pct; /* that ended held intervals, median; 0 without */
} clues;

static clues look_for_clues(plag_model *model) {
  static const double shares[CLUES] = {0.25, 0.5, 0.75, 0.9, 0.97, 1.0};
  clues found = {{0.7, 1.2, 2.0, 3.2, 5.0, 8.0}, 0.0};
  const size_t mark = plag_workspace_mark(model->workspace);
  platelag_held *held = plag_workspace_take(model->workspace, MOST_CLUES, sizeof held[0]);
  double *pull = plag_workspace_take(model->workspace, MOST_CLUES, sizeof pull[0]);
  if (!held || !pull)
    return found;
  const size_t count = plag_held_list(model, fmax(CLUE_PULL_PCT, CLUE_NOISES * model->noise_pct),
                                      0.9 * model->trace->position_refresh_s, held, MOST_CLUES);
  size_t jumps = 0;
  for (size_t k = 0; k < count; k++)
    if (fabs(held[k].release_jump_pct) > 0.0)
      pull[jumps++] = fabs(held[k].release_jump_pct);
  found.jump_pct = jumps >= LEAST_CLUES ? plag_median(pull, jumps) : 0.0;
  for (size_t k = 0; k < count; k++)
    pull[k] = fabs(held[k].pull_pct);
  for (size_t k = 0; count >= LEAST_CLUES && k < CLUES; k++)
    found.leave_pct[k] = 1.001 * plag_quantile(pull, count, shares[k]);
  plag_workspace_release(model->workspace, mark);
  return found;
}

static plag_friction_model with_pulls(const plag_friction_search *s,
                                      const plag_friction_model *plates, double leave_pct,
                                      double behind_pct) {
  plag_friction_model to = *plates;
  to.element.leave_pct = fmin(fmax(leave_pct, 0.0), s->most_pull_pct);
  to.element.behind_pct =
      fmin(fmax(behind_pct, -OVERSHOOT * to.element.leave_pct), to.element.leave_pct);
  return to;
}

static bool better(plag_friction_place *best, plag_friction_place other) {
  if (!(other.cost < best->cost))
    return false;
  other.map = best->map;
  *best = other;
  return true;
}

static bool try_pulls(plag_friction_search *s, plag_friction_place *best, double leave_pct,
                      double behind_pct) {
  const plag_friction_model to = with_pulls(s, &best->plates, leave_pct, behind_pct);
  if (to.element.behind_pct == best->plates.element.behind_pct &&
      plag_friction_is_same(best, to.element.leave_pct))
    return false;
  return better(best, plag_friction_score(s, &to));
}

/* Along one direction, either way. */
static bool step_along(plag_friction_search *s, plag_friction_place *best, double leave_step,
                       double behind_step) {
  const plag_stiction from = best->plates.element;
  return try_pulls(s, best, from.leave_pct + leave_step, from.behind_pct + behind_step) ||
         try_pulls(s, best, from.leave_pct - leave_step, from.behind_pct - behind_step);
}

/* On ramps plates lag by their dead time as they stay behind by friction: one for the other, and
 * only turns of the command tell. */
static bool step_along_lag(plag_friction_search *s, plag_friction_place *best, double behind_step) {
  const double dead_step_s = behind_step / s->record->ramp_pct_per_s;
  for (int way = -1; way <= 1; way += 2) {
    plag_friction_model to = with_pulls(s, &best->plates, best->plates.element.leave_pct,
                                        best->plates.element.behind_pct + way * behind_step);
    to.lag.dead_time_s = fmax(to.lag.dead_time_s - way * dead_step_s, 0.0);
    if (better(best, plag_friction_score(s, &to)))
      return true;
  }
  return false;
}

/* Compass search with shrinking steps: the pull that lets go; both, with the band as it is, which
 * turns of the command show; both, with the jump as it is, which releases show. */
static plag_friction_place search_compass(plag_friction_search *s, plag_friction_place best,
                                          double step, double least_step) {
  static const double behinds[] = {0.0, -1.0, 1.0};
  enum { DIRECTIONS = sizeof behinds / sizeof behinds[0] };
  double steps[DIRECTIONS] = {step, step, step};
  double lag_step = s->lag_is_open && s->record->ramp_pct_per_s > 0.0 ? step : 0.0;
  double longest = step;
  while (longest > least_step) {
    if (lag_step > least_step && !step_along_lag(s, &best, lag_step))
      lag_step *= 0.35;
    longest = lag_step;
    for (int k = 0; k < DIRECTIONS; k++) {
      if (steps[k] > least_step && !step_along(s, &best, steps[k], behinds[k] * steps[k]))
        steps[k] *= 0.35;
      longest = fmax(longest, steps[k]);
    }
  }
  return best;
}

/* Other thresholds than the best so far, far and near: levels at rest find fD early, and with it
 * known the threshold that explains the releases stands out wherever it is. */
static plag_friction_place scan_leave(plag_friction_search *s, plag_friction_place best) {
  static const double wide[] = {0.6, 0.8, 0.92, 1.08, 1.25, 1.6};
  const plag_stiction from = best.plates.element;
  for (size_t k = 0; k < sizeof wide / sizeof wide[0]; k++)
    (void)try_pulls(s, &best, wide[k] * from.leave_pct, from.behind_pct);
  return best;
}

/* The best of a grid over both pulls. */
static plag_friction_place search_coarse(plag_friction_search *s, const clues *found,
                                         const plag_friction_model *kind) {
  static const double behinds[] = {0.0, 0.4, 0.85};
  plag_friction_place best = {.cost = INFINITY};
  for (size_t k = 0; k < CLUES; k++)
    for (size_t b = 0; b < sizeof behinds / sizeof behinds[0]; b++) {
      const double leave_pct = found->leave_pct[k];
      const plag_friction_model at = with_pulls(s, kind, leave_pct, behinds[b] * leave_pct);
      (void)better(&best, plag_friction_score_scaled(s, &at));
    }
  return best;
}

/* Of sampled models: where they land hangs on the pull that let go, and every release on a ramp is
 * like the last; so finely, with the jump that was seen, and landing on the target (Stenman). */
static plag_friction_place search_sampled(plag_friction_search *s, const clues *found,
                                          const plag_friction_model *kind) {
  static const double jumps[] = {1.0, 0.975, 0.95}; /* the pull that let go was a little larger */
  plag_friction_place best = {.cost = INFINITY};
  for (int k = 0; k < SAMPLED_PULLS; k++) {
    const double leave_pct = found->leave_pct[1] * (SAMPLED_LEAST + (double)k * SAMPLED_STEP);
    plag_friction_model at = with_pulls(s, kind, leave_pct, 0.0);
    (void)better(&best, plag_friction_score(s, &at));
    for (size_t j = 0; j < sizeof jumps / sizeof jumps[0]; j++) {
      at = with_pulls(s, kind, leave_pct, leave_pct - jumps[j] * found->jump_pct);
      (void)better(&best, plag_friction_score(s, &at));
    }
  }
  return best;
}

static void renew_noise(plag_friction_search *s, plag_friction_place *best) {
  const plag_friction_map map = best->map;
  plag_friction_walk_go(s->record, &best->plates, &s->walk);
  s->noise_pct = plag_friction_leftover_pct(s);
  *best = plag_friction_score_walked(s, &best->plates);
  best->map = map;
}

static plag_friction_model plates_with(const plag_friction_search *s, plag_lag_point lag) {
  const platelag_trace *trace = s->model->trace;
  const double rows_s = 2.5 * fmax(trace->command_refresh_s, trace->row_period_s);
  return (plag_friction_model){
      .element = {.rest_s = fmax(RESTED_TAUS * fmax(lag.tau_open_s, lag.tau_close_s), rows_s),
                  .lowest_pct = s->lowest_pct,
                  .highest_pct = s->highest_pct},
      .factor = 1.0,
      .lag = lag};
}

/* Lags to begin with. Where steps do not show it the response's may be friction in truth. */
static size_t list_lags(const plag_friction_search *s, plag_lag_point *lag) {
  lag[0] = plag_lag_point_of(s->model->fit);
  if (!s->lag_is_open)
    return 1;
  lag[1] = (plag_lag_point){0.0, 0.01, 0.01};
  lag[2] = (plag_lag_point){0.05, 0.1, 0.1};
  lag[3] = (plag_lag_point){0.25, 0.4, 0.4};
  return MOST_LAGS;
}

/* Free plates behind one lag. */
static plag_friction_place find_free_behind(plag_friction_search *s, plag_friction_map map,
                                            plag_lag_point lag) {
  const plag_friction_model plates = plates_with(s, lag);
  s->noise_pct = 2.0 * s->least_noise_pct;
  plag_friction_place best = plag_friction_score_scaled(s, &plates);
  best.map = map;
  renew_noise(s, &best);
  if (s->lag_is_open)
    best = plag_friction_refine(s, best, PLAG_REFINE_FREE, 4);
  else
    best = plag_friction_score_scaled(s, &best.plates);
  best.map = map;
  renew_noise(s, &best);
  return best;
}

plag_friction_place plag_friction_find_free(plag_friction_search *s) {
  plag_lag_point lag[MOST_LAGS];
  const size_t lags = list_lags(s, lag);
  plag_friction_place best = {.cost = INFINITY};
  for (int map = 0; map <= PLAG_FRICTION_MAP_FITTED; map++) {
    plag_friction_record_map(s->model, s->record, (plag_friction_map)map);
    for (size_t k = 0; k < lags; k++) {
      const plag_friction_place found = find_free_behind(s, (plag_friction_map)map, lag[k]);
      if (found.cost < best.cost)
        best = found;
    }
  }
  plag_friction_record_map(s->model, s->record, best.map);
  s->noise_pct = best.noise_pct;
  return best;
}

/* The coarse search with one map, lag and meaning of a stop, on the head of the record. */
static plag_friction_place find_coarse(plag_friction_search *s, const clues *found,
                                       plag_friction_map map, const plag_friction_model *kind) {
  plag_friction_record head;
  plag_friction_record *whole = s->record;
  plag_friction_place best = {.cost = INFINITY};
  const size_t mark = plag_workspace_mark(s->model->workspace);
  plag_friction_record_map(s->model, whole, map);
  if (plag_friction_record_head(s->model, whole, HEAD_SAMPLES, &head)) {
    s->record = &head;
    best = kind->element.stop == PLAG_STOP_EACH_CHANGE ? search_sampled(s, found, kind)
                                                       : search_coarse(s, found, kind);
    s->record = whole;
  }
  best.map = map;
  plag_workspace_release(s->model->workspace, mark);
  return best;
}

/* A compass search and least squares, the noise as it is left; in `turns`, finer and finer, while
 * the compass search finds something. */
static plag_friction_place polish(plag_friction_search *s, plag_friction_place best,
                                  plag_friction_freedom freedom, double step_share, int turns) {
  bool found = true;
  for (int turn = 0; turn < turns && found; turn++) {
    const double step = step_share * best.plates.element.leave_pct;
    const double before = best.cost;
    best = search_compass(s, best, fmax(step, 0.1), fmax(0.2 * step, 0.05));
    found = best.cost < before - NO_WORSE;
    best = plag_friction_refine(s, best, freedom, 2 * turns);
    renew_noise(s, &best);
    step_share *= 0.4;
  }
  return best;
}

static void keep(plag_friction_place *best, plag_friction_place other) {
  if (other.cost < best->cost)
    *best = other;
}

/* The other meanings of a stop, each with a threshold of its own. */
static plag_friction_place try_stops(plag_friction_search *s, plag_friction_place best) {
  const plag_friction_place from = best;
  if (from.plates.order == PLAG_LAG_AHEAD)
    return best; /* there plates stop when the pull turns, whatever the command does */
  for (int stop = 0; stop < PLAG_STOPS; stop++) {
    plag_friction_place other = from;
    if (from.plates.element.stop == (plag_stiction_stop)stop)
      continue;
    other.plates.element.stop = (plag_stiction_stop)stop;
    other = plag_friction_score(s, &other.plates);
    other.map = from.map;
    other = scan_leave(s, other);
    (void)better(&best, other);
  }
  return best;
}

/* With one map, lag and meaning of a stop, from coarse to the right threshold. */
static plag_friction_place find_with(plag_friction_search *s, const clues *found,
                                     plag_friction_map map, const plag_friction_model *kind,
                                     plag_friction_freedom freedom) {
  plag_friction_place one = find_coarse(s, found, map, kind);
  return scan_leave(s, plag_friction_refine(s, one, freedom, 2));
}

static plag_friction_place polish_once(plag_friction_search *s, plag_friction_place one,
                                       plag_friction_freedom freedom) {
  plag_friction_record_map(s->model, s->record, one.map);
  return polish(s, one, freedom, 0.1, 1);
}

/* A lag that the record does not show is none. */
static plag_friction_place try_without_lag(plag_friction_search *s, plag_friction_place best) {
  plag_friction_place prompt = best;
  prompt.plates.lag = (plag_lag_point){0.0, NO_TAU_S, NO_TAU_S};
  prompt = plag_friction_refine(s, prompt, PLAG_REFINE_BEHIND_LAG, 3);
  prompt = search_compass(s, prompt, 0.03 * prompt.plates.element.leave_pct,
                          0.003 * prompt.plates.element.leave_pct);
  prompt = plag_friction_refine(s, prompt, PLAG_REFINE_BEHIND_LAG, 4);
  return prompt.cost < best.cost + NO_WORSE ? prompt : best;
}

/* With the lag of the plates, or of the drive. */
static void try_behind(plag_friction_search *s, const clues *found, plag_lag_point lag,
                       plag_lag_order order, plag_friction_place *best) {
  plag_friction_model kind = plates_with(s, lag);
  kind.order = order;
  /* What the response took for its lag is not the drive's. */
  const bool all = s->lag_is_open || order == PLAG_LAG_AHEAD;
  const plag_friction_freedom freedom = all ? PLAG_REFINE_ALL : PLAG_REFINE_BEHIND_LAG;
  s->noise_pct = s->wide_pct;
  const plag_friction_place line = find_with(s, found, PLAG_FRICTION_MAP_LINE, &kind, freedom);
  const plag_friction_place fitted = find_with(s, found, PLAG_FRICTION_MAP_FITTED, &kind, freedom);
  keep(best, polish_once(s, fitted.cost < line.cost ? fitted : line, freedom));
}

/* Sampled models (He, Stenman) know no lag, and position is command but for friction. */
static void try_sampled(plag_friction_search *s, const clues *found, plag_friction_place *best) {
  plag_friction_model kind = plates_with(s, (plag_lag_point){0.0, NO_TAU_S, NO_TAU_S});
  kind.element.stop = PLAG_STOP_EACH_CHANGE;
  s->noise_pct = s->wide_pct;
  const plag_friction_place sampled =
      find_with(s, found, PLAG_FRICTION_MAP_EQUAL, &kind, PLAG_REFINE_BEHIND_LAG);
  keep(best, polish_once(s, sampled, PLAG_REFINE_BEHIND_LAG));
}

/* The best behind any of the lags, and with other thresholds and meanings of a stop. */
static plag_friction_place find_in_order(plag_friction_search *s, const clues *found,
                                         plag_lag_order order) {
  plag_lag_point lag[MOST_LAGS];
  const size_t lags = list_lags(s, lag);
  plag_friction_place best = {.cost = INFINITY};
  for (size_t k = 0; k < lags; k++)
    try_behind(s, found, lag[k], order, &best);
  if (s->lag_is_open && order == PLAG_LAG_BEHIND)
    try_sampled(s, found, &best);
  plag_friction_record_map(s->model, s->record, best.map);
  s->noise_pct = best.noise_pct;
  return try_stops(s, scan_leave(s, best));
}

/* Which description it is, and nearly where: a part of the record tells. */
static plag_friction_place find_nearly(plag_friction_search *s) {
  const clues found = look_for_clues(s->model);
  plag_friction_record *whole = s->record;
  plag_friction_record part;
  const size_t mark = plag_workspace_mark(s->model->workspace);
  if (whole->sample_count > PART_SAMPLES &&
      plag_friction_record_head(s->model, whole, PART_SAMPLES, &part))
    s->record = &part;
  const plag_friction_place behind = find_in_order(s, &found, PLAG_LAG_BEHIND);
  const plag_friction_place ahead = find_in_order(s, &found, PLAG_LAG_AHEAD);
  s->record = whole;
  plag_workspace_release(s->model->workspace, mark);
  return ahead.cost < behind.cost - ORDER_GAIN ? ahead : behind;
}

plag_friction_place plag_friction_find(plag_friction_search *s, const plag_friction_place *none) {
  s->wide_pct = fmax(WIDE_SHARE * none->noise_pct, 2.0 * s->least_noise_pct);
  plag_friction_place best = find_nearly(s);
  plag_friction_record_map(s->model, s->record, best.map);
  s->noise_pct = best.noise_pct;
  renew_noise(s, &best);
  best = polish(s, best, PLAG_REFINE_ALL, 0.06, 2);
  /* With the noise as it is now another threshold may stand out. */
  const plag_friction_place other = scan_leave(s, best);
  if (other.cost < best.cost - NO_WORSE)
    best = polish(s, other, PLAG_REFINE_ALL, 0.06, 2);
  return s->lag_is_open ? try_without_lag(s, best) : best;
}
