/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The likelihood of the pull that lets go, integrated by the report and once more here, on a grid
 * so fine that no step of the staircase is missed: the same middle and ends. The likeliest pulls
 * lie in a cell far narrower than the report's grid, which must count by its width. */
#include <math.h>
#include <string.h>

#include "model/friction_report.h"
#include "support/check.h"
#include "support/made_friction.h"
#include "support/made_model.h"
#include "support/made_trace.h"

enum { MOST_PULLS = 4, PULLS = 14, SAMPLES = 2 * PULLS, FINE = 30000, WIDTHS = 16 };

#define BASE_PCT  50.0
#define MOST_PCT  30.0
#define NOISE_PCT 0.7
#define END_SHARE 0.04 /* of the likelihood, beyond each end */
#define WIDER_PCT 0.019
#define GRID_PCT                                                                                   \
  0.35 /* a cell of the report's grid; the middle is told to a third of it, to                     \
                           a little more than a half in a best cell as wide, whose middle stands   \
                           for all of it */

/* Plates at rest are pulled by so much, let go or not, and pulled back. */
typedef struct pull {
  double pct;
  int times;
} pull;

typedef struct bench {
  plag_test_friction drive;
  double place[4][SAMPLES], derivative[2][SAMPLES * PLAG_FRICTION_PARAMETERS];
  uint16_t movement[2][SAMPLES];
  plag_friction_search search;
  plag_test_model made;
} bench;

/* A pull a second, back half a second later, each read before the next. */
static void add_pull(bench *b, double pct, double leave_pct) {
  for (int back = 0; back < 2; back++) {
    plag_test_friction *drive = &b->drive;
    const size_t i = drive->record.sample_count;
    const double at_s = 0.5 * (double)i;
    drive->event_s[i] = at_s + 0.043;
    drive->event_pct[i] = drive->event_command[i] = back ? BASE_PCT : BASE_PCT + pct;
    drive->time_s[i] = at_s + 0.457;
    drive->travel_pct[i] = !back && pct > leave_pct ? BASE_PCT + pct : BASE_PCT;
    plag_test_friction_count(drive, i + 1, i + 1);
  }
}

static void begin(bench *b, const platelag_trace *trace, const pull *pulls, size_t count,
                  double leave_pct) {
  memset(b, 0, sizeof *b);
  plag_test_model_begin(&b->made, trace);
  plag_test_friction_begin(&b->drive, BASE_PCT);
  for (size_t k = 0; k < count; k++)
    for (int i = 0; i < pulls[k].times; i++)
      add_pull(b, pulls[k].pct, leave_pct);
  b->search =
      (plag_friction_search){.model = &b->made.model,
                             .record = &b->drive.record,
                             .walk = {b->place[0], b->place[1], b->derivative[0], b->movement[0]},
                             .other = {b->place[2], b->place[3], b->derivative[1], b->movement[1]},
                             .noise_pct = NOISE_PCT,
                             .most_pull_pct = MOST_PCT};
  for (int k = 0; k < PLAG_FRICTION_PARAMETERS; k++)
    b->search.prior.sd[k] = 1.0;
}

static plag_friction_model plates_of(double leave_pct) {
  return (plag_friction_model){.element = {.leave_pct = leave_pct,
                                           .rest_s = 0.3,
                                           .lowest_pct = -INFINITY,
                                           .highest_pct = INFINITY},
                               .factor = 1.0,
                               .lag = {.tau_open_s = 0.02, .tau_close_s = 0.02}};
}

static double cost_at(bench *b, double leave_pct) {
  const plag_friction_model plates = plates_of(leave_pct);
  return plag_friction_score(&b->search, &plates).cost;
}

/* The likelihood that lies below each pull of the fine grid. */
static void integrate_finely(bench *b, double as_one, double *below) {
  double best = INFINITY;
  for (int k = 0; k < FINE; k++) {
    below[k + 1] = cost_at(b, (k + 0.5) * MOST_PCT / FINE);
    best = fmin(best, below[k + 1]);
  }
  below[0] = 0.0;
  for (int k = 0; k < FINE; k++)
    below[k + 1] = below[k] + exp((best - below[k + 1]) / as_one);
}

