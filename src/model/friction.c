/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stick band and slip jump: the stiction element (stiction.h) in front of the fitted lag, by
 * likelihood over the band and the jump together. An on/off command cannot show the band but only
 * bracket it (largest reversal that moved nothing, smallest that moved). Longer than most files:
 * the search, what starts it and what is reported of it stand on one description. */
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/course.h"
#include "model/friction_record.h"
#include "model/held.h"
#include "model/workspace.h"

#define LEAST_SAMPLES   40
#define LEAST_REVERSALS 2
#define MIDDLE_PULL_PCT 3.0
#define RESTED_TAUS     3.0   /* a target that stood this long has let the plates stop */
#define DROP            1.353 /* chi-square of one, 90 %, halved */
#define POLISHES        2
#define NO_WORSE        0.01
#define UNRESOLVED      2.5 /* high this many times low: a bracket, no number */
#define LEAST_NOISE_PCT 0.02
#define MOST_LAGS       40  /* of the residuals' autocorrelation */
#define LEAST_GAIN      4.0 /* of log likelihood, for a band to be seen at all */
#define BISECTIONS      5
#define WIDE_NOISE      0.12 /* of the pull that lets go, while thresholds are looked for */
#define OVERSHOOT       0.5  /* plates may land this share of the pull beyond the target */

#define REMEMBERED   24
#define ROUNDING_PCT 1e-6

/* A description that was scored. */
typedef struct scored {
  uint32_t edition; /* of the record; 0: none */
  double behind_pct, noise_pct, rest_s;
  bool always_stops;
  plag_stiction_score score;
} scored;

/* The last ones: searches come back to them, and between two pulls that occur the pull that lets go
 * makes no difference. */
typedef struct memory {
  scored last[REMEMBERED];
  size_t next;
} memory;

/* What the search stands on. */
typedef struct search {
  const plag_stiction_record *record;
  memory *memory;
  double noise_pct;
  double highest_pct; /* no plates need more pull */
  bool ramps_alone;   /* too few steps to tell lag from friction */
} search;

/* The element by the two pulls that act apart, which makes them all but independent: plates leave
 * at fS, which the moments of release show, and land fD behind, which levels at rest show. */
typedef struct place {
  double leave_pct, behind_pct;
  plag_stiction element;
  plag_stiction_score score;
  plag_friction_map map; /* that it was found with */
} place;

static plag_stiction_score score_of(const search *s, const place *at) {
  for (size_t i = 0; i < REMEMBERED; i++) {
    const scored *one = &s->memory->last[i];
    if (one->behind_pct == at->behind_pct && one->edition == s->record->edition &&
        one->noise_pct == s->noise_pct && one->rest_s == at->element.rest_s &&
        one->always_stops == at->element.always_stops &&
        one->score.most_withstood_pct < at->leave_pct &&
        at->leave_pct < one->score.least_released_pct - ROUNDING_PCT)
      return one->score;
  }
  scored *one = &s->memory->last[s->memory->next];
  s->memory->next = (s->memory->next + 1) % REMEMBERED;
  *one = (scored){.edition = s->record->edition,
                  .behind_pct = at->behind_pct,
                  .noise_pct = s->noise_pct,
                  .rest_s = at->element.rest_s,
                  .always_stops = at->element.always_stops,
                  .score = plag_stiction_try(s->record, &at->element, s->noise_pct)};
  return one->score;
}

/* Bounds, then the cost. */
static place try_pulls(const search *s, const plag_stiction *kind, double leave_pct,
                       double behind_pct) {
  place at = {.element = *kind};
  at.leave_pct = fmin(fmax(leave_pct, 0.0), s->highest_pct);
  at.behind_pct = fmin(fmax(behind_pct, -OVERSHOOT * at.leave_pct), at.leave_pct);
  at.element.stick_band_pct = at.leave_pct + at.behind_pct;
  at.element.slip_jump_pct = at.leave_pct - at.behind_pct;
  at.score = score_of(s, &at);
  return at;
}

static bool better(place *best, place other) {
  if (!(other.score.cost < best->score.cost))
    return false;
  *best = other;
  return true;
}

