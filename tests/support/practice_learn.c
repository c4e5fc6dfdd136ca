/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/practice_learn.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/statistics.h"
#include "judge/learned.h"

static size_t index_of(const char *name) {
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    if (strcmp(plag_hypothesis_at(i)->hypothesis->name, name) == 0)
      return i;
  fail_msg("no hypothesis \"%s\"", name);
  return 0;
}

static const struct {
  const char *fault;
  const char *beyond, *within; /* its limit; where it has none, the first */
} row[] = {
    {"none", "free", "free"},
    {"slow", "slow", "free"},
    {"sticking", "friction", "free"},
    {"ridge", "ridge", "ridge"},
    {"short_travel", "stop deposit", "free"},
    {"jam_inside", "jam inside the travel", "jam inside the travel"},
    {"jam_past_stop", "jam past a stop", "jam past a stop"},
    {"no_drive", "no drive", "no drive"},
    {"weak_drive", "weak drive, short", "free"},
    {"open_wire", "open or shorted high", "open or shorted high"},
    {"short_to_reference", "open or shorted high", "open or shorted high"},
    {"short_to_ground", "shorted low", "shorted low"},
    {"frozen_signal", "frozen signal", "frozen signal"},
    {"dropouts", "dropouts", "dropouts"},
    {"worn_spot", "worn spot", "worn spot"},
    {"shifted", "shifted signal", "free"},
    {"span_scaled", "scaled span", "free"},
    {"reference_sag", "sagging reference", "sagging reference"},
    {"noise", "noisy signal", "noisy signal"},
    {"drift", "drifting signal", "slight drift"},
    {"sticking+dropouts", "friction, dropouts beside", "friction, dropouts beside"},
    {"ridge+dropouts", "ridge, dropouts beside", "ridge, dropouts beside"},
    {"slow+dropouts", "slow, dropouts beside", "dropouts"},
    {"dropouts+sticking", "dropouts, friction beside", "dropouts, friction beside"},
    {"sticking+shifted", "friction", "friction"},
    {"short_travel+sticking", "stop deposit", "friction"},
};

size_t practice_learn_hypothesis(const practice_case *of) {
  const char *fault = practice_set_draw(of->set, of->number).order.fault;
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
    if (strcmp(row[i].fault, fault) == 0)
      return index_of(of->truth.is == PLATELAG_FINDING_FREE ? row[i].within : row[i].beyond);
  fail_msg("no hypothesis for the fault \"%s\"", fault);
  return 0;
}

/* --- how facts are spread --------------------------------------------------------------------- */

static void print_quantiles(double *value, size_t count) {
  static const double share[] = {0.05, 0.25, 0.5, 0.75, 0.95};
  for (size_t q = 0; q < sizeof share / sizeof share[0]; q++)
    print_message(" %9.3f", plag_quantile(value, count, share[q]));
}

static void print_fact(const practice_case *of, size_t count, size_t hypothesis, int feature,
                       double *value, double *exposure) {
  size_t all = 0;
  size_t present = 0;
  double sum = 0;
  for (size_t i = 0; i < count; i++) {
    if (practice_learn_hypothesis(&of[i]) != hypothesis)
      continue;
    all++;
    const plag_fact *fact = &of[i].facts.fact[feature];
    if (!fact->present)
      continue;
    sum += fact->value;
    value[present] = fact->value;
    exposure[present++] = fact->count;
  }
  if (present < 3)
    return;
  print_message("  %-40.40s %4zu/%-4zu mean %9.3f |", plag_feature_at((plag_feature)feature)->what,
                present, all, sum / (double)present);
  print_quantiles(value, present);
  print_message(" | count");
  print_quantiles(exposure, present);
  print_message("\n");
}

void practice_learn_print_facts(const practice_case *of, size_t count) {
  double *value = calloc(count + 1, sizeof *value);
  double *exposure = calloc(count + 1, sizeof *exposure);
  assert_non_null(value);
  assert_non_null(exposure);
  for (size_t h = 0; h < plag_hypothesis_count(); h++) {
    print_message("%s\n", plag_hypothesis_at(h)->hypothesis->name);
    for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
      print_fact(of, count, h, f, value, exposure);
  }
  free(value);
  free(exposure);
}

/* --- densities -------------------------------------------------------------------------------- */

/* What a fact is spread like. */
typedef enum spread {
  NONE,
  SHARE,
  RATE,
  LEVEL,
  LOG_LEVEL,
  LOG10_LEVEL,
  CHANCE,
  SIDE,
  SCALE
} spread;