static double quantile(const double *below, double share) {
  int k = 0;
  while (below[k + 1] < share * below[FINE])
    k++;
  return (k + 0.5) * MOST_PCT / FINE;
}

static const struct likelihood {
  const char *name;
  pull pull[MOST_PULLS]; /* what is withstood and released often rules out what lies beyond */
  double leave_pct, as_one;
} LIKELIHOODS[] = {
    {"likely pulls below, the rest above", {{9.31, 6}, {9.53, 1}, {15.87, 6}}, 9.4, 3.3},
    {"the same, more evenly", {{9.31, 6}, {9.53, 1}, {15.87, 6}}, 9.4, 4.0},
    {"a cell a fifth of the grid's", {{9.31, 6}, {9.37, 1}, {15.87, 6}}, 9.35, 2.3},
    {"likely pulls above, the rest below", {{9.31, 6}, {15.53, 1}, {15.67, 6}}, 15.6, 3.3},
    {"between the rest", {{9.31, 6}, {12.53, 1}, {12.61, 1}, {18.61, 6}}, 12.6, 3.0},
};

/* The likelihood with all pulls above the one that lets go further out: wherever the points of the
 * report's grid fall, into the best cell too. */
static void widen(const struct likelihood *of, double by_pct, pull *to) {
  for (int k = 0; k < MOST_PULLS; k++)
    to[k] = (pull){of->pull[k].pct + (of->pull[k].pct > of->leave_pct ? by_pct : 0.0),
                   of->pull[k].times};
}

/* Without friction while they move the band is the pull that lets go. An end may be told further
 * out, where that is what the movements scatter, and no nearer. */
static void look_at(bench *b, const platelag_trace *trace, const struct likelihood *of,
                    double by_pct) {
  static double below[FINE + 1];
  pull pulls[MOST_PULLS];
  widen(of, by_pct, pulls);
  begin(b, trace, pulls, MOST_PULLS, of->leave_pct);
  integrate_finely(b, of->as_one, below);
  const plag_friction_model plates = plates_of(of->leave_pct);
  const plag_friction_place best = plag_friction_score(&b->search, &plates);
  plag_friction_normal n;
  plag_friction_normal_of(&b->search, &best, PLAG_REFINE_ALL, &n);
  plag_friction_report_values(&b->search, &best, &n, of->as_one, true);
  const platelag_estimate *told = &b->made.fit.friction.stick_band_pct;
  assert_int_equal(told->known, PLATELAG_KNOWN_VALUE);
  assert_close(told->value, quantile(below, 0.5), 0, GRID_PCT * (by_pct > 0.0 ? 0.6 : 1.0 / 3.0));
  assert_true(told->low < quantile(below, END_SHARE) + GRID_PCT);
  assert_true(told->high > quantile(below, 1.0 - END_SHARE) - GRID_PCT);
  plag_test_model_end(&b->made);
}

static void a_narrow_cell_counts_by_its_width(void **state) {
  static bench b;
  for (size_t k = 0; k < sizeof LIKELIHOODS / sizeof LIKELIHOODS[0]; k++) {
    print_message("%s\n", LIKELIHOODS[k].name);
    for (int i = 0; i < WIDTHS; i++)
      look_at(&b, *state, &LIKELIHOODS[k], i * WIDER_PCT);
  }
}

static int set_up(void **state) {
  const plag_test_plant plant = {.duration_s = 60.0, .rows_per_second = 5.0};
  const plag_test_step step[] = {{0.0, 20.0}, {20.0, 70.0}};
  return !(*state = plag_test_trace_simulate(&plant, step, 2));
}

static int tear_down(void **state) {
  plag_test_trace_destroy(*state);
  return 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_narrow_cell_counts_by_its_width),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
