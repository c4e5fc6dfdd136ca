/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Answers questions on standard input, a line each, with what the library computes: a verb and
 * numbers in, numbers out, seventeen digits. tests/external/test_reference asks, and holds the
 * answers against those of other programs. Lists are their count and then their values.
 *   quantile SHARE LIST            median LIST            deviation LIST
 *   trend SIDE TIMES VALUES        score variance tau p slope low high level (a day)
 *   adjust LIST    shrink VALUES VARIANCES    exp X    log X    mills Z    below Z
 *   chance K N A B    count K EXPOSURE RATE SHAPE SHARE    level X RANGE CENTRE SD SHARE
 *   proportion X MEAN STRENGTH    spread X RANGE SCALE
 *   student CENTRE SD DEGREES      5, 50 and 95 % from a grid; the same in closed form
 *   review CAPTURE SPEC|- COMMAND|- POSITION|-      of its first valve: see tell_fit */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/exponential.h"
#include "core/statistics.h"
#include "fleet/false_discovery.h"
#include "fleet/shrink.h"
#include "fleet/trend.h"
#include "judge/density.h"
#include "model/intervals.h"
#include "platelag/platelag.h"

enum { MOST = 6000, TREND_MOST = 200 };

/* What is left of the line that is being answered. */
static char *rest;

static _Noreturn void give_up(const char *why) {
  (void)fprintf(stderr, "answer: %s\n", why);
  exit(1);
}

static double number(void) {
  char *end;
  const double value = strtod(rest, &end);
  if (end == rest)
    give_up("a number is missing");
  rest = end;
  return value;
}

static size_t list(double *value) {
  const double count = number();
  if (!(count >= 0 && count <= MOST))
    give_up("a list is too long");
  for (size_t i = 0; i < (size_t)count; i++)
    value[i] = number();
  return (size_t)count;
}

static void tell(double value) {
  (void)printf(" %.17g", value);
}

static void tell_all(const double *value, size_t count) {
  for (size_t i = 0; i < count; i++)
    tell(value[i]);
}

static double first[MOST];
static double second[MOST];

static void answer_quantile(void) {
  const double share = number();
  const size_t count = list(first);
  tell(plag_quantile(first, count, share));
}

static void answer_median(void) {
  const size_t count = list(first);
  tell(plag_median(first, count));
}

static void answer_deviation(void) {
  const size_t count = list(first);
  tell(plag_median_deviation(first, count));
}

static void answer_trend(void) {
  static double scratch[TREND_MOST * TREND_MOST];
  static plag_trend_point point[TREND_MOST];
  const double side = number();
  const size_t count = list(first);
  if (list(second) != count || count > TREND_MOST)
    give_up("times and values of a trend differ in number, or are too many");
  for (size_t i = 0; i < count; i++)
    point[i] = (plag_trend_point){first[i], second[i], second[i], second[i]};
  const plag_trend_side worse = side > 0   ? PLAG_TREND_UP
                                : side < 0 ? PLAG_TREND_DOWN
                                           : PLAG_TREND_BOTH;
  const plag_trend trend = plag_trend_of(point, count, worse, scratch);
  tell_all((double[]){trend.score, trend.variance, trend.tau, trend.p,
                      trend.slope_a_year / PLAG_DAYS_A_YEAR, trend.slope_low / PLAG_DAYS_A_YEAR,
                      trend.slope_high / PLAG_DAYS_A_YEAR, trend.level_now},
           8);
}

static void answer_adjust(void) {
  static size_t order[MOST];
  const size_t count = list(first);
  plag_false_discovery(first, count, order);
  tell_all(first, count);
}

static void answer_shrink(void) {
  const size_t count = list(first);
  if (list(second) != count)
    give_up("values and variances differ in number");
  plag_shrink(first, second, count);
  tell_all(first, count);
}

static void answer_exp(void) {
  tell(plag_exp(number()));
}
static void answer_log(void) {
  tell(plag_log(number()));
}
static void answer_mills(void) {
  tell(plag_mills(number()));
}
static void answer_below(void) {
  tell(plag_density_normal_below(number()));
}

static void answer_chance(void) {
  const double k = number();
  const double n = number();
  const double a = number();
  tell(plag_density_chance(k, n, (plag_chance){a, number()}));
}

static void answer_count(void) {
  const double k = number();
  const double exposure = number();
  const double rate = number();
  const double shape = number();
  tell(plag_density_count(k, exposure, (plag_rate){rate, shape}, number()));
}

static void answer_level(void) {
  const double x = number();
  const double range = number();
  const double centre = number();
  const double sd = number();
  tell(plag_density_level(x, range, (plag_level){centre, sd}, number()));
}

static void answer_proportion(void) {
  const double x = number();
  const double mean = number();
  tell(plag_density_proportion(x, (plag_proportion){mean, number()}));
}

static void answer_spread(void) {
  const double x = number();
  const double range = number();
  tell(plag_density_spread(x, range, number()));
}