/* Both pulls together: on ramps releases repeat every leave - behind, which makes a ridge of it. */
static bool search_along(const search *s, place *best, double step) {
  const plag_stiction kind = best->element;
  return better(best, try_pulls(s, &kind, best->leave_pct + step, best->behind_pct + step)) ||
         better(best, try_pulls(s, &kind, best->leave_pct - step, best->behind_pct - step));
}

/* Compass search with shrinking steps. The likelihood has kinks where a threshold crosses a change
 * of the command, so no slope is asked for. */
static place search_compass(const search *s, place best, double step, double least_step) {
  double leave_step = step;
  double behind_step = step;
  double common_step = s->ramps_alone ? step : 0.0;
  while (fmax(fmax(leave_step, behind_step), common_step) > least_step) {
    if (common_step > 0.0 && !search_along(s, &best, common_step))
      common_step *= 0.4;
    const plag_stiction kind = best.element;
    const bool left =
        better(&best, try_pulls(s, &kind, best.leave_pct + leave_step, best.behind_pct)) ||
        better(&best, try_pulls(s, &kind, best.leave_pct - leave_step, best.behind_pct));
    const bool lagged =
        better(&best, try_pulls(s, &kind, best.leave_pct, best.behind_pct + behind_step)) ||
        better(&best, try_pulls(s, &kind, best.leave_pct, best.behind_pct - behind_step));
    leave_step *= left ? 1.0 : 0.4;
    behind_step *= lagged ? 1.0 : 0.4;
  }
  return best;
}

/* Robust spread of what the element leaves unexplained where timing plays no part. */
static double leftover_pct(plag_model *model, const plag_stiction_record *record, const place *best,
                           double least_pct) {
  const size_t mark = plag_workspace_mark(model->workspace);
  double *left = plag_workspace_take(model->workspace, record->sample_count, sizeof left[0]);
  if (!left)
    return least_pct;
  (void)plag_stiction_try(record, &best->element, least_pct); /* the best's prediction again */
  size_t count = 0;
  for (size_t i = 0; i < record->sample_count; i++)
    if (record->spread_pct2[i] <= 4.0 * least_pct * least_pct)
      left[count++] = fabs(plag_stiction_residual(record, &best->score, i));
  const double spread = count > 0 ? 1.4826 * plag_median(left, count) : least_pct;
  plag_workspace_release(model->workspace, mark);
  return fmax(spread, least_pct);
}

/* How many samples count as one: residuals of standing plates are alike. */
static double samples_as_one(const search *s, const place *best) {
  const plag_stiction_record *record = s->record;
  plag_stiction_score score = best->score;
  (void)plag_stiction_try(record, &best->element, s->noise_pct); /* the best's prediction again */
  double total = 1.0;
  double zero = 0.0;
  for (size_t lag = 0; lag < MOST_LAGS && lag + 8 < record->sample_count; lag++) {
    double sum = 0.0;
    for (size_t i = lag; i < record->sample_count; i++) {
      const double limit = 3.0 * sqrt(s->noise_pct * s->noise_pct + record->spread_pct2[i]);
      const double here = plag_stiction_residual(record, &score, i);
      const double there = plag_stiction_residual(record, &score, i - lag);
      sum += fmin(fmax(here, -limit), limit) * fmin(fmax(there, -limit), limit);
    }
    if (lag == 0)
      zero = sum;
    const double correlation = zero > 0.0 ? sum / zero : 0.0;
    if (lag > 0 && correlation < 0.05)
      break;
    if (lag > 0)
      total += 2.0 * correlation;
  }
  return fmax(total, 1.0);
}

/* How much the cost rises with one of the pulls set to `value`. */
static double rise_at(const search *s, const place *best, bool of_leave, double value) {
  const place at = of_leave ? try_pulls(s, &best->element, value, best->behind_pct)
                            : try_pulls(s, &best->element, best->leave_pct, value);
  return at.score.cost - best->score.cost;
}

