/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Slopes, tests, adjusted p values and shrinkage are what published examples and other libraries
 * have for them. Series, in data/trend: mk.csv, 14 values of a hand calculation of Mann and
 * Kendall's test in a public course note (S 54, variance 332.667, Z 2.9058); nile.csv, flow of the
 * Nile 1871-1970 (R datasets::Nile; S -1387, Z -4.128, slope -2.6 a year); cars.csv, speed and
 * stopping distance (M. Ezekiel 1930; R datasets::cars), with ties of both. Numbers of libraries:
 * SciPy 1.10.1 (stats.theilslopes at 0.90, stats.kendalltau), R 4.2.2 (cor.test with method
 * "kendall" and continuity, p.adjust with method "BH"), R's metafor 3.8.1 (rma with method "DL",
 * blup). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/number.h"
#include "fleet/false_discovery.h"
#include "fleet/shrink.h"
#include "fleet/trend.h"
#include "support/check.h"

enum { MOST = 100 };
#define COUNT(list) (sizeof(list) / sizeof *(list))

struct series {
  size_t count;
  double at[MOST], value[MOST];
};

/* Rows of one number, its place being its time, or of two. A header is passed over. */
static void read_series(const char *name, struct series *series) {
  char path[512];
  char line[64];
  series->count = 0;
  (void)snprintf(path, sizeof path, "%s/trend/%s.csv", PLATELAG_EXTERNAL_DATA, name);
  FILE *file = fopen(path, "r");
  assert_non_null(file);
  while (fgets(line, sizeof line, file)) {
    double first;
    double second;
    if (plag_number_read(line, strlen(line), '.', &first) == 0)
      continue;
    assert_true(series->count < MOST);
    const char *comma = strchr(line, ',');
    const bool two = comma && plag_number_read(comma + 1, strlen(comma + 1), '.', &second) > 0;
    series->at[series->count] = two ? first : (double)series->count + 1.0;
    series->value[series->count++] = two ? second : first;
  }
  (void)fclose(file);
}

static plag_trend trend_of(const struct series *series, plag_trend_side worse) {
  static double scratch[MOST * MOST];
  plag_trend_point point[MOST];
  for (size_t i = 0; i < series->count; i++)
    point[i] =
        (plag_trend_point){series->at[i], series->value[i], series->value[i], series->value[i]};
  return plag_trend_of(point, series->count, worse, scratch);
}

/* Slopes by SciPy: of the upper end for cars it stands one slope further in, for it takes ties of
 * the values off Sen's variance too. tau by both, deviations from nothing by SciPy without
 * correction, p by R with it. Level: SciPy's slope, and its intercept by method "joint". */
static const struct known {
  const char *name;
  size_t count;
  plag_trend_side worse;
  double score, deviations;
  double slope, low, high, high_relative;
  double level;
  double tau, p, p_both;
} KNOWN[] = {
    {"mk", 14, PLAG_TREND_UP, 54, 2.9606639562983585, 0.566666666666667, 0.333333333333333, 0.8,
     1e-12, 12.2 + 14 * 0.566666666666667, 0.596694189718616, 0.00183136188144122,
     0.00366272376288244},
    {"nile", 100, PLAG_TREND_DOWN, -1387, -4.131044925818736, -2.6, -3.4285714285714284,
     -1.6590909090909092, 1e-12, 5890.3 - 2.6 * 1970, -0.2807413347246131, 1.82913146083217e-05,
     3.65826292166434e-05},
    {"cars", 50, PLAG_TREND_UP, 794, 6.665465888368008, 3.6666666666666665, 3.0, 4.285714285714286,
     0.006, -15.666666666666664 + 25 * 3.6666666666666665, 0.6689901499858751, 1.39669043875967e-11,
     2.79338087751935e-11},
};

