/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trend of made series: the test's variance and p agree with walking through all arrangements,
 * noisy logs weigh little, and what should not matter changes nothing. */
#include <math.h>

#include "fleet/trend.h"
#include "support/check.h"

enum { MOST = 12 };
#define NORMAL_95   1.6448536269514722
#define COUNT(list) (sizeof(list) / sizeof *(list))

static plag_trend trend_of(const plag_trend_point *point, size_t count, plag_trend_side worse) {
  double scratch[MOST * MOST];
  assert_true(count <= MOST);
  return plag_trend_of(point, count, worse, scratch);
}

static void take_exact(plag_trend_point *point, const double *at_days, const double *value,
                       size_t count) {
  for (size_t i = 0; i < count; i++)
    point[i] = (plag_trend_point){at_days[i], value[i], value[i], value[i]};
}

/* Counted by hand. Among 24 arrangements of four values one rises throughout; of two alike and a
 * larger one, the larger stands last in a third; two logs of one time may change places. */
static const struct counted {
  size_t count;
  double at_days[5], value[5];
  double score, up, down, both;
} COUNTED[] = {
    {4, {3.1, 41.7, 77.2, 130.9}, {1.73, 2.91, 4.38, 8.16}, 6, 1.0 / 24, 1.0, 2.0 / 24},
    {4, {3.1, 41.7, 77.2, 130.9}, {1.73, 2.91, 8.16, 4.38}, 4, 4.0 / 24, 23.0 / 24, 8.0 / 24},
    {5, {3.1, 41.7, 77.2, 130.9, 131.4}, {9.4, 8.8, 6.1, 5.2, 0.3}, -10, 1.0, 1.0 / 120, 2.0 / 120},
    {3, {12.5, 60.1, 99.8}, {2.385, 2.385, 3.117}, 2, 1.0 / 3, 1.0, 2.0 / 3},
    {4, {0.0, 10.4, 10.4, 25.3}, {1.31, 2.27, 3.19, 4.73}, 5, 2.0 / 24, 1.0, 4.0 / 24},
    {4, {0.0, 10.4, 17.9, 25.3}, {2.385, 2.385, 2.385, 2.385}, 0, 1.0, 1.0, 1.0},
};

static void p_agrees_with_counting_by_hand(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(COUNTED); k++) {
    const struct counted *c = &COUNTED[k];
    plag_trend_point point[5];
    take_exact(point, c->at_days, c->value, c->count);
    const plag_trend up = trend_of(point, c->count, PLAG_TREND_UP);
    assert_true(up.known);
    assert_int_equal(up.count, c->count);
    assert_close(up.score, c->score, 0, 1e-12);
    assert_close(up.p, c->up, 0, 1e-12);
    assert_close(trend_of(point, c->count, PLAG_TREND_DOWN).p, c->down, 0, 1e-12);
    assert_close(trend_of(point, c->count, PLAG_TREND_BOTH).p, c->both, 0, 1e-12);
  }
}

/* Series of which all arrangements are walked through: ties of times and of values, exact and with
 * intervals. */
static const struct walked {
  size_t count;
  double at_days[7], value[7], half_width[7];
} WALKED[] = {
    {5, {0.0, 11.3, 11.3, 40.9, 77.1}, {2.31, 2.31, 1.94, 3.08, 2.77}, {0}},
    {6, {0.0, 11.3, 11.3, 40.9, 40.9, 95.2}, {2.31, 2.31, 1.94, 2.31, 2.77, 2.77}, {0}},
    {6,
     {0.0, 11.3, 19.8, 40.9, 61.7, 95.2},
     {2.31, 2.02, 1.94, 2.36, 2.77, 2.52},
     {0.12, 0.55, 0.0, 0.31, 0.07, 0.94}},
    {7,
     {0.0, 11.3, 11.3, 40.9, 53.6, 53.6, 95.2},
     {2.31, 2.31, 1.94, 3.08, 2.77, 2.40, 2.31},
     {0.0, 0.0, 0.42, 0.18, 0.18, 1.37, 0.66}},
};

struct walk {
  size_t count;
  plag_trend_point point[7];
  double reached;
  size_t all, as_high, as_far;
  double sum, squares;
};

