/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stick band and slip jump: the stiction element (stiction.h) in front of the fitted lag, by
 * likelihood over the band and the jump together. An on/off command cannot show the band but only
 * bracket it (largest reversal that moved nothing, smallest that moved). */
#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/course.h"
#include "model/friction_record.h"
#include "model/workspace.h"

#define LEAST_SAMPLES   40
#define LEAST_REVERSALS 2
#define DROP            1.353 /* chi-square of one, 90 %, halved */
#define UNRESOLVED      2.5   /* high this many times low: a bracket, no number */
#define LEAST_NOISE_PCT 0.02
#define FLAT_ROUNDS     3  /* refinements of the search */
#define MOST_LAGS       60 /* of the residuals' autocorrelation */
#define BISECTIONS      4

/* What the search stands on. */
typedef struct search {
  const plag_stiction_record *record;
  double noise_pct;
  double highest_pct; /* no band is wider */
} search;

typedef struct place {
  plag_stiction element;
  plag_stiction_score score;
} place;

static place try_place(const search *s, plag_stiction element) {
  element.stick_band_pct = fmin(fmax(element.stick_band_pct, 0.0), s->highest_pct);
  element.slip_jump_pct = fmin(fmax(element.slip_jump_pct, 0.0), s->highest_pct);
  return (place){element, plag_stiction_try(s->record, &element, s->noise_pct)};
}

static bool better(place *best, place other) {
  if (!(other.score.cost < best->score.cost))
    return false;
  *best = other;
  return true;
}

/* Compass search with shrinking steps. The likelihood has kinks where a threshold crosses a change
 * of the command, so no slope is asked for. */
static place search_compass(const search *s, place best, double band_step, double jump_step,
                            double least_step) {
  static const double ways[][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}};
  while (fmax(band_step, jump_step) > least_step) {
    bool improved = false;
    for (size_t k = 0; k < sizeof ways / sizeof ways[0]; k++) {
      plag_stiction to = best.element;
      to.stick_band_pct += ways[k][0] * band_step;
      to.slip_jump_pct += ways[k][1] * jump_step;
      improved = better(&best, try_place(s, to)) || improved;
    }
    if (!improved) {
      band_step *= 0.5;
      jump_step *= 0.5;
    }
  }
  return best;
}