static void assert_known(const struct known *known, const struct series *series) {
  const plag_trend trend = trend_of(series, known->worse);
  const plag_trend both = trend_of(series, PLAG_TREND_BOTH);
  assert_int_equal(trend.count, known->count);
  assert_close(trend.score, known->score, 0, 1e-9);
  assert_close(trend.score / sqrt(trend.variance), known->deviations, 1e-8, 0);
  assert_close(trend.slope_a_year / PLAG_DAYS_A_YEAR, known->slope, 1e-12, 0);
  assert_close(trend.slope_low / PLAG_DAYS_A_YEAR, known->low, 1e-12, 0);
  assert_close(trend.slope_high / PLAG_DAYS_A_YEAR, known->high, known->high_relative, 0);
  assert_close(trend.level_now, known->level, 1e-9, 0);
  assert_close(trend.tau, known->tau, 1e-12, 0);
  assert_close(trend.p, known->p, 1e-9, 0);
  assert_close(both.p, known->p_both, 1e-9, 0);
}

static void series_that_others_have_computed(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(KNOWN); k++) {
    struct series series;
    read_series(KNOWN[k].name, &series);
    assert_known(&KNOWN[k], &series);
  }
}

static void published_hand_calculation(void **state) {
  (void)state;
  struct series series;
  read_series("mk", &series);
  const plag_trend mk = trend_of(&series, PLAG_TREND_UP);
  assert_close(mk.variance, 332.667, 0, 5e-4);
  assert_close((mk.score - 1.0) / sqrt(mk.variance), 2.9058, 0, 5e-5);
  assert_close(mk.p, 0.5 * erfc(2.9058 / sqrt(2.0)), 1e-3, 0);
  read_series("nile", &series);
  const plag_trend nile = trend_of(&series, PLAG_TREND_DOWN);
  assert_close((nile.score + 1.0) / sqrt(nile.variance), -4.128, 0, 5e-4);
}

/* Made series; ties of times and of values, and none. Slopes by SciPy, p without ties by SciPy
 * (method "exact") and R (exact), with ties by R for eleven logs; NaN: not to be had there. */
static const struct made {
  struct series series;
  double slope, low, high, tau, deviations;
  double up, down, both;
} MADE[] = {
    {{8,
      {3.1, 17.4, 17.4, 40.2, 58.9, 58.9, 58.9, 91.3},
      {2.31, 2.31, 1.94, 2.77, 3.08, 2.31, 2.77, 3.46}},
     0.013270742086789054,
     0.0,
     0.02017543859649122,
     0.6666666666666669,
     2.1270403009407737,
     NAN,
     NAN,
     NAN},
    {{11,
      {0, 14.2, 14.2, 30.5, 47.7, 61.3, 61.3, 75.8, 90.1, 104.6, 120.9},
      {5.12, 5.40, 5.12, 4.77, 4.77, 5.03, 4.21, 4.77, 4.02, 4.35, 4.21}},
     -0.008528584817244613,
     -0.014492753623188415,
     -0.005668016194331983,
     -0.6604743864029397,
     -2.7090545453043946,
     NAN,
     0.00427708018587195,
     0.0085541603717439},
    {{8,
      {3.1, 17.4, 22.8, 40.2, 58.9, 61.0, 77.7, 91.3},
      {2.31, 2.58, 1.94, 2.77, 3.08, 2.40, 3.29, 3.01}},
     0.011908172922473148,
     -0.0021604938271605027,
     0.01657754010695188,
     0.5,
     1.732050807568877,
     0.05434027777777778,
     0.9694940476190477,
     0.10868055555555556},
    {{5, {3.1, 17.4, 22.8, 40.2, 58.9}, {2.31, 1.94, 2.58, 2.77, 3.08}},
     0.01382484933329362,
     0.010919540229885054,
     0.03640350877192982,
     0.8,
     1.9595917942265426,
     0.041666666666666664,
     0.9916666666666667,
     0.08333333333333333},
};

static void assert_p(const struct series *series, plag_trend_side worse, double expected) {
  if (!isnan(expected))
    assert_close(trend_of(series, worse).p, expected, 1e-9, 0);
}

static void made_series_that_libraries_have_computed(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(MADE); k++) {
    const struct made *made = &MADE[k];
    const plag_trend trend = trend_of(&made->series, PLAG_TREND_UP);
    assert_close(trend.slope_a_year / PLAG_DAYS_A_YEAR, made->slope, 1e-12, 0);
    assert_close(trend.slope_low / PLAG_DAYS_A_YEAR, made->low, 1e-12, 0);
    assert_close(trend.slope_high / PLAG_DAYS_A_YEAR, made->high, 1e-12, 0);
    assert_close(trend.tau, made->tau, 1e-12, 0);
    assert_close(trend.score / sqrt(trend.variance), made->deviations, 1e-8, 0);
    assert_p(&made->series, PLAG_TREND_UP, made->up);
    assert_p(&made->series, PLAG_TREND_DOWN, made->down);
    assert_p(&made->series, PLAG_TREND_BOTH, made->both);
  }
}