/* How far a pull can go one way before the likelihood falls by `drop`. */
static double range_end(const search *s, const place *best, bool of_leave, double direction,
                        double drop, double first_step) {
  const double lowest = of_leave ? fmax(best->behind_pct, 0.0) : -OVERSHOOT * best->leave_pct;
  const double bound = direction < 0.0 ? lowest : of_leave ? s->highest_pct : best->leave_pct;
  double inside = of_leave ? best->leave_pct : best->behind_pct;
  double reach = first_step;
  double outside = inside;
  for (; direction * (bound - inside) > 0.0; reach *= 2.0) {
    outside = direction > 0.0 ? fmin(inside + reach, bound) : fmax(inside - reach, bound);
    if (rise_at(s, best, of_leave, outside) > drop)
      break;
    inside = outside;
  }
  if (!(direction * (bound - inside) > 0.0))
    return bound;
  for (int k = 0; k < BISECTIONS; k++) {
    const double middle = 0.5 * (inside + outside);
    if (rise_at(s, best, of_leave, middle) > drop)
      outside = middle;
    else
      inside = middle;
  }
  return outside;
}

#define CANDIDATES    9
#define MOST_CLUES    512
#define LEAST_CLUES   3
#define CLUE_PULL_PCT 0.8
#define CLUE_NOISES   5.0

/* What the held intervals say of where to look. The pull that lets go lies just above the largest
 * that was withstood; lag and turns of the command make some seem larger. */
typedef struct beginning {
  size_t count;
  double leave_pct[CANDIDATES];
  double behind_pct;
} beginning;

static beginning begin_with(plag_model *model) {
  static const double shares[CANDIDATES] = {0.5, 0.75, 0.85, 0.92, 0.96, 0.99, 1.0, 0.3, 0.15};
  beginning begin = {0};
  const size_t mark = plag_workspace_mark(model->workspace);
  platelag_held *held = plag_workspace_take(model->workspace, MOST_CLUES, sizeof held[0]);
  double *pull = plag_workspace_take(model->workspace, MOST_CLUES, sizeof pull[0]);
  double *jump = plag_workspace_take(model->workspace, MOST_CLUES, sizeof jump[0]);
  if (!held || !pull || !jump)
    return begin; /* without clues the scan of small thresholds goes on */
  const size_t count = plag_held_list(model, fmax(CLUE_PULL_PCT, CLUE_NOISES * model->noise_pct),
                                      0.9 * model->trace->position_refresh_s, held, MOST_CLUES);
  size_t jumps = 0;
  for (size_t k = 0; k < count; k++) {
    pull[k] = fabs(held[k].pull_pct);
    if (fabs(held[k].release_jump_pct) > 0.0)
      jump[jumps++] = fmin(fabs(held[k].release_jump_pct), pull[k]);
  }
  for (; count >= LEAST_CLUES && begin.count < CANDIDATES; begin.count++)
    begin.leave_pct[begin.count] = 1.001 * plag_quantile(pull, count, shares[begin.count]);
  if (begin.count > 0 && jumps > 0)
    begin.behind_pct = fmax(begin.leave_pct[1] - plag_median(jump, jumps), 0.0);
  plag_workspace_release(model->workspace, mark);
  return begin;
}

/* Where a release lands hangs on the pull that let go: on ramps, where every release is like the
 * last, either alone says nothing, and both are scanned together. */
static place scan_both(const search *s, const beginning *begin, place best) {
  const plag_stiction kind = best.element;
  const double middle_pct = begin->count > 0 ? begin->leave_pct[1] : MIDDLE_PULL_PCT;
  const int first = begin->count > 0 ? 27 : 3; /* of 33, which is the middle itself */
  for (int k = first; k <= 50; k++)
    for (int b = 0; b <= 8; b++) {
      const double leave_pct = k / 33.0 * middle_pct;
      better(&best, try_pulls(s, &kind, leave_pct, b / 8.0 * leave_pct));
    }
  return best;
}

/* The candidates and a wide range around them, then refined. */
static place search_from(const search *s, const beginning *begin, place best) {
  static const double behinds[] = {0.0, 0.25, 0.5, 0.75, 1.0};
  static const double wide[] = {0.5, 1.3, 1.7, 2.2};
  const plag_stiction kind = best.element;
  if (s->ramps_alone)
    best = scan_both(s, begin, best);
  for (int round = 0; round < 2; round++) {
    for (size_t k = 0; k < begin->count; k++)
      better(&best, try_pulls(s, &kind, begin->leave_pct[k], best.behind_pct));
    for (size_t k = 0; round == 0 && k < sizeof wide / sizeof wide[0]; k++)
      better(&best, try_pulls(s, &kind, wide[k] * begin->leave_pct[0], best.behind_pct));
    for (size_t k = 0; k < sizeof behinds / sizeof behinds[0]; k++)
      better(&best, try_pulls(s, &kind, best.leave_pct, behinds[k] * best.leave_pct));
  }
  return search_compass(s, best, fmax(0.1 * best.leave_pct, 0.3), 0.05);
}