/* Robust spread of what the element leaves unexplained where timing plays no part. */
static double leftover_pct(plag_model *model, const plag_stiction_record *record,
                           const plag_stiction_score *score, double least_pct) {
  const size_t mark = plag_workspace_mark(model->workspace);
  double *left = plag_workspace_take(model->workspace, record->sample_count, sizeof left[0]);
  if (!left)
    return least_pct;
  size_t count = 0;
  for (size_t i = 0; i < record->sample_count; i++)
    if (record->spread_pct2[i] <= 4.0 * least_pct * least_pct)
      left[count++] = fabs(plag_stiction_residual(record, score, i));
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

/* The least cost with one of the two fixed: a short search over the other. */
static double cost_beside(const search *s, place at, bool band_fixed, double step) {
  for (int round = 0; round < 4; round++) {
    plag_stiction up = at.element;
    plag_stiction down = at.element;
    *(band_fixed ? &up.slip_jump_pct : &up.stick_band_pct) += step;
    *(band_fixed ? &down.slip_jump_pct : &down.stick_band_pct) -= step;
    if (!better(&at, try_place(s, up)) && !better(&at, try_place(s, down)))
      step *= 0.4;
  }
  return at.score.cost;
}

/* How much the cost rises with band or jump set to `value`. */
static double rise_at(const search *s, const place *best, bool of_band, double value, double step) {
  plag_stiction element = best->element;
  *(of_band ? &element.stick_band_pct : &element.slip_jump_pct) = value;
  return cost_beside(s, try_place(s, element), of_band, step) - best->score.cost;
}

/* How far band or jump can go one way before the profile likelihood falls by `drop`. */
static double profile_end(const search *s, const place *best, bool of_band, double direction,
                          double drop, double first_step) {
  const double bound = direction > 0.0 ? s->highest_pct : 0.0;
  double inside = of_band ? best->element.stick_band_pct : best->element.slip_jump_pct;
  double reach = first_step;
  double outside = inside;
  for (; inside != bound; reach *= 2.0) {
    outside = direction > 0.0 ? fmin(inside + reach, bound) : fmax(inside - reach, bound);
    if (rise_at(s, best, of_band, outside, 0.5 * reach) > drop)
      break;
    inside = outside;
  }
  if (inside == bound)
    return bound;
  for (int k = 0; k < BISECTIONS; k++) {
    const double middle = 0.5 * (inside + outside);
    if (rise_at(s, best, of_band, middle, 0.5 * reach) > drop)
      outside = middle;
    else
      inside = middle;
  }
  return outside;
}

/* Where to begin: what the held intervals show. Plates leave at fS of pull and jump by J. */
static plag_stiction first_guess(plag_model *model) {
  const platelag_fit *fit = model->fit;
  plag_stiction guess = {.stick_band_pct = 0.25 * model->spec->stick_band_limit_pct};
  const size_t mark = plag_workspace_mark(model->workspace);
  const size_t most = 512;
  double *pull = plag_workspace_take(model->workspace, most, sizeof pull[0]);
  double *jump = plag_workspace_take(model->workspace, most, sizeof jump[0]);
  if (pull && jump && fit->held_count > 0) {
    size_t pulls = 0;
    const size_t stride = fit->held_count / most + 1;
    for (size_t k = 0; k < fit->held_count; k += stride) {
      if (!(fabs(fit->held[k].release_jump_pct) > 0.0))
        continue;
      pull[pulls] = fabs(fit->held[k].pull_pct);
      jump[pulls++] = fabs(fit->held[k].release_jump_pct);
    }
    if (pulls > 0) {
      const double leaves = plag_median(pull, pulls);
      guess.slip_jump_pct = fmin(plag_median(jump, pulls), leaves);
      guess.stick_band_pct = 2.0 * leaves - guess.slip_jump_pct;
    }
  }
  plag_workspace_release(model->workspace, mark);
  return guess;
}

/* The best of a few beginnings, refined. */
static place search_from(const search *s, plag_stiction guess) {
  plag_stiction none = guess;
  none.stick_band_pct = none.slip_jump_pct = 0.0;
  place best = try_place(s, none);
  static const double shares[][2] = {{1.0, 1.0}, {0.6, 0.6}, {0.6, 0.0}, {1.5, 1.0}, {1.0, 0.0}};
  for (size_t k = 0; k < sizeof shares / sizeof shares[0]; k++) {
    plag_stiction element = guess;
    element.stick_band_pct *= shares[k][0];
    element.slip_jump_pct *= shares[k][1];
    better(&best, try_place(s, element));
  }
  const double step = fmax(0.25 * guess.stick_band_pct, 0.5);
  return search_compass(s, best, step, step, 0.1);
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

static platelag_estimate estimate_of(double value, double low, double high, bool resolvable) {
  if (!(low > 0.0) && resolvable)
    return (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, high};
  if (resolvable && high > UNRESOLVED * low)
    return (platelag_estimate){PLATELAG_KNOWN_BRACKET, NAN, low, high};
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, low, high};
}

static void report(plag_model *model, const search *s, const place *best, double as_one) {
  const double scale = fabs(best->score.factor);
  const double drop = DROP * as_one;
  const double step = fmax(0.05 * best->element.stick_band_pct, 0.1);
  const plag_stiction *at = &best->element;
  platelag_friction *friction = &model->fit->friction;
  friction->stick_band_pct =
      estimate_of(scale * at->stick_band_pct, scale * profile_end(s, best, true, -1.0, drop, step),
                  scale * profile_end(s, best, true, 1.0, drop, step), true);
  if (friction->stick_band_pct.known == PLATELAG_KNOWN_UPPER_LIMIT)
    return;
  friction->slip_jump_pct =
      estimate_of(scale * at->slip_jump_pct, scale * profile_end(s, best, false, -1.0, drop, step),
                  scale * profile_end(s, best, false, 1.0, drop, step), false);
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

/* The better of both maps and both meanings of a stop, as seen from the first guess. */
static place choose_description(plag_model *model, search *s, plag_stiction_record *record,
                                plag_stiction guess, plag_friction_map *map) {
  place best = {.score.cost = INFINITY};
  for (int k = 0; k < 4; k++) {
    const plag_friction_map with =
        k / 2 == 0 ? PLAG_FRICTION_MAP_FITTED : PLAG_FRICTION_MAP_STRAIGHT;
    /* What nothing speaks for is not looked for. */
    if (k > 0 && model->fit->held_count == 0)
      break;
    if (k % 2 == 0)
      plag_friction_record_map(model, record, with);
    guess.always_stops = k % 2 == 1;
    if (better(&best, search_from(s, guess)))
      *map = with;
  }
  plag_friction_record_map(model, record, *map);
  return best;
}

static void estimate(plag_model *model, plag_stiction_record *record) {
  const platelag_trace *trace = model->trace;
  search s = {
      .record = record,
      .noise_pct = fmax(2.0 * model->noise_pct, 0.2),
      .highest_pct = fmax(model->fit->coverage.position_span_pct, 1.0) * 1.5,
  };
  plag_stiction guess = first_guess(model);
  const double tau_s = fmax(record->tau_open_s, record->tau_close_s);
  guess.rest_s = fmax(3.0 * tau_s, 2.5 * fmax(trace->command_refresh_s, trace->row_period_s));
  plag_friction_map map = PLAG_FRICTION_MAP_FITTED;
  place best = choose_description(model, &s, record, guess, &map);
  const double least = fmax(model->noise_pct, LEAST_NOISE_PCT);
  for (int round = 0; round < FLAT_ROUNDS; round++) {
    s.noise_pct = leftover_pct(model, record, &best.score, least);
    best = search_compass(&s, try_place(&s, best.element), 0.4, 0.4, 0.01);
  }
  const double as_one = samples_as_one(&s, &best);
  plag_stiction without = best.element;
  without.stick_band_pct = without.slip_jump_pct = 0.0;
  const place none = try_place(&s, without);
  report(model, &s, &best, as_one);
  score_beside_free(model, &s, &best, &none, as_one);
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
      model->valid_count < LEAST_SAMPLES || fit->friction.reversals < LEAST_REVERSALS)
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