static void answer_student(void) {
  static plag_cloud cloud;
  const double centre = number();
  const double sd = number();
  const double degrees = number();
  plag_cloud_from_normal(&cloud, centre, sd, degrees);
  const platelag_estimate by_grid = plag_estimate_value(&cloud);
  const platelag_estimate estimate = plag_estimate_normal(centre, sd, degrees);
  tell_all((double[]){by_grid.low, by_grid.value, by_grid.high, estimate.low, estimate.value,
                      estimate.high},
           6);
}

static void tell_estimate(const platelag_estimate *estimate) {
  tell_all((double[]){estimate->value, estimate->low, estimate->high}, 3);
}

/* In the position's unit for one of the command's. */
static double gain_of(const platelag_review_valve *valve) {
  const platelag_trace *trace = valve->trace;
  const platelag_fit *fit = valve->fit;
  const double rise_pct = platelag_fit_target_pct(fit, trace, trace->command_highest) -
                          platelag_fit_target_pct(fit, trace, trace->command_lowest);
  return rise_pct / 100.0 * (trace->open_level - trace->closed_level) /
         (trace->command_highest - trace->command_lowest);
}

/* Seconds since the capture began of the first sample that is of a mode; NaN: none. */
static double first_of_mode_s(const platelag_fit *fit, platelag_mode mode) {
  for (size_t i = 0; i < fit->span_count; i++)
    if (fit->span[i].mode == mode)
      return platelag_seconds(fit->span[i].from_ns);
  return NAN;
}

/* Dead time, tau and t63 of opening and closing, each value, low, high; gain; when the signal went
 * to the high rail and when it froze. */
static void tell_fit(const platelag_review_valve *valve) {
  const platelag_lag *lag = &valve->fit->lag;
  tell_estimate(&lag->dead_time_s);
  tell_estimate(&lag->opening_tau_s);
  tell_estimate(&lag->closing_tau_s);
  tell_estimate(&lag->opening_t63_s);
  tell_estimate(&lag->closing_t63_s);
  tell(gain_of(valve));
  tell(first_of_mode_s(valve->fit, PLATELAG_MODE_RAIL_HIGH));
  tell(first_of_mode_s(valve->fit, PLATELAG_MODE_FROZEN));
}

static void answer_review(void) {
  const char *path = strtok(rest, " \n");
  const char *spec_path = strtok(NULL, " \n");
  const char *command = strtok(NULL, " \n");
  const char *position = strtok(NULL, " \n");
  platelag_spec *spec = NULL;
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  platelag_error error = {0};
  if (path == NULL || spec_path == NULL || command == NULL || position == NULL)
    give_up("review CAPTURE SPEC COMMAND POSITION");
  platelag_status status = strcmp(spec_path, "-") == 0
                               ? platelag_spec_create(&spec, &error)
                               : platelag_spec_read(spec_path, &spec, &error);
  if (status == PLATELAG_OK && strcmp(command, "-") != 0)
    status = platelag_spec_name_columns(spec, command, position, &error);
  if (status == PLATELAG_OK)
    status = platelag_workspace_create(&workspace, &error);
  const platelag_review_file file = {.path = path, .condition = PLATELAG_CONDITION_ROAD};
  const platelag_review_options options = {.spec = spec};
  if (status == PLATELAG_OK)
    status = platelag_review_build(&file, 1, &options, workspace, &review, &error);
  if (status != PLATELAG_OK)
    give_up(error.message);
  if (review->capture[0].valve_count == 0)
    give_up(review->capture[0].refusal.message);
  tell_fit(&review->capture[0].valve[0]);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
  platelag_spec_destroy(spec);
}

static const struct {
  const char *verb;
  void (*answer)(void);
} VERBS[] = {
    {"quantile", answer_quantile},
    {"median", answer_median},
    {"deviation", answer_deviation},
    {"trend", answer_trend},
    {"adjust", answer_adjust},
    {"shrink", answer_shrink},
    {"exp", answer_exp},
    {"log", answer_log},
    {"mills", answer_mills},
    {"below", answer_below},
    {"chance", answer_chance},
    {"count", answer_count},
    {"level", answer_level},
    {"proportion", answer_proportion},
    {"spread", answer_spread},
    {"student", answer_student},
    {"review", answer_review},
};

static void answer(char *line) {
  const size_t length = strcspn(line, " \n");
  rest = line + length;
  for (size_t i = 0; i < sizeof VERBS / sizeof *VERBS; i++)
    if (strlen(VERBS[i].verb) == length && memcmp(VERBS[i].verb, line, length) == 0) {
      VERBS[i].answer();
      (void)putchar('\n');
      return;
    }
  give_up("an unknown verb");
}

int main(void) {
  char *line = NULL;
  size_t room = 0;
  platelag_library_start();
  while (getline(&line, &room, stdin) > 0)
    answer(line);
  free(line);
  return 0;
}