static bool has_two_levels(const plag_model *model) {
  return model->trace->command_kind == PLATELAG_COMMAND_TWO_LEVEL;
}

/* An on/off command: all that shows is which reversals moved the plates. Steps are in hand. */
static void bracket_band(plag_model *model) {
  const platelag_fit *fit = model->fit;
  double largest_still = 0.0;
  double smallest_moved = INFINITY;
  for (size_t k = 0; k < fit->step_count; k++) {
    const platelag_step *step = &fit->step[k];
    const double asked = fabs(plag_model_target_pct(fit, model->trace, step->command_to) -
                              plag_model_target_pct(fit, model->trace, step->command_from));
    if (step->end == PLATELAG_STEP_NO_MOVE)
      largest_still = fmax(largest_still, asked);
    else if (step->end != PLATELAG_STEP_VOID && step->end != PLATELAG_STEP_CUT)
      smallest_moved = fmin(smallest_moved, asked);
  }
  if (isinf(smallest_moved))
    return;
  model->fit->friction.stick_band_pct = (platelag_estimate){
      .known = largest_still > 0.0 && largest_still < smallest_moved ? PLATELAG_KNOWN_BRACKET
                                                                     : PLATELAG_KNOWN_UPPER_LIMIT,
      .value = NAN,
      .low = largest_still < smallest_moved ? largest_still : 0.0,
      .high = smallest_moved,
  };
}

static platelag_estimate estimate_of(double value, double low, double high) {
  if (high > UNRESOLVED * low)
    return (platelag_estimate){PLATELAG_KNOWN_BRACKET, NAN, low, high};
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, low, high};
}

/* Between the pulls that bracket the threshold the likelihood is flat: its middle stands. */
static double middle_of_cell(const place *best) {
  const plag_stiction_score *score = &best->score;
  return isinf(score->least_released_pct)
             ? best->leave_pct
             : 0.5 * (score->most_withstood_pct + score->least_released_pct);
}

/* Least squares of what is left over how a change of the landing would change it, both freed of
 * what offset and factor explain, weighted as at `best`. NaN when nothing would change. */
static double landing_error(const plag_stiction_record *record, const place *best, const double *by,
                            double noise_pct) {
  double w = 0, wx = 0, wg = 0, wxx = 0, wxg = 0, wr = 0, wxr = 0, wgg = 0, wgr = 0;
  for (size_t i = 0; i < record->sample_count; i++) {
    const double r = plag_stiction_residual(record, &best->score, i);
    const double weight = 1.0 / (noise_pct * noise_pct + record->spread_pct2[i] + 0.25 * r * r);
    const double x = record->predicted_pct[i];
    const double g = best->score.factor * (by[i] - x);
    w += weight;
    wx += weight * x;
    wg += weight * g;
    wr += weight * r;
    wxx += weight * x * x;
    wxg += weight * x * g;
    wxr += weight * x * r;
    wgg += weight * g * g;
    wgr += weight * g * r;
  }
  const double xx = wxx - wx * wx / w;
  const double xg = wxg - wx * wg / w;
  const double gg = wgg - wg * wg / w - xg * xg / xx;
  const double gr = wgr - wg * wr / w - xg * (wxr - wx * wr / w) / xx;
  return gg > 0.0 ? gr / gg : NAN;
}

/* Fills the record's predictions anew, which the search has left to others. */
static void predict(const search *s, const place *at) {
  (void)plag_stiction_try(s->record, &at->element, s->noise_pct);
}