#define FACT(kind, how) [PLAG_FEATURE_##kind] = {"PLAG_FEATURE_" #kind, how}
static const struct {
  const char *name;
  spread how;
} learned[PLAG_FEATURE_COUNT] = {
    FACT(HIGH_SHARE, SHARE),
    FACT(LOW_SHARE, SHARE),
    FACT(HIGH_LEVEL, LEVEL),
    FACT(HIGH_DITHER, NONE),
    FACT(DROPOUTS, RATE),
    FACT(FROZEN_SHARE, SHARE),
    FACT(NOISE, LOG10_LEVEL),
    FACT(JUMP_DIRECTION, CHANCE),
    FACT(JUMP_UNASKED, CHANCE),
    FACT(VOID_PLACE, NONE),
    FACT(VOID_MOVING, SHARE),
    FACT(SAG, SHARE),
    FACT(REFERENCE_DIPS, SHARE),
    FACT(AWAY_LEAPS, RATE),
    FACT(TREND, SCALE),
    FACT(MOVED, SHARE),
    FACT(REST_GAP, NONE),
    FACT(STILL_DITHER, NONE),
    FACT(HELD, RATE),
    FACT(HELD_PLACE, SCALE),
    FACT(HELD_LEAPT, CHANCE),
    FACT(EFFORT, LEVEL),
    FACT(WARM, LEVEL),
    FACT(T63, SIDE),
    FACT(T63_RATIO, LOG_LEVEL),
    FACT(STICK_BAND, SIDE),
    FACT(STOPS, NONE),
    FACT(DESCRIPTION, NONE),
    FACT(AIR_ANSWER, NONE),
    FACT(CURRENT, NONE),
    FACT(LAG_SUPPLY, NONE),
    FACT(SWEEP, NONE),
    FACT(METER_REFERENCE, NONE),
    FACT(METER_GROUND, NONE),
    FACT(METER_SIGNAL, NONE),
};
#undef FACT

/* The world is wider than the first setting: what it teaches is spread by this, and what it teaches
 * of a fault's own marks, whose degree practice chooses, by this (judgements). */
#define WIDER       1.4
#define WIDER_FAULT 2.0
/* So many captures teach something, and so many something of one style of recording. */
#define LEAST         8
#define LEAST_STYLE   15
#define STRENGTH_MOST 60.0
#define SHAPE_MOST    3.0

typedef struct sample {
  size_t count;
  double *value, *exposure;
} sample;

static double mean_of(const double *value, size_t count) {
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += value[i];
  return sum / (double)count;
}

/* The best of a grid of `b` from `low` to `high`, in steps of a factor of 1.25. */
static double best_on_grid(const sample *of, double a, double low, double high,
                           double (*log_density)(double value, double exposure, double a,
                                                 double b)) {
  double best = low;
  double most = -INFINITY;
  for (double b = low; b <= high; b *= 1.25) {
    double sum = 0;
    for (size_t i = 0; i < of->count; i++)
      sum += log_density(of->value[i], of->exposure[i], a, b);
    if (sum > most) {
      most = sum;
      best = b;
    }
  }
  return best;
}

static double share_density(double value, double exposure, double a, double b) {
  (void)exposure;
  return plag_density_proportion(value, (plag_proportion){a, b});
}
static double rate_density(double value, double exposure, double a, double b) {
  return plag_density_count(value, exposure, (plag_rate){a, b}, PLAG_DENSITY_BACKGROUND);
}
static double chance_density(double value, double exposure, double a, double b) {
  return plag_density_chance(value, exposure, (plag_chance){a * b, (1 - a) * b});
}

static bool learn_two(spread how, double wider, sample *of, double *a, double *b) {
  *b = 0;
  switch (how) {
  case SHARE:
    for (size_t i = 0; i < of->count; i++)
      of->value[i] = fmin(fmax(of->value[i], 0.002), 0.998);
    *a = mean_of(of->value, of->count);
    *b = fmax(best_on_grid(of, *a, 1, STRENGTH_MOST, share_density) / wider, 1);
    return true;
  case RATE:
    *a = fmax(mean_of(of->value, of->count) / fmax(mean_of(of->exposure, of->count), 1e-9), 0.002);
    *b = best_on_grid(of, *a, 0.1, SHAPE_MOST, rate_density) / wider;
    return true;
  case CHANCE: {
    const double share = (mean_of(of->value, of->count) * (double)of->count + 1) /
                         (mean_of(of->exposure, of->count) * (double)of->count + 2);
    const double strength = best_on_grid(of, share, 0.5, STRENGTH_MOST, chance_density) / wider;
    *a = share * strength;
    *b = (1 - share) * strength;
    return true;
  }
  case LEVEL:
  case LOG_LEVEL:
  case LOG10_LEVEL:
    for (size_t i = 0; i < of->count && how != LEVEL; i++)
      of->value[i] = how == LOG_LEVEL ? log(of->value[i]) : log10(of->value[i]);
    *a = plag_median(of->value, of->count);
    *b = (plag_quantile(of->value, of->count, 0.9) - plag_quantile(of->value, of->count, 0.1)) /
         2.563 * wider;
    return *b > 0;
  case SIDE: /* of its limit, the values being how likely each is above it */
    *a = (mean_of(of->value, of->count) * (double)of->count + 1) / ((double)of->count + 2);
    return true;
  case SCALE: {
    for (size_t i = 0; i < of->count; i++)
      of->value[i] = fabs(of->value[i]);
    /* The exposure is each value's own standard error, which the density adds again. */
    const double seen = plag_quantile(of->value, of->count, 0.8) / 1.282;
    const double error = plag_quantile(of->exposure, of->count, 0.5);
    *a = fmax(sqrt(fmax(seen * seen - error * error, 0)) * wider, 0.5);
    return true;
  }
  case NONE:
    break;
  }
  return false;
}