static void exchange(plag_trend_point *a, plag_trend_point *b) {
  const plag_trend_point kept = *a;
  a->value = b->value, a->low = b->low, a->high = b->high;
  b->value = kept.value, b->low = kept.low, b->high = kept.high;
}

static void walk_from(struct walk *walk, size_t place) {
  if (place == walk->count) {
    const double score = trend_of(walk->point, walk->count, PLAG_TREND_UP).score;
    walk->all++;
    walk->sum += score;
    walk->squares += score * score;
    walk->as_high += score >= walk->reached - 1e-9;
    walk->as_far += fabs(score) >= fabs(walk->reached) - 1e-9;
    return;
  }
  for (size_t i = place; i < walk->count; i++) {
    exchange(&walk->point[place], &walk->point[i]);
    walk_from(walk, place + 1);
    exchange(&walk->point[place], &walk->point[i]);
  }
}

static void variance_and_p_agree_with_all_arrangements(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(WALKED); k++) {
    const struct walked *w = &WALKED[k];
    struct walk walk = {.count = w->count};
    for (size_t i = 0; i < w->count; i++)
      walk.point[i] = (plag_trend_point){w->at_days[i], w->value[i], w->value[i] - w->half_width[i],
                                         w->value[i] + w->half_width[i]};
    const plag_trend trend = trend_of(walk.point, w->count, PLAG_TREND_UP);
    const double both = trend_of(walk.point, w->count, PLAG_TREND_BOTH).p;
    walk.reached = trend.score;
    walk_from(&walk, 0);
    const double all = (double)walk.all;
    assert_close(walk.sum / all, 0.0, 0, 1e-12);
    assert_close(trend.variance, walk.squares / all, 1e-12, 0);
    assert_close(trend.p, (double)walk.as_high / all, 1e-12, 0);
    assert_close(both, (double)walk.as_far / all, 1e-12, 0);
  }
}

/* Three logs whose differences are 1, 1 and 2 deviations: 2 Phi(1) - 1 = 0.682689, 2 Phi(2) - 1 =
 * 0.954500 (tables of the normal distribution). */
static void differences_within_the_intervals_count_in_part(void **state) {
  (void)state;
  const double half_width = 1.6448536269514722 * 2.385 / sqrt(2.0);
  plag_trend_point point[3];
  for (size_t i = 0; i < 3; i++) {
    const double value = 7.13 + 2.385 * (double)i;
    point[i] = (plag_trend_point){17.3 * (double)i, value, value - half_width, value + half_width};
  }
  const plag_trend trend = trend_of(point, 3, PLAG_TREND_UP);
  assert_close(trend.score, 2.0 * 0.682689 + 0.954500, 0, 2e-6);
  const double squares = 2.0 * 0.682689 * 0.682689 + 0.954500 * 0.954500;
  assert_close(trend.tau, trend.score / sqrt(3.0 * squares), 1e-5, 0);
}

/* Computed apart, step by step as theil_sen.h has it, the variance pair by pair. The plain slope is
 * 2.382065. */
static void weighed_line_agrees_with_its_definition(void **state) {
  (void)state;
  static const double at_days[] = {4.2, 63.7, 118.9, 190.3, 251.8, 322.4, 371.1};
  static const double value[] = {7.13, 7.58, 7.94, 8.97, 8.61, 9.88, 9.12};
  static const double half_width[] = {0.11, 0.64, 0.23, 1.37, 0.19, 0.88, 0.42};
  plag_trend_point point[7];
  for (size_t i = 0; i < 7; i++)
    point[i] = (plag_trend_point){at_days[i], value[i], value[i] - half_width[i],
                                  value[i] + half_width[i]};
  const plag_trend trend = trend_of(point, 7, PLAG_TREND_UP);
  assert_close(trend.slope_a_year, 2.1832390953150234, 1e-9, 0);
  assert_close(trend.slope_low, 1.7089413164155414, 1e-9, 0);
  assert_close(trend.slope_high, 3.2472941631233097, 1e-9, 0);
  assert_close(trend.level_now, 9.323101777059772, 1e-9, 0);
}