/* The landing beyond what the search's steps resolve: there predictions change smoothly. */
static place polish_behind(plag_model *model, const search *s, place best) {
  const size_t mark = plag_workspace_mark(model->workspace);
  const plag_stiction_record *record = s->record;
  double *by = plag_workspace_take(model->workspace, record->sample_count, sizeof by[0]);
  const double h = 0.1 * s->noise_pct;
  for (int round = 0; by && round < POLISHES; round++) {
    const place beyond = try_pulls(s, &best.element, best.leave_pct, best.behind_pct + h);
    predict(s, &beyond);
    memcpy(by, record->predicted_pct, record->sample_count * sizeof by[0]);
    best = try_pulls(s, &best.element, best.leave_pct, best.behind_pct);
    predict(s, &best);
    const double way = h * landing_error(record, &best, by, s->noise_pct);
    const place other = try_pulls(s, &best.element, best.leave_pct, best.behind_pct + way);
    if (!(fabs(way) < s->noise_pct) || other.score.cost > best.score.cost + NO_WORSE)
      break;
    best.behind_pct = other.behind_pct;
    best.element = other.element;
    best.score = other.score;
  }
  plag_workspace_release(model->workspace, mark);
  return best;
}

/* Band and jump are sum and difference of the two pulls, whose errors are all but independent. */
static void report(plag_model *model, const search *s, const place *best, double as_one) {
  const double scale = fabs(best->score.factor);
  const double drop = DROP * as_one;
  const double step = fmax(0.02 * best->leave_pct, 0.05);
  const double leave_low = range_end(s, best, true, -1.0, drop, step);
  const double leave_high = range_end(s, best, true, 1.0, drop, step);
  platelag_friction *friction = &model->fit->friction;
  const double behind_low = range_end(s, best, false, -1.0, drop, step);
  const double behind_high = range_end(s, best, false, 1.0, drop, step);
  const double leave = middle_of_cell(best);
  const double behind = best->behind_pct;
  const double below = hypot(leave - leave_low, behind - behind_low);
  const double above = hypot(leave_high - leave, behind_high - behind);
  friction->stick_band_pct =
      estimate_of(scale * (leave + behind), scale * fmax(leave + behind - below, 0.0),
                  scale * (leave + behind + above));
  const double under = hypot(leave - leave_low, behind_high - behind);
  const double over = hypot(leave_high - leave, behind - behind_low);
  friction->slip_jump_pct = (platelag_estimate){
      PLATELAG_KNOWN_VALUE, scale * fmax(leave - behind, 0.0),
      scale * fmax(leave - behind - under, 0.0), scale * (leave - behind + over)};
}

/* The score on the scale of the free response's: what the element gains on the compact record,
 * carried over to the samples that the other descriptions were scored on. */
static void score_beside_free(plag_model *model, const search *s, const place *best,
                              const place *none, double as_one) {
  const platelag_score *free = &model->fit->free;
  platelag_score *score = &model->fit->friction_score;
  *score = *free;
  if (free->convergence != PLATELAG_CONVERGED || !(free->samples > 0.0))
    return;
  const double effective = (double)s->record->sample_count / as_one;
  const double gain = (none->score.cost - best->score.cost) / as_one;
  score->parameters = free->parameters + 2;
  score->log_likelihood = free->log_likelihood + gain * free->samples / fmax(effective, 1.0);
  score->rms_pct = free->rms_pct * exp(-gain / fmax(effective, 1.0));
}

/* Other thresholds than the best so far, far and near: levels at rest find fD early, and with it
 * known the threshold that explains the releases stands out wherever it is. */
static place scan_leave(const search *s, place best) {
  static const double wide[] = {0.5, 0.7, 0.84, 0.93, 1.07, 1.2, 1.45, 1.8, 2.3};
  const plag_stiction kind = best.element;
  const double leave_pct = best.leave_pct;
  for (size_t k = 0; k < sizeof wide / sizeof wide[0]; k++)
    better(&best, try_pulls(s, &kind, wide[k] * leave_pct, best.behind_pct));
  return best;
}

/* With the noise that is left, twice: what is left depends on how well the place is found. */
static place refine(plag_model *model, search *s, place best, double least_noise_pct) {
  for (int round = 0; round < 2; round++) {
    s->noise_pct = leftover_pct(model, s->record, &best, least_noise_pct);
    best = try_pulls(s, &best.element, best.leave_pct, best.behind_pct);
    best = search_compass(s, scan_leave(s, best), 0.3,
                          round == 0 ? 0.05 : fmin(0.01, 0.03 * s->noise_pct));
  }
  return best;
}