/* Whether a capture teaches a hypothesis a fact: its own captures do where it states the fact; all
 * that leave the fact as it is teach the healthy valve. */
static bool teaches(const practice_case *of, size_t hypothesis, int feature) {
  const size_t own = practice_learn_hypothesis(of);
  const bool states =
      plag_learned_states(plag_hypothesis_at(own)->hypothesis, &of->facts, (plag_feature)feature);
  return own == hypothesis ? states || own == index_of(PLAG_LEARNED_USUAL)
                           : !states && hypothesis == index_of(PLAG_LEARNED_USUAL);
}

static double as_learned(const plag_facts *facts, int feature) {
  switch (feature) {
  case PLAG_FEATURE_HELD:
    return facts->held_beyond;
  case PLAG_FEATURE_T63:
    return facts->t63_above;
  case PLAG_FEATURE_STICK_BAND:
    return facts->stick_above;
  default:
    return facts->fact[feature].value;
  }
}

static void gather(const practice_case *of, size_t count, size_t hypothesis, int feature,
                   plag_style style, sample *out) {
  out->count = 0;
  for (size_t i = 0; i < count; i++) {
    const plag_fact *fact = &of[i].facts.fact[feature];
    if (!fact->present || !teaches(&of[i], hypothesis, feature) ||
        (style != PLAG_STYLE_ANY && plag_learned_style(&of[i].facts) != style))
      continue;
    /* How far plates moved is known on the spec's scale alone. */
    if (feature == PLAG_FEATURE_MOVED && !of[i].facts.absolute)
      continue;
    out->value[out->count] = as_learned(&of[i].facts, feature);
    out->exposure[out->count++] = fact->count;
  }
}

void practice_learn_print_densities(const practice_case *of, size_t count) {
  static const char *const style[] = {"PLAG_STYLE_DUTY", "PLAG_STYLE_TWO_LEVEL",
                                      "PLAG_STYLE_DESIRED", "PLAG_STYLE_LOOP", "PLAG_STYLE_ANY"};
  sample some = {0, calloc(count + 1, sizeof(double)), calloc(count + 1, sizeof(double))};
  assert_true(some.value != NULL && some.exposure != NULL);
  const size_t healthy = index_of(PLAG_LEARNED_USUAL);
  for (size_t h = 0; h < plag_hypothesis_count(); h++)
    for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
      for (int k = 0; k <= PLAG_STYLE_ANY; k++) {
        /* The row for any style first, so that those for one come behind it and count. */
        const plag_style at = (plag_style)((k + PLAG_STYLE_ANY) % (PLAG_STYLE_ANY + 1));
        double a = 0;
        double b = 0;
        gather(of, count, h, f, at, &some);
        if (some.count >= (at == PLAG_STYLE_ANY ? LEAST : LEAST_STYLE) &&
            learn_two(learned[f].how, h == healthy ? WIDER : WIDER_FAULT, &some, &a, &b))
          print_message("    {\"%s\", %s, %s, %.4g, %.4g},\n",
                        plag_hypothesis_at(h)->hypothesis->name, learned[f].name, style[at], a, b);
      }
  free(some.value);
  free(some.exposure);
}

/* --- how far facts are believed --------------------------------------------------------------- */

#define WEIGHT_LEAST 0.25
#define WEIGHT_MOST  1.0
/* Weights are held to this, by so many nats for a difference of 1: what captures hardly tell of
 * stays believed in part. */
#define WEIGHT_USUAL 0.7
#define WEIGHT_HELD  4.0
#define SWEEPS       6

typedef struct lesson {
  size_t captures, hypotheses;
  double *density; /* [capture][hypothesis][feature] */
  double *score;   /* [capture][hypothesis] under the weights so far, priors included */
  size_t *label;
  double weight[PLAG_FEATURE_COUNT];
} lesson;