/* A line of 2.6 a year with small errors, and a last log far off it. */
static void lay_line(plag_trend_point *point, size_t count, double last_off,
                     double last_half_width) {
  static const double at_days[] = {4.2, 63.7, 118.9, 190.3, 251.8, 322.4, 371.1};
  static const double error[] = {0.021, -0.034, 0.017, 0.008, -0.026, 0.031, -0.012};
  for (size_t i = 0; i < count; i++) {
    const double off = i == count - 1 ? last_off : 0.0;
    const double half_width = i == count - 1 ? last_half_width : 0.06;
    const double value = 7.13 + 2.6 * at_days[i] / PLAG_DAYS_A_YEAR + error[i] + off;
    point[i] = (plag_trend_point){at_days[i], value, value - half_width, value + half_width};
  }
}

/* The last of five logs touches four of ten slopes. */
static void noisy_outlier_hardly_moves_the_slope(void **state) {
  (void)state;
  plag_trend_point point[7];
  lay_line(point, 5, -3.7, 0.06);
  const double without = trend_of(point, 4, PLAG_TREND_UP).slope_a_year;
  const double plain = trend_of(point, 5, PLAG_TREND_UP).slope_a_year;
  lay_line(point, 5, -3.7, 3.9);
  const plag_trend weighed = trend_of(point, 5, PLAG_TREND_UP);
  print_message("slope without it %.3f, with it plain %.3f, weighed %.3f a year\n", without, plain,
                weighed.slope_a_year);
  assert_close(without, 2.6, 0.05, 0);
  assert_between(without - plain, 0.15, 5.0);
  assert_close(weighed.slope_a_year, without, 0, 0.1 * (without - plain));
  assert_close(weighed.level_now, 7.13 + 2.6 * 251.8 / PLAG_DAYS_A_YEAR, 0, 0.06);
}

/* One log with a very narrow interval among scattered ones: its pairs are not the whole say. */
static void narrow_interval_does_not_dominate(void **state) {
  (void)state;
  static const double at_days[] = {0.0, 31.4, 58.8, 95.1, 119.3, 155.6, 182.9};
  static const double value[] = {3.42, 3.11, 3.87, 3.69, 4.18, 3.93, 4.41};
  plag_trend_point alike[7], narrow[7];
  for (size_t i = 0; i < 7; i++) {
    const double half_width = 0.41;
    alike[i] =
        (plag_trend_point){at_days[i], value[i], value[i] - half_width, value[i] + half_width};
    narrow[i] = alike[i];
  }
  narrow[3].low = narrow[3].high = narrow[3].value;
  narrow[2].low = narrow[2].high = narrow[2].value; /* the slope between the two: -1.8 a year */
  const plag_trend plain = trend_of(alike, 7, PLAG_TREND_UP);
  const plag_trend weighed = trend_of(narrow, 7, PLAG_TREND_UP);
  assert_close(weighed.slope_a_year, plain.slope_a_year, 0.2, 0);
  assert_between(weighed.slope_a_year, plain.slope_low, plain.slope_high);
}

/* A log that outweighs the others together has the level, wherever it lies among them: the slope is
 * the middle of 0.1, 0.425 and 0.75 a day, and the other logs' levels are 9.5 and 6.25. */
static void the_level_is_that_of_most_weight(void **state) {
  (void)state;
  const plag_trend_point point[] = {
      {0, 1.0, -60.0, 62.0}, {10, 2.0, -58.0, 62.0}, {20, 9.5, 9.5, 9.5}};
  const plag_trend trend = trend_of(point, 3, PLAG_TREND_UP);
  assert_close(trend.slope_a_year, 0.425 * PLAG_DAYS_A_YEAR, 1e-9, 0);
  assert_close(trend.level_now, 9.5, 1e-9, 0);
}

