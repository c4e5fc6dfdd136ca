/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lags drawn at random come back: t63 within a quarter of the polling period in the median, and the
 * 90 % intervals of t63, tau and dead time hold the truth in 86 to 95 of 100 captures, at 2, 5, 10
 * and 20 rows a second. */
#include <math.h>
#include <stdlib.h>

#include "core/statistics.h"
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_trace.h"

#include "platelag/platelag.h"

#define MOST_CAPTURES 400
#define MOST_STEPS    130

struct rate {
  double rows_per_second;
  size_t captures;
};

static const struct rate RATES[] = {{2.0, 200}, {5.0, 200}, {10.0, 200}, {20.0, 200}};

enum { DEAD_TIME, OPENING_T63, CLOSING_T63, OPENING_TAU, CLOSING_TAU, QUANTITIES };
static const char *const NAMES[] = {"dead time", "opening t63", "closing t63", "opening tau",
                                    "closing tau"};

struct tally {
  size_t values, limits, nothing, covered, below, above;
  double error[MOST_CAPTURES];
};

struct truth {
  plag_test_plant plant;
  plag_test_step step[MOST_STEPS];
  size_t steps;
  double quantity[QUANTITIES];
};

static double log_uniform(plag_test_random *random, double low, double high) {
  return exp(plag_test_random_uniform(random, log(low), log(high)));
}

/* Steps there and back, each settled before the next; skew_share of a row at most, if any. */
static void draw(plag_test_random *random, double rows_per_second, double skew_share,
                 struct truth *out) {
  plag_test_plant *plant = &out->plant;
  const double period_s = 1.0 / rows_per_second;
  do {
    *plant = (plag_test_plant){
        .dead_time_s = plag_test_random_uniform(random, 0.02, 0.4),
        .tau_open_s = log_uniform(random, 0.03, 1.2),
        .tau_close_s = log_uniform(random, 0.03, 1.2),
    };
  } while (plant->dead_time_s + fmax(plant->tau_open_s, plant->tau_close_s) > 2.0 ||
           plant->dead_time_s + fmin(plant->tau_open_s, plant->tau_close_s) < 0.05);
  plant->rows_per_second = rows_per_second;
  plant->jitter_share = plag_test_random_uniform(random, 0.0, 0.08);
  plant->noise_pct = log_uniform(random, 0.1, 1.2);
  plant->quantum = plag_test_random_uniform(random, 0.0, 1.0) < 0.5 ? 5.0 / 255.0 : 5.0 / 1023.0;
  plant->seed = plag_test_random_bits(random);
  plant->skew_s =
      skew_share * period_s *
      (plag_test_random_uniform(random, 0.0, 1.0) - plag_test_random_uniform(random, 0.0, 1.0));
  const size_t each_way = 5 + (size_t)plag_test_random_uniform(random, 0.0, 56.0);
  const double hold_s = 6.0 * fmax(plant->tau_open_s, plant->tau_close_s) + 0.5 + 8.0 * period_s;
  const double closed_pct = plag_test_random_uniform(random, 4.0, 22.0);
  const double open_pct = plag_test_random_uniform(random, 74.0, 96.0);
  double at_s = 2.0;
  out->steps = 0;
  out->step[out->steps++] = (plag_test_step){0.0, closed_pct};
  for (size_t i = 0; i < 2 * each_way; i++) {
    out->step[out->steps++] = (plag_test_step){at_s, i % 2 == 0 ? open_pct : closed_pct};
    at_s += hold_s * plag_test_random_uniform(random, 1.0, 1.7);
  }
  plant->duration_s = at_s;
  out->quantity[DEAD_TIME] = plant->dead_time_s;
  out->quantity[OPENING_TAU] = plant->tau_open_s;
  out->quantity[CLOSING_TAU] = plant->tau_close_s;
  out->quantity[OPENING_T63] = plant->dead_time_s + plant->tau_open_s;
  out->quantity[CLOSING_T63] = plant->dead_time_s + plant->tau_close_s;
}

static void compare(struct tally *tally, const platelag_estimate *estimate, double truth) {
  if (estimate->known == PLATELAG_KNOWN_VALUE) {
    tally->error[tally->values++] = fabs(estimate->value - truth);
    tally->covered += truth >= estimate->low && truth <= estimate->high;
    tally->below += truth < estimate->low;
    tally->above += truth > estimate->high;
  } else if (estimate->known == PLATELAG_KNOWN_UPPER_LIMIT) {
    tally->limits++;
    tally->covered += truth <= estimate->high;
    tally->above += truth > estimate->high;
  } else {
    tally->nothing++;
  }
}