/* Hysteresis flattens a map that was fitted on ramps; between steps the plates rest on either side
 * of it and it stands. */
static bool may_be_flattened(const platelag_fit *fit) {
  return 2 * fit->steps_in_trace < fit->friction.reversals;
}

/* Maps, each with plates that stop between two changes and with plates that do not. */
static int descriptions_of(const platelag_fit *fit) {
  return may_be_flattened(fit) ? 2 * PLAG_FRICTION_MAPS : 1;
}

static place search_held(plag_model *model, search *s, plag_stiction_record *record,
                         plag_stiction kind, const beginning *begin, double least_noise_pct) {
  /* A wide noise first: a level a little off must not outweigh a release at the wrong moment. */
  s->noise_pct = fmax(s->noise_pct, WIDE_NOISE * begin->leave_pct[1]);
  place best = {.score.cost = INFINITY};
  plag_friction_map map = PLAG_FRICTION_MAP_FITTED;
  /* Ramps alone leave open what the map is and whether plates stop between two changes. */
  for (int k = 0; k < descriptions_of(model->fit); k++) {
    const plag_friction_map with = (plag_friction_map)(k / 2);
    plag_friction_record_map(model, record, with);
    kind.always_stops = k % 2 == 1;
    const place first = try_pulls(s, &kind, begin->leave_pct[1], begin->behind_pct);
    if (better(&best, search_from(s, begin, first)))
      map = with;
  }
  plag_friction_record_map(model, record, map);
  best = refine(model, s, best, least_noise_pct);
  best.map = map;
  return best;
}

/* Thresholds below what a hold would have shown, with one meaning of a stop. */
static place scan_small(const search *s, const plag_stiction *kind) {
  static const double leaves_pct[] = {0.5, 1.0, 2.0, 3.0, 4.5};
  static const double behinds[] = {0.0, 0.3, 0.6, 0.9};
  place best = try_pulls(s, kind, 0.0, 0.0);
  for (size_t k = 0; k < sizeof leaves_pct / sizeof leaves_pct[0]; k++)
    for (size_t b = 0; b < sizeof behinds / sizeof behinds[0]; b++)
      better(&best, try_pulls(s, kind, leaves_pct[k], behinds[b] * leaves_pct[k]));
  return best;
}

/* Nothing was held. Healthy plates are the rule here and one scan tells them; only what shows
 * friction is looked at more closely. */
static place search_small(plag_model *model, search *s, plag_stiction_record *record,
                          plag_stiction kind, double least_noise_pct) {
  plag_friction_record_map(model, record, PLAG_FRICTION_MAP_FITTED);
  const place none = try_pulls(s, &kind, 0.0, 0.0);
  s->noise_pct = leftover_pct(model, record, &none, least_noise_pct);
  place best = scan_small(s, &kind);
  if (try_pulls(s, &kind, 0.0, 0.0).score.cost - best.score.cost < LEAST_GAIN)
    return best;
  s->noise_pct = fmax(s->noise_pct, WIDE_NOISE * best.leave_pct);
  best = try_pulls(s, &best.element, best.leave_pct, best.behind_pct);
  plag_friction_map map = PLAG_FRICTION_MAP_FITTED;
  for (int k = 1; k < descriptions_of(model->fit); k++) {
    plag_friction_record_map(model, record, (plag_friction_map)(k / 2));
    kind.always_stops = k % 2 == 1;
    place other = scan_small(s, &kind);
    if (s->ramps_alone)
      other = scan_both(s, &(beginning){0}, other);
    other = search_compass(s, other, 0.4, 0.1);
    if (better(&best, other))
      map = (plag_friction_map)(k / 2);
  }
  plag_friction_record_map(model, record, map);
  best = refine(model, s, best, least_noise_pct);
  best.map = map;
  return best;
}

