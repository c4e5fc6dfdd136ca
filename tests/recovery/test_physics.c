/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plates moved by forces, not by the model's equations, are given back their t63: healthy and slow
 * valves, motor and vacuum drives, duties and on/off commands, at 2 to 20 rows a second. Truth is
 * the t63 of a clean step between 20 and 80 % of the command, so that what is not first order is in
 * the error too. */
#include <math.h>
#include <stdlib.h>

#include "core/statistics.h"
#include "support/check.h"
#include "support/made_capture.h"
#include "support/memory_source.h"

#include "platelag/platelag.h"

#define SEEDS 6
#define MOST  200

static const double RATES[] = {2.0, 5.0, 10.0, 20.0};

struct fault {
  const char *name;
  double most_error;         /* median, as a share of t63; polling inside a row is in it */
  double resolved_from_rows; /* a second: from there on values are told, not limits */
};

static const struct fault FAULTS[] = {{"none", 0.12, 5.0}, {"slow", 0.05, 2.0}};

struct way {
  const char *drive, *command;
};

static const struct way WAYS[] = {
    {"motor", "duty"}, {"vacuum", "duty"}, {"motor", "on_off"}, {"vacuum", "on_off"}};

struct tally {
  size_t values, limits, nothing, held_truth;
  double error[MOST]; /* of the value, as a share of truth */
};

static void compare(struct tally *tally, const platelag_estimate *estimate, double truth) {
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE:
    tally->error[tally->values++] = fabs(estimate->value / truth - 1.0);
    tally->held_truth += truth >= estimate->low && truth <= estimate->high;
    break;
  case PLATELAG_KNOWN_UPPER_LIMIT:
    tally->limits++;
    tally->held_truth += truth <= estimate->high;
    break;
  case PLATELAG_KNOWN_NOTHING:
  case PLATELAG_KNOWN_LOWER_LIMIT:
  case PLATELAG_KNOWN_BRACKET:
    tally->nothing++;
    break;
  }
}

static void review_one(const platelag_practice_order *order, platelag_workspace *workspace,
                       const platelag_spec *spec, struct tally *tally) {
  platelag_error error = {0};
  made_capture made = {0};
  platelag_capture *capture = NULL;
  platelag_trace *trace = NULL;
  platelag_fit *fit = NULL;
  const platelag_read_options options = {.display_name = "made.csv"};
  assert_true(made_capture_make(&made, order));
  assert_int_equal(
      plag_test_read_bytes(made.capture.bytes, made.capture.length, &options, &capture, &error),
      PLATELAG_OK);
  assert_int_equal(
      platelag_trace_build(capture, 0, 0, spec, PLATELAG_CONDITION_ROAD, &trace, &error),
      PLATELAG_OK);
  assert_int_equal(
      platelag_fit_build(trace, platelag_spec_for_bank(spec, 0), workspace, &fit, &error),
      PLATELAG_OK);
  const double opening_s = made_capture_truth(&made, "lag", "opening_t63_s");
  const double closing_s = made_capture_truth(&made, "lag", "closing_t63_s");
  assert_true(opening_s > 0.0 && closing_s > 0.0);
  compare(tally, &fit->lag.opening_t63_s, opening_s);
  compare(tally, &fit->lag.closing_t63_s, closing_s);
  if (getenv("PLATELAG_SHOW_LAGS"))
    print_message("%-6s %-6s %-6s seed %2llu %2.0f rows/s true %.3f %.3f: %d %.3f [%.3f %.3f] %d "
                  "%.3f [%.3f %.3f] rate %.1f held %zu rows %d rms %.2f noise %.2f\n",
                  order->fault, order->drive, order->command, (unsigned long long)order->seed,
                  order->rows_per_second, opening_s, closing_s, (int)fit->lag.opening_t63_s.known,
                  fit->lag.opening_t63_s.value, fit->lag.opening_t63_s.low,
                  fit->lag.opening_t63_s.high, (int)fit->lag.closing_t63_s.known,
                  fit->lag.closing_t63_s.value, fit->lag.closing_t63_s.low,
                  fit->lag.closing_t63_s.high, fit->lag.rate_pct_per_s.value, fit->held_count,
                  fit->lag.command_on_rows, fit->free.rms_pct, fit->signal.noise_pct);
  platelag_fit_destroy(fit);
  platelag_trace_destroy(trace);
  platelag_capture_destroy(capture);
  made_capture_clear(&made);
}

static void forces_give_their_t63(void **state) {
  (void)state;
  static struct tally tally;
  platelag_error error = {0};
  platelag_workspace *workspace = NULL;
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_workspace_create(&workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  for (size_t f = 0; f < sizeof FAULTS / sizeof *FAULTS; f++)
    for (size_t r = 0; r < sizeof RATES / sizeof *RATES; r++) {
      tally = (struct tally){0};
      for (uint64_t seed = 0; seed < SEEDS; seed++)
        for (size_t w = 0; w < sizeof WAYS / sizeof *WAYS; w++) {
          const platelag_practice_order order = {
              .fault = FAULTS[f].name,
              .drive = WAYS[w].drive,
              .command = WAYS[w].command,
              .seed = 4177 + 31 * seed + w,
              .rows_per_second = RATES[r],
              .minutes = 4.0,
          };
          review_one(&order, workspace, spec, &tally);
        }
      const size_t told = tally.values + tally.limits;
      const double error_share = plag_median(tally.error, tally.values);
      const double inside = (double)tally.held_truth / (double)told;
      print_message("%-5s %4.0f rows/s: %zu values, %zu limits, %zu nothing; median error %.1f %%; "
                    "truth inside %.1f %%\n",
                    FAULTS[f].name, RATES[r], tally.values, tally.limits, tally.nothing,
                    100.0 * error_share, 100.0 * inside);
      assert_int_equal(tally.nothing, 0);
      assert_between(inside, 0.86, 1.0);
      if (RATES[r] >= FAULTS[f].resolved_from_rows)
        assert_true(tally.values * 10 >= told * 9);
      if (tally.values * 10 >= told * 9)
        assert_between(error_share, 0.0, FAULTS[f].most_error);
    }
  platelag_spec_destroy(spec);
  platelag_workspace_destroy(workspace);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(forces_give_their_t63)};
  platelag_library_start();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
