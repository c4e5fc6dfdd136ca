/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lags come back from commands that never wait for the plates: switching between two levels at
 * random, a duty that jumps about, and ramps; at 2, 5, 10 and 20 rows a second. Where the command
 * changes about as often as it is sampled, nothing or little can be told, and the intervals are
 * asked to hold the truth less often. */
#include <math.h>
#include <stdlib.h>

#include "core/statistics.h"
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_trace.h"

#include "platelag/platelag.h"

#define CAPTURES   60
#define MOST_STEPS 6000

struct rate {
  double rows_per_second;
  double least_covered; /* share of intervals that hold the truth */
  double least_told;    /* share of captures for which a lag is told */
};

static const struct rate RATES[] = {
    {2.0, 0.66, 0.15}, {5.0, 0.80, 0.55}, {10.0, 0.83, 0.95}, {20.0, 0.83, 0.95}};

enum { DEAD_TIME, OPENING_T63, CLOSING_T63, OPENING_TAU, CLOSING_TAU, QUANTITIES };
static const char *const NAMES[] = {"dead time", "opening t63", "closing t63", "opening tau",
                                    "closing tau"};

struct truth {
  plag_test_plant plant;
  plag_test_step step[MOST_STEPS];
  size_t steps;
  double quantity[QUANTITIES];
};

static void add_step(struct truth *out, double at_s, double command) {
  if (out->steps < MOST_STEPS)
    out->step[out->steps++] = (plag_test_step){at_s, command};
}

/* Holds so long that plates are seldom there when the next comes. */
static double draw_hold_s(plag_test_random *random, const plag_test_plant *plant) {
  const double shortest_s = fmin(plant->tau_open_s, plant->tau_close_s);
  return plag_test_random_uniform(random, 1.1, 3.5) *
         fmax(shortest_s, 1.0 / plant->rows_per_second);
}

static void switch_at_random(plag_test_random *random, struct truth *out) {
  for (double at_s = 1.0; at_s < out->plant.duration_s; at_s += draw_hold_s(random, &out->plant))
    add_step(out, at_s, out->steps % 2 == 0 ? 87.3 : 11.9);
}

static void jump_about(plag_test_random *random, struct truth *out) {
  for (double at_s = 1.0; at_s < out->plant.duration_s; at_s += draw_hold_s(random, &out->plant))
    add_step(out, at_s, plag_test_random_uniform(random, 5.0, 95.0));
}

/* Up and down at speeds that differ, in steps of 0.04 s. */
static void ramp(plag_test_random *random, struct truth *out) {
  double command = 11.9;
  double goal = 80.0;
  double speed = 20.0;
  for (double at_s = 1.0; at_s < out->plant.duration_s; at_s += 0.0417) {
    if (fabs(command - goal) < speed * 0.0417) {
      goal = command > 50.0 ? plag_test_random_uniform(random, 5.0, 40.0)
                            : plag_test_random_uniform(random, 60.0, 95.0);
      speed = plag_test_random_uniform(random, 15.0, 120.0);
    }
    command += copysign(speed * 0.0417, goal - command);
    add_step(out, at_s, command);
  }
}

struct kind {
  const char *name;
  void (*make)(plag_test_random *random, struct truth *out);
  double most_error; /* median, of t63, in rows */
};

static const struct kind KINDS[] = {
    {"switching", switch_at_random, 0.25}, {"jumping", jump_about, 0.25}, {"ramps", ramp, 0.25}};

static void draw(plag_test_random *random, const struct kind *kind, double rows_per_second,
                 struct truth *out) {
  plag_test_plant *plant = &out->plant;
  *plant = (plag_test_plant){
      .dead_time_s = plag_test_random_uniform(random, 0.02, 0.4),
      .tau_open_s = exp(plag_test_random_uniform(random, log(0.15), log(1.6))),
      .rows_per_second = rows_per_second,
      .duration_s = 190.0,
      .jitter_share = plag_test_random_uniform(random, 0.0, 0.08),
      .noise_pct = plag_test_random_uniform(random, 0.15, 0.9),
      .quantum = 5.0 / 1023.0,
  };
  plant->tau_close_s = plant->tau_open_s * (plag_test_random_uniform(random, 0.0, 1.0) < 0.4
                                                ? 1.0
                                                : exp(plag_test_random_uniform(random, -0.7, 0.7)));
  plant->seed = plag_test_random_bits(random);
  out->steps = 0;
  add_step(out, 0.0, 11.9);
  kind->make(random, out);
  out->quantity[DEAD_TIME] = plant->dead_time_s;
  out->quantity[OPENING_TAU] = plant->tau_open_s;
  out->quantity[CLOSING_TAU] = plant->tau_close_s;
  out->quantity[OPENING_T63] = plant->dead_time_s + plant->tau_open_s;
  out->quantity[CLOSING_T63] = plant->dead_time_s + plant->tau_close_s;
}