/* Free plates explain as much: the widest band that is not ruled out, whatever its jump. */
static void report_limit(plag_model *model, const search *s, const place *none, double drop) {
  double widest_pct = 0.0;
  for (int all_jump = 0; all_jump < 2; all_jump++) {
    const double share = all_jump == 1 ? 0.0 : 1.0;
    double low = 0.0;
    double high = 0.25;
    while (high < s->highest_pct &&
           try_pulls(s, &none->element, high, share * high).score.cost - none->score.cost <= drop) {
      low = high;
      high *= 2.0;
    }
    for (int k = 0; k < BISECTIONS; k++) {
      const double middle = 0.5 * (low + high);
      const place at = try_pulls(s, &none->element, middle, share * middle);
      *(at.score.cost - none->score.cost <= drop ? &low : &high) = middle;
    }
    widest_pct = fmax(widest_pct, (1.0 + share) * high);
  }
  /* No jump is longer than plates that land on the target make it. */
  model->fit->friction.stick_band_pct = model->fit->friction.slip_jump_pct =
      (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, widest_pct};
}

static void forget_lag(platelag_lag *lag) {
  const platelag_estimate nothing = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  lag->dead_time_s = lag->opening_t63_s = lag->closing_t63_s = nothing;
  lag->opening_tau_s = lag->closing_tau_s = lag->rate_pct_per_s = nothing;
  lag->apart = false;
}

static place search_with_lag(plag_model *model, search *s, plag_stiction_record *record,
                             plag_stiction kind, const beginning *begin, double least_noise_pct) {
  const double tau_s = fmax(record->tau_open_s, record->tau_close_s);
  kind.rest_s = fmax(RESTED_TAUS * tau_s, kind.rest_s);
  return begin->count == 0 ? search_small(model, s, record, kind, least_noise_pct)
                           : search_held(model, s, record, kind, begin, least_noise_pct);
}

/* What the search ends with: the best place, the lag it was found with, the noise it left. */
typedef struct outcome {
  place best;
  double noise_pct;
  plag_lag_point lag;
  double free_cost; /* of the best description without friction */
} outcome;

static bool better_outcome(outcome *best, outcome other) {
  if (!(other.best.score.cost < best->best.score.cost))
    return false;
  *best = other;
  return true;
}

/* Free plates behind one lag, with the noise that they leave. */
static outcome try_free_behind(plag_model *model, search *s, plag_stiction_record *record,
                               const plag_stiction *kind, plag_lag_point lag,
                               double least_noise_pct) {
  plag_friction_record_lag(record, lag);
  const place free_plates = try_pulls(s, kind, 0.0, 0.0);
  s->noise_pct = leftover_pct(model, record, &free_plates, least_noise_pct);
  return (outcome){.best = try_pulls(s, kind, 0.0, 0.0), .noise_pct = s->noise_pct, .lag = lag};
}

/* Free plates behind the response's lag. Where it has found none its map is worth little too: the
 * best of many lags and of all maps. */
static outcome try_free(plag_model *model, search *s, plag_stiction_record *record,
                        const plag_stiction *kind, double least_noise_pct) {
  static const double dead_times_s[] = {0.0, 0.15, 0.3, 0.6};
  static const double taus_s[] = {0.02, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2};
  const size_t count = sizeof taus_s / sizeof taus_s[0];
  plag_friction_record_map(model, record, PLAG_FRICTION_MAP_FITTED);
  outcome best =
      try_free_behind(model, s, record, kind, plag_lag_point_of(model->fit), least_noise_pct);
  if (model->fit->lag.dead_time_s.known != PLATELAG_KNOWN_NOTHING)
    return best;
  for (int map = 0; map < PLAG_FRICTION_MAPS; map++) {
    plag_friction_record_map(model, record, (plag_friction_map)map);
    for (size_t k = 0; k < count * sizeof dead_times_s / sizeof dead_times_s[0]; k++) {
      const plag_lag_point lag = {dead_times_s[k / count], taus_s[k % count], taus_s[k % count]};
      outcome other = try_free_behind(model, s, record, kind, lag, least_noise_pct);
      other.best.map = (plag_friction_map)map;
      (void)better_outcome(&best, other);
    }
  }
  return best;
}

/* On ramps alone a lag looks like friction without a jump and the other way round, but for the
 * moments at which the command turns. The response's lag without friction is one description;
 * other lags with friction are others, and one that explains more says that the response's lag was
 * friction in truth. */