/* What practice captures do not show as the world does: all their jammed plates dither, none of
 * their weak drives is slow, and there is no meter. These facts are believed as usual. */
static bool is_practised(int feature) {
  switch (feature) {
  case PLAG_FEATURE_HIGH_LEVEL:
  case PLAG_FEATURE_HIGH_DITHER:
  case PLAG_FEATURE_STILL_DITHER:
  case PLAG_FEATURE_LAG_SUPPLY:
  case PLAG_FEATURE_SWEEP:
  case PLAG_FEATURE_METER_REFERENCE:
  case PLAG_FEATURE_METER_GROUND:
  case PLAG_FEATURE_METER_SIGNAL:
    return false;
  default:
    return true;
  }
}

static bool same_answer(size_t one, size_t other) {
  const plag_hypothesis *a = plag_hypothesis_at(one)->hypothesis;
  const plag_hypothesis *b = plag_hypothesis_at(other)->hypothesis;
  return a->finding == b->finding && a->family == b->family;
}

/* Minus the log of the probability of the right answers, were the weight of `feature` other by
 * `more`. */
static double surprise(const lesson *of, int feature, double more) {
  double sum = 0;
  for (size_t i = 0; i < of->captures; i++) {
    double score[PLAG_HYPOTHESIS_MOST];
    double most = -INFINITY;
    for (size_t h = 0; h < of->hypotheses; h++) {
      const size_t at = i * of->hypotheses + h;
      score[h] = of->score[at] + more * of->density[at * PLAG_FEATURE_COUNT + (size_t)feature];
      most = fmax(most, score[h]);
    }
    double all = 0;
    double right = 0;
    for (size_t h = 0; h < of->hypotheses; h++) {
      const double share = exp(score[h] - most);
      all += share;
      if (same_answer(h, of->label[i]))
        right += share;
    }
    sum -= log(fmax(right / all, 1e-12));
  }
  const double weight = of->weight[feature] + more - WEIGHT_USUAL;
  return sum + WEIGHT_HELD * weight * weight;
}

static void move_weight(lesson *of, int feature) {
  double best = surprise(of, feature, 0);
  for (double step = 0.2; step > 0.02; step /= 2)
    for (int way = -1; way <= 1; way += 2)
      for (;;) {
        const double more = way * step;
        const double weight = of->weight[feature] + more;
        if (weight < WEIGHT_LEAST || weight > WEIGHT_MOST)
          break;
        const double found = surprise(of, feature, more);
        if (found >= best)
          break;
        best = found;
        of->weight[feature] = weight;
        for (size_t at = 0; at < of->captures * of->hypotheses; at++)
          of->score[at] += more * of->density[at * PLAG_FEATURE_COUNT + (size_t)feature];
      }
}

static void begin_lesson(lesson *of, const practice_case *from, size_t count) {
  of->captures = count;
  of->hypotheses = plag_hypothesis_count();
  const size_t scores = count * of->hypotheses;
  of->density = calloc(scores * PLAG_FEATURE_COUNT + 1, sizeof *of->density);
  of->score = calloc(scores + 1, sizeof *of->score);
  of->label = calloc(count + 1, sizeof *of->label);
  assert_true(of->density != NULL && of->score != NULL && of->label != NULL);
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
    of->weight[f] = WEIGHT_USUAL;
  for (size_t i = 0; i < count; i++) {
    of->label[i] = practice_learn_hypothesis(&from[i]);
    for (size_t h = 0; h < of->hypotheses; h++) {
      const plag_hypothesis_row *at = plag_hypothesis_at(h);
      double *density = of->density + (i * of->hypotheses + h) * PLAG_FEATURE_COUNT;
      plag_hypothesis_log_likelihood(at->hypothesis, &from[i].facts, density);
      double *score = &of->score[i * of->hypotheses + h];
      *score = log(at->prior);
      for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
        density[f] /= plag_learned_weight((plag_feature)f);
        *score += WEIGHT_USUAL * density[f];
      }
    }
  }
}

void practice_learn_print_weights(const practice_case *of, size_t count) {
  lesson all = {0};
  begin_lesson(&all, of, count);
  const double before = surprise(&all, 0, 0) / (double)count;
  for (int sweep = 0; sweep < SWEEPS; sweep++)
    for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
      if (is_practised(f))
        move_weight(&all, f);
  print_message("    /* surprise a capture: %.4f nats, before %.4f */\n",
                surprise(&all, 0, 0) / (double)count, before);
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++)
    print_message("    [%s] = %.2f,\n", learned[f].name, all.weight[f]);
  free(all.density);
  free(all.score);
  free(all.label);
}