static void few_logs_bound_the_slope_as_far_as_they_can(void **state) {
  (void)state;
  static const double at_days[] = {0.0, 100.0, 200.0, 400.0};
  static const double value[] = {1.0, 1.5, 1.9, 3.9};
  plag_trend_point point[4];
  take_exact(point, at_days, value, 4);
  plag_trend trend = trend_of(point, 3, PLAG_TREND_UP);
  assert_close(trend.slope_a_year, 0.0045 * PLAG_DAYS_A_YEAR, 1e-12, 0);
  assert_true(trend.slope_low == -INFINITY && trend.slope_high == INFINITY);
  trend = trend_of(point, 4, PLAG_TREND_UP); /* slopes a day: .004 .0045 .005 .00725 .008 .01 */
  assert_close(trend.slope_a_year, 0.006125 * PLAG_DAYS_A_YEAR, 1e-12, 0);
  assert_close(trend.slope_low, 0.004 * PLAG_DAYS_A_YEAR, 1e-12, 0);
  assert_close(trend.slope_high, 0.010 * PLAG_DAYS_A_YEAR, 1e-12, 0);
  point[1].at_days = 200.0; /* 2 of 24 arrangements are in order: 5 % each side is out of reach */
  trend = trend_of(point, 4, PLAG_TREND_UP);
  assert_true(trend.known);
  assert_true(trend.slope_low == -INFINITY && trend.slope_high == INFINITY);
}

static void too_few_logs_or_times_tell_nothing(void **state) {
  (void)state;
  plag_trend_point point[4] = {
      {17.0, 2.1, 2.0, 2.2}, {17.0, 2.3, 2.2, 2.4}, {93.5, 2.9, 2.8, 3.0}, {NAN, 5.1, 5.0, 5.2}};
  for (size_t count = 0; count <= 4; count++) {
    const plag_trend trend = trend_of(point, count, PLAG_TREND_UP);
    assert_false(trend.known);
    assert_int_equal(trend.count, count < 4 ? count : 3);
    assert_true(isnan(trend.slope_a_year) && isnan(trend.slope_low) && isnan(trend.slope_high));
    assert_true(isnan(trend.level_now) && isnan(trend.tau) && isnan(trend.score));
    assert_true(isnan(trend.variance) && isnan(trend.p));
    const plag_crossing crossing = plag_trend_crossing(&trend, 93.5, 4.0, 365.0);
    assert_false(crossing.crosses);
    assert_true(isnan(crossing.at_days) && isnan(crossing.earliest_days));
  }
}

static void assert_same(const plag_trend *a, const plag_trend *b, double level_off) {
  assert_int_equal(a->count, b->count);
  assert_close(a->slope_a_year, b->slope_a_year, 1e-9, 0);
  assert_close(a->slope_low, b->slope_low, 1e-9, 0);
  assert_close(a->slope_high, b->slope_high, 1e-9, 0);
  assert_close(a->level_now, b->level_now + level_off, 1e-9, 0);
  assert_close(a->score, b->score, 0, 1e-9);
  assert_close(a->p, b->p, 0, 1e-9);
}

static void order_origin_and_lost_logs_change_nothing(void **state) {
  (void)state;
  plag_trend_point point[7], moved[9];
  lay_line(point, 7, -0.4, 0.31);
  const plag_trend expected = trend_of(point, 7, PLAG_TREND_UP);
  for (size_t i = 0; i < 7; i++) {
    moved[i] = point[(i * 3 + 2) % 7];
    moved[i].at_days += 20471.0;
    moved[i].value += 11.7, moved[i].low += 11.7, moved[i].high += 11.7;
  }
  moved[7] = moved[2];
  moved[2] = (plag_trend_point){20600.0, NAN, 1.0, 2.0};
  moved[8] = (plag_trend_point){20500.0, 1.0, -INFINITY, 2.0};
  const plag_trend trend = trend_of(moved, 9, PLAG_TREND_UP);
  assert_same(&trend, &expected, 11.7);
}

static void mirrored_values_change_the_sides(void **state) {
  (void)state;
  plag_trend_point point[7], mirrored[7];
  lay_line(point, 7, -0.4, 0.31);
  for (size_t i = 0; i < 7; i++)
    mirrored[i] =
        (plag_trend_point){point[i].at_days, -point[i].value, -point[i].high, -point[i].low};
  const plag_trend up = trend_of(point, 7, PLAG_TREND_UP);
  const plag_trend down = trend_of(mirrored, 7, PLAG_TREND_DOWN);
  assert_close(down.p, up.p, 0, 1e-12);
  assert_close(down.slope_a_year, -up.slope_a_year, 1e-12, 0);
  assert_close(down.slope_low, -up.slope_high, 1e-12, 0);
  assert_close(down.tau, -up.tau, 1e-12, 0);
}