static outcome search_lags(plag_model *model, search *s, plag_stiction_record *record,
                           plag_stiction kind, const beginning *begin, double least_noise_pct) {
  static const double taus_s[] = {1e-3, 0.05, 0.15, 0.4};
  const double start_noise_pct = s->noise_pct;
  if (!s->ramps_alone) {
    const place best = search_with_lag(model, s, record, kind, begin, least_noise_pct);
    return (outcome){.best = best,
                     .noise_pct = s->noise_pct,
                     .lag = plag_lag_point_of(model->fit),
                     .free_cost = INFINITY};
  }
  outcome best = try_free(model, s, record, &kind, least_noise_pct);
  const double free_cost = best.best.score.cost;
  for (size_t k = 0; k < sizeof taus_s / sizeof taus_s[0]; k++) {
    const plag_lag_point lag = {0.0, taus_s[k], taus_s[k]};
    plag_friction_record_lag(record, lag);
    s->noise_pct = start_noise_pct;
    const place found = search_with_lag(model, s, record, kind, begin, least_noise_pct);
    (void)better_outcome(&best, (outcome){.best = found, .noise_pct = s->noise_pct, .lag = lag});
  }
  best.free_cost = free_cost;
  plag_friction_record_lag(record, best.lag);
  plag_friction_record_map(model, record, best.best.map);
  s->noise_pct = best.noise_pct;
  return best;
}

static void estimate(plag_model *model, plag_stiction_record *record) {
  const platelag_trace *trace = model->trace;
  memory memory_of_search = {0};
  search s = {
      .record = record,
      .memory = &memory_of_search,
      .noise_pct = fmax(2.0 * model->noise_pct, 0.2),
      .highest_pct = fmax(model->fit->coverage.position_span_pct, 1.0),
      .ramps_alone = model->fit->steps_in_trace < PLAG_STEPS_FOR_LAG,
  };
  const plag_stiction kind = {.rest_s = 2.5 * fmax(trace->command_refresh_s, trace->row_period_s)};
  const double least = fmax(model->noise_pct, LEAST_NOISE_PCT);
  const beginning begin = begin_with(model);
  const outcome found = search_lags(model, &s, record, kind, &begin, least);
  const place best = polish_behind(model, &s, found.best);
  /* A release at the wrong moment makes every sample until the next move wrong: the moves are what
   * is independent, not the samples. */
  const double as_one = fmax(samples_as_one(&s, &best),
                             (double)record->sample_count / (double)model->fit->friction.reversals);
  place none = try_pulls(&s, &best.element, 0.0, 0.0);
  none.score.cost = fmin(none.score.cost, found.free_cost);
  if (none.score.cost - best.score.cost < LEAST_GAIN * as_one) {
    report_limit(model, &s, &none, DROP * as_one);
  } else {
    report(model, &s, &best, as_one);
    if (s.ramps_alone)
      forget_lag(&model->fit->lag); /* it was friction */
  }
  score_beside_free(model, &s, &best, &none, as_one);
}

/* Plates that never leave the place they stand at show no pull that lets go. */
static bool ever_moved(const plag_model *model) {
  const platelag_travel *travel = &model->fit->travel;
  return travel->highest_pct - travel->lowest_pct > 2.0 * plag_held_band_pct(model);
}

platelag_status plag_friction_fit(plag_model *model, platelag_error *error) {
  platelag_fit *fit = model->fit;
  fit->friction = (platelag_friction){
      .stick_band_pct = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN},
      .slip_jump_pct = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN},
      .reversals = fit->coverage.openings + fit->coverage.closings,
  };
  fit->friction_score = fit->free;
  if (model->trace->command_kind == PLATELAG_COMMAND_ABSENT || fit->loop.closed ||
      model->valid_count < LEAST_SAMPLES || fit->friction.reversals < LEAST_REVERSALS ||
      !ever_moved(model))
    return PLATELAG_OK;
  if (has_two_levels(model)) {
    bracket_band(model);
    return PLATELAG_OK;
  }
  const size_t mark = plag_workspace_mark(model->workspace);
  plag_stiction_record record;
  const platelag_status status = plag_friction_record_build(model, &record, error);
  if (status == PLATELAG_OK && record.sample_count >= LEAST_SAMPLES)
    estimate(model, &record);
  plag_workspace_release(model->workspace, mark);
  return status;
}
