/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Several figures of the same logs in one test: its p is the share of the arrangements of whole
 * logs that score as much, walked through here one by one; figures that hang together are no surer
 * for it, those that say the same by themselves are. */
#include <math.h>
#include <string.h>

#include "fleet/rank_test.h"
#include "support/check.h"

enum { LOGS = 6, FIGURES = 2 };
#define SD_OF_HALF 1.6448536269514722

typedef struct case_of {
  const char *name;
  double at_days[LOGS], value[FIGURES][LOGS], half[FIGURES][LOGS]; /* NAN: not shown */
} case_of;

static const case_of CASES[] = {
    {"both grow, both scatter",
     {0, 37.2, 81.9, 130.4, 177.7, 260.3},
     {{4.31, 4.92, 4.55, 5.38, 5.21, 5.97}, {11.2, 10.7, 14.9, 12.1, 16.8, 15.3}},
     {{0.31, 0.42, 0.29, 0.35, 0.61, 0.33}, {1.7, 2.9, 1.1, 0.8, 2.2, 1.4}}},
    {"the second misses logs",
     {3.3, 12.8, 51.4, 90.2, 91.7, 140.6},
     {{7.13, 7.92, 7.41, 8.62, 8.11, 9.33}, {NAN, 15.8, 14.1, NAN, 19.6, 18.2}},
     {{0.45, 0.52, 0.38, 0.47, 0.71, 0.36}, {NAN, 1.3, 2.6, NAN, 1.9, 0.7}}},
    {"one grows, one falls",
     {0, 25.1, 47.3, 77.9, 103.5, 144.2},
     {{3.17, 3.94, 4.02, 4.77, 4.61, 5.83}, {19.4, 18.1, 18.9, 15.2, 13.3, 14.7}},
     {{0.2, 0.3, 0.2, 0.4, 0.3, 0.2}, {0.9, 1.1, 0.7, 1.3, 0.8, 1.0}}},
    {"two logs of one time",
     {0, 25.1, 25.1, 77.9, 103.5, 144.2},
     {{3.17, 3.94, 4.02, 4.77, 4.61, 5.83}, {12.4, 13.1, 12.9, 15.2, 13.3, 17.7}},
     {{0.2, 0.3, 0.2, 0.4, 0.3, 0.2}, {0, 0, 0, 0, 0, 0}}},
};
enum { CASE_COUNT = sizeof CASES / sizeof *CASES };

static void take(const case_of *of, int figure, plag_trend_point *point) {
  for (int i = 0; i < LOGS; i++) {
    const double value = of->value[figure][i];
    const double half = of->half[figure][i];
    point[i] = (plag_trend_point){of->at_days[i], value, value - half, value + half};
  }
}

/* The score of two readings, from its definition: 2 Phi(difference over its deviation) - 1. */
static double pair_score(const case_of *of, int figure, int from, int to) {
  const double difference = of->value[figure][to] - of->value[figure][from];
  const double sd = hypot(of->half[figure][from], of->half[figure][to]) / SD_OF_HALF;
  if (isnan(difference))
    return 0;
  return sd > 0 ? erf(difference / sd / sqrt(2)) : (difference > 0) - (difference < 0);
}

static double scale_of(const case_of *of, int figure) {
  double squares = 0;
  int pairs = 0;
  for (int i = 0; i < LOGS; i++)
    for (int j = 0; j < i; j++) {
      const double score = pair_score(of, figure, i, j);
      squares += score * score;
      pairs += !isnan(of->value[figure][i]) && !isnan(of->value[figure][j]);
    }
  return sqrt(pairs / squares);
}

static double score_of(const case_of *of, const int *log_at) {
  double score = 0;
  for (int later = 0; later < LOGS; later++)
    for (int earlier = 0; earlier < later; earlier++)
      for (int k = 0; k < FIGURES && of->at_days[later] > of->at_days[earlier]; k++)
        score += scale_of(of, k) * pair_score(of, k, log_at[earlier], log_at[later]);
  return score;
}

typedef struct count {
  double limit;
  int all, as_far;
} count;

static void walk(const case_of *of, int *log_at, int placed, count *counted) {
  if (placed == LOGS) {
    counted->all++;
    counted->as_far += score_of(of, log_at) >= counted->limit;
    return;
  }
  for (int i = placed; i < LOGS; i++) {
    const int kept = log_at[placed];
    log_at[placed] = log_at[i];
    log_at[i] = kept;
    walk(of, log_at, placed + 1, counted);
    log_at[i] = log_at[placed];
    log_at[placed] = kept;
  }
}

static void p_is_the_share_of_arrangements(void **state) {
  (void)state;
  for (int c = 0; c < CASE_COUNT; c++) {
    plag_trend_point point[FIGURES][LOGS];
    const plag_trend_point *figure[FIGURES] = {point[0], point[1]};
    int log_at[LOGS] = {0, 1, 2, 3, 4, 5};
    take(&CASES[c], 0, point[0]);
    take(&CASES[c], 1, point[1]);
    const plag_rank_test test = plag_rank_test_together(figure, FIGURES, LOGS, PLAG_TREND_UP);
    const double score = score_of(&CASES[c], log_at);
    count counted = {.limit = score - 1e-9};
    walk(&CASES[c], log_at, 0, &counted);
    print_message("%s: score %.4f, p %.5f\n", CASES[c].name, test.score, test.p);
    assert_int_equal(counted.all, 720);
    assert_close(test.score, score, 1e-12, 1e-12);
    assert_close(test.p, counted.as_far / 720.0, 1e-12, 0);
  }
}

/* The same figure twice is the figure alone; which comes first makes no difference. */
static void what_hangs_together_is_no_surer(void **state) {
  (void)state;
  for (int c = 0; c < CASE_COUNT; c++) {
    plag_trend_point point[FIGURES][LOGS];
    take(&CASES[c], 0, point[0]);
    take(&CASES[c], 1, point[1]);
    const plag_trend_point *twice[] = {point[0], point[0]};
    const plag_trend_point *there[] = {point[0], point[1]};
    const plag_trend_point *back[] = {point[1], point[0]};
    assert_close(plag_rank_test_together(twice, 2, LOGS, PLAG_TREND_UP).p,
                 plag_rank_test_of(point[0], LOGS, PLAG_TREND_UP).p, 1e-12, 0);
    assert_close(plag_rank_test_together(there, 2, LOGS, PLAG_TREND_UP).p,
                 plag_rank_test_together(back, 2, LOGS, PLAG_TREND_UP).p, 1e-12, 0);
  }
}

static void what_says_the_same_by_itself_is_surer(void **state) {
  (void)state;
  plag_trend_point point[FIGURES][LOGS];
  const plag_trend_point *figure[FIGURES] = {point[0], point[1]};
  take(&CASES[0], 0, point[0]);
  take(&CASES[0], 1, point[1]);
  const double together = plag_rank_test_together(figure, 2, LOGS, PLAG_TREND_UP).p;
  assert_true(together < 0.7 * plag_rank_test_of(point[0], LOGS, PLAG_TREND_UP).p);
  assert_true(together < 0.7 * plag_rank_test_of(point[1], LOGS, PLAG_TREND_UP).p);
  take(&CASES[2], 0, point[0]);
  take(&CASES[2], 1, point[1]);
  assert_true(plag_rank_test_together(figure, 2, LOGS, PLAG_TREND_UP).p > 0.2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(p_is_the_share_of_arrangements),
      cmocka_unit_test(what_hangs_together_is_no_surer),
      cmocka_unit_test(what_says_the_same_by_itself_is_surer),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