static void equal_values_show_no_trend(void **state) {
  (void)state;
  plag_trend_point point[12];
  for (size_t n = 3; n <= 12; n++) {
    for (size_t i = 0; i < n; i++)
      point[i] = (plag_trend_point){17.3 * (double)i, 2.385, 2.385, 2.385};
    for (int side = PLAG_TREND_UP; side <= PLAG_TREND_BOTH; side++) {
      const plag_trend trend = trend_of(point, n, (plag_trend_side)side);
      assert_close(trend.slope_a_year, 0.0, 0, 0);
      assert_close(trend.level_now, 2.385, 1e-12, 0);
      assert_close(trend.tau, 0.0, 0, 0);
      assert_close(trend.p, 1.0, 0, 0);
    }
  }
}

/* The last log at day 730.5, the line there at 6.2. */
static const struct meeting {
  double slope, low, high, limit, horizon_days;
  double at_days, earliest_days, latest_days; /* after the last log */
} MEETINGS[] = {
    {2.0, 1.0, 4.0, 8.2, 400.0, 365.25, 182.625, 730.5},
    {2.0, 1.0, 4.0, 8.2, 365.0, NAN, 182.625, 730.5},         /* beyond the horizon */
    {2.0, -0.3, INFINITY, 8.2, 400.0, 365.25, 0.0, INFINITY}, /* perhaps now, perhaps never */
    {-2.0, -4.0, -1.0, 4.2, 400.0, 365.25, 182.625, 730.5},   /* downwards */
    {-2.0, -4.0, -1.0, 8.2, 400.0, NAN, INFINITY, INFINITY},  /* leads away */
    {0.0, -1.0, 2.0, 8.2, 400.0, NAN, 365.25, INFINITY},      /* level, may rise */
    {2.0, 1.0, 4.0, 6.2, 400.0, 0.0, 0.0, 0.0},               /* there */
};

static void crossings(void **state) {
  (void)state;
  for (size_t k = 0; k < COUNT(MEETINGS); k++) {
    const struct meeting *m = &MEETINGS[k];
    const plag_trend trend = {.known = true,
                              .level_now = 6.2,
                              .slope_a_year = m->slope,
                              .slope_low = m->low,
                              .slope_high = m->high};
    const plag_crossing crossing = plag_trend_crossing(&trend, 730.5, m->limit, m->horizon_days);
    assert_int_equal(crossing.crosses, !isnan(m->at_days));
    assert_close(crossing.at_days, 730.5 + m->at_days, 1e-12, 0);
    if (isinf(m->earliest_days))
      assert_true(crossing.earliest_days == INFINITY);
    else
      assert_close(crossing.earliest_days, 730.5 + m->earliest_days, 1e-12, 0);
    if (isinf(m->latest_days))
      assert_true(crossing.latest_days == INFINITY);
    else
      assert_close(crossing.latest_days, 730.5 + m->latest_days, 1e-12, 0);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(p_agrees_with_counting_by_hand),
      cmocka_unit_test(variance_and_p_agree_with_all_arrangements),
      cmocka_unit_test(differences_within_the_intervals_count_in_part),
      cmocka_unit_test(weighed_line_agrees_with_its_definition),
      cmocka_unit_test(noisy_outlier_hardly_moves_the_slope),
      cmocka_unit_test(narrow_interval_does_not_dominate),
      cmocka_unit_test(the_level_is_that_of_most_weight),
      cmocka_unit_test(few_logs_bound_the_slope_as_far_as_they_can),
      cmocka_unit_test(too_few_logs_or_times_tell_nothing),
      cmocka_unit_test(order_origin_and_lost_logs_change_nothing),
      cmocka_unit_test(mirrored_values_change_the_sides),
      cmocka_unit_test(equal_values_show_no_trend),
      cmocka_unit_test(crossings),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