struct tally {
  size_t values, limits, nothing, covered;
  double error_s[CAPTURES];
};

static void compare(struct tally *tally, const platelag_estimate *estimate, double truth) {
  if (estimate->known == PLATELAG_KNOWN_VALUE) {
    tally->error_s[tally->values++] = fabs(estimate->value - truth);
    tally->covered += truth >= estimate->low && truth <= estimate->high;
  } else if (estimate->known == PLATELAG_KNOWN_UPPER_LIMIT) {
    tally->limits++;
    tally->covered += truth <= estimate->high;
  } else {
    tally->nothing++;
  }
}

static void fit_one(const struct truth *truth, platelag_workspace *workspace,
                    const platelag_valve_spec *spec, struct tally *tally) {
  platelag_error error = {0};
  platelag_fit *fit = NULL;
  platelag_trace *trace = plag_test_trace_simulate(&truth->plant, truth->step, truth->steps);
  trace->row_period_s = 0.0; /* each channel has stamps of its own: nothing is left open */
  assert_int_equal(platelag_fit_build(trace, spec, workspace, &fit, &error), PLATELAG_OK);
  const platelag_estimate *estimate[QUANTITIES] = {&fit->lag.dead_time_s, &fit->lag.opening_t63_s,
                                                   &fit->lag.closing_t63_s, &fit->lag.opening_tau_s,
                                                   &fit->lag.closing_tau_s};
  for (int q = 0; q < QUANTITIES; q++) {
    compare(&tally[q], estimate[q], truth->quantity[q]);
    if (getenv("PLATELAG_SHOW_LAGS"))
      print_message("%-11s true %.4f: %d %.4f [%.4f %.4f] steps %zu noise %.2f rms %.2f held %zu "
                    "rows %d\n",
                    NAMES[q], truth->quantity[q], (int)estimate[q]->known, estimate[q]->value,
                    estimate[q]->low, estimate[q]->high, truth->steps, truth->plant.noise_pct,
                    fit->free.rms_pct, fit->held_count, fit->lag.command_on_rows);
  }
  platelag_fit_destroy(fit);
  plag_test_trace_destroy(trace);
}

/* Prints a line and tells whether all in it is within bounds. */
static bool recover(const struct kind *kind, const struct rate *rate, platelag_workspace *workspace,
                    const platelag_valve_spec *spec) {
  static struct truth truth;
  static struct tally tally[QUANTITIES];
  const double rows_per_second = rate->rows_per_second;
  const uint64_t seed = plag_test_seed(0xb05 + (uint64_t)rows_per_second);
  plag_test_random random = {seed};
  size_t covered = 0;
  size_t told = 0;
  for (int q = 0; q < QUANTITIES; q++)
    tally[q] = (struct tally){0};
  for (size_t i = 0; i < CAPTURES; i++) {
    draw(&random, kind, rows_per_second, &truth);
    fit_one(&truth, workspace, spec, tally);
  }
  print_message("%-9s %4.0f rows/s, seed %llu:", kind->name, rows_per_second,
                (unsigned long long)seed);
  double error_rows[QUANTITIES];
  for (int q = 0; q < QUANTITIES; q++) {
    error_rows[q] = plag_median(tally[q].error_s, tally[q].values) * rows_per_second;
    covered += tally[q].covered;
    told += tally[q].values + tally[q].limits;
    print_message(" %s %.2f (%zu/%zu/%zu, %zu in)", NAMES[q], error_rows[q], tally[q].values,
                  tally[q].limits, tally[q].nothing, tally[q].covered);
  }
  const double share = (double)covered / (double)told;
  const bool good = share >= rate->least_covered && share <= 0.99 &&
                    (double)told >= rate->least_told * QUANTITIES * CAPTURES &&
                    error_rows[OPENING_T63] <= kind->most_error &&
                    error_rows[CLOSING_T63] <= kind->most_error;
  print_message("; covered %.1f %%%s\n", 100.0 * share, good ? "" : " OUT OF BOUNDS");
  return good;
}

static void busy_commands(void **state) {
  (void)state;
  platelag_error error = {0};
  platelag_workspace *workspace = NULL;
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  size_t bad = 0;
  for (size_t k = 0; k < sizeof KINDS / sizeof *KINDS; k++)
    for (size_t r = 0; r < sizeof RATES / sizeof *RATES; r++)
      bad += !recover(&KINDS[k], &RATES[r], workspace, platelag_spec_for_bank(spec, 0));
  platelag_spec_destroy(spec);
  platelag_workspace_destroy(workspace);
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(busy_commands)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