/* By R's p.adjust. The first: Y. Benjamini, Y. Hochberg (1995), section 4.1. */
static const struct adjusted {
  size_t count;
  double p[15], q[15];
} ADJUSTED[] = {
    {15,
     {0.0459, 0.0001, 0.6528, 0.0004, 0.0201, 0.0019, 0.0278, 0.0298, 0.0344, 0.0095, 0.3240,
      0.4262, 0.5719, 0.7590, 1.0},
     {0.0765, 0.0015, 0.7532307692307693, 0.003, 0.0603, 0.0095, 0.0638571428571429,
      0.0638571428571429, 0.0645, 0.035625, 0.486, 0.5811818181818181, 0.714875, 0.8132142857142857,
      1.0}},
    {12,
     {0.021, 0.0021, 0.021, NAN, 0.31, 0.0021, 0.77, 0.048, 0.048, 0.96, NAN, 0.31},
     {0.0525, 0.0105, 0.0525, NAN, 0.3875, 0.0105, 0.855555555555556, 0.08, 0.08, 0.96, NAN,
      0.3875}},
    {7,
     {0.013, 0.047, 0.013, 0.052, 0.0008, 0.87, 0.87},
     {0.0303333333333333, 0.0728, 0.0303333333333333, 0.0728, 0.0056, 0.87, 0.87}},
};

static void adjusted_p_values(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(ADJUSTED); k++) {
    double p[15];
    size_t order[15];
    memcpy(p, ADJUSTED[k].p, sizeof p);
    plag_false_discovery(p, ADJUSTED[k].count, order);
    for (size_t i = 0; i < ADJUSTED[k].count; i++)
      assert_close(p[i], ADJUSTED[k].q[i], 1e-12, 0);
  }
}

/* Thirteen trials of a vaccine (G. Colditz et al., JAMA 271 (1994) 698; metadat's dat.bcg): cases
 * and others, with it and without; the log of the risks' ratio shrunken by metafor, whose variance
 * between trials is 0.308760. */
static const struct trial {
  double cases, others, cases_without, others_without;
  double shrunken;
} TRIALS[] = {
    {4, 119, 11, 128, -0.7993909731858652},        {6, 300, 29, 274, -1.2485735686934909},
    {3, 228, 11, 209, -0.9844290132641386},        {62, 13536, 248, 12619, -1.3972771873598404},
    {33, 5036, 47, 5761, -0.2881904295096068},     {180, 1361, 372, 1079, -0.7845405241511262},
    {8, 2537, 10, 619, -1.2406117332093900},       {505, 87886, 499, 87892, 0.0027544402767305},
    {29, 7470, 45, 7232, -0.5072315485381769},     {17, 1699, 65, 1600, -1.2456355655796962},
    {186, 50448, 141, 27197, -0.3538419540922825}, {5, 2493, 3, 2338, -0.2883644709003098},
    {27, 16886, 29, 17825, -0.1481913587447597},
};

static void shrunken_trials(void **state) {
  (void)state;
  double value[COUNT(TRIALS)];
  double variance[COUNT(TRIALS)];
  for (size_t i = 0; i < COUNT(TRIALS); i++) {
    const struct trial *t = &TRIALS[i];
    const double all = t->cases + t->others;
    const double all_without = t->cases_without + t->others_without;
    value[i] = log(t->cases / all) - log(t->cases_without / all_without);
    variance[i] = 1.0 / t->cases - 1.0 / all + 1.0 / t->cases_without - 1.0 / all_without;
  }
  plag_shrink(value, variance, COUNT(TRIALS));
  for (size_t i = 0; i < COUNT(TRIALS); i++)
    assert_close(value[i], TRIALS[i].shrunken, 1e-9, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(series_that_others_have_computed),
      cmocka_unit_test(published_hand_calculation),
      cmocka_unit_test(made_series_that_libraries_have_computed),
      cmocka_unit_test(adjusted_p_values),
      cmocka_unit_test(shrunken_trials),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