static void fit_one(const struct truth *truth, double skew_share, platelag_workspace *workspace,
                    const platelag_valve_spec *spec, struct tally *tally) {
  platelag_error error = {0};
  platelag_fit *fit = NULL;
  platelag_trace *trace = plag_test_trace_simulate(&truth->plant, truth->step, truth->steps);
  if (skew_share == 0.0)
    trace->row_period_s = 0.0; /* each channel has stamps of its own: nothing is left open */
  assert_int_equal(platelag_fit_build(trace, spec, workspace, &fit, &error), PLATELAG_OK);
  const platelag_estimate *estimate[QUANTITIES] = {&fit->lag.dead_time_s, &fit->lag.opening_t63_s,
                                                   &fit->lag.closing_t63_s, &fit->lag.opening_tau_s,
                                                   &fit->lag.closing_tau_s};
  for (int q = 0; q < QUANTITIES; q++)
    compare(&tally[q], estimate[q], truth->quantity[q]);
  if (getenv("PLATELAG_SHOW_LAGS"))
    for (int q = 0; q < QUANTITIES; q++)
      print_message(
          "%s %s true %.4f: %d %.4f [%.4f %.4f] steps %zu noise %.2f rows/s %g\n",
          truth->quantity[q] >= estimate[q]->low && truth->quantity[q] <= estimate[q]->high ? "in "
                                                                                            : "OUT",
          NAMES[q], truth->quantity[q], (int)estimate[q]->known, estimate[q]->value,
          estimate[q]->low, estimate[q]->high, truth->steps, truth->plant.noise_pct,
          truth->plant.rows_per_second);
  platelag_fit_destroy(fit);
  plag_test_trace_destroy(trace);
}

/* Prints one line a quantity and returns the share covered over all. */
static double tell(const struct rate *rate, struct tally *tally, double *error) {
  size_t covered = 0;
  size_t count = 0;
  for (int q = 0; q < QUANTITIES; q++) {
    struct tally *t = &tally[q];
    const size_t known = t->values + t->limits;
    error[q] = plag_median(t->error, t->values) * rate->rows_per_second;
    print_message("%4.0f rows/s %-12s %3zu values %3zu limits %3zu nothing: median error %.3f of a "
                  "row, covered %.1f %% (truth below %zu, above %zu)\n",
                  rate->rows_per_second, NAMES[q], t->values, t->limits, t->nothing, error[q],
                  100.0 * (double)t->covered / (double)known, t->below, t->above);
    covered += t->covered;
    count += known;
  }
  return (double)covered / (double)count;
}

static void recover(const struct rate *rate, double skew_share, double least_covered,
                    double most_covered, double most_error) {
  static struct tally tally[QUANTITIES];
  static struct truth truth;
  const uint64_t seed =
      plag_test_seed(0x5eed7 + (uint64_t)rate->rows_per_second + (skew_share > 0.0 ? 977 : 0));
  plag_test_random random = {seed};
  platelag_error error = {0};
  platelag_workspace *workspace = NULL;
  platelag_spec *spec = NULL;
  double row_error[QUANTITIES];
  for (int q = 0; q < QUANTITIES; q++)
    tally[q] = (struct tally){0};
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  for (size_t i = 0; i < rate->captures; i++) {
    draw(&random, rate->rows_per_second, skew_share, &truth);
    fit_one(&truth, skew_share, workspace, platelag_spec_for_bank(spec, 0), tally);
  }
  print_message("seed %llu, skew %.1f of a row\n", (unsigned long long)seed, skew_share);
  const double covered = tell(rate, tally, row_error);
  print_message("%4.0f rows/s all: covered %.1f %%\n", rate->rows_per_second, 100.0 * covered);
  assert_between(covered, least_covered, most_covered);
  if (most_error > 0.0) {
    assert_between(row_error[OPENING_T63], 0.0, most_error);
    assert_between(row_error[CLOSING_T63], 0.0, most_error);
  }
  for (int q = 0; q < QUANTITIES; q++)
    assert_true(tally[q].nothing * 20 <= rate->captures);
  platelag_spec_destroy(spec);
  platelag_workspace_destroy(workspace);
}

static void lags_come_back(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof RATES / sizeof *RATES; i++)
    recover(&RATES[i], 0.0, 0.86, 0.95, 0.25);
}

/* Under one stamp a row the channels are polled one after another: what that hides is in the
 * intervals. */
static void polling_skew_is_inside(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof RATES / sizeof *RATES; i++)
    recover(&RATES[i], 1.0, 0.86, 0.96, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lags_come_back),
      cmocka_unit_test(polling_skew_is_inside),
  };
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
