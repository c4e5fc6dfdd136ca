/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How well each description explains the same readings, on small traces worked by hand: plates that
 * never move, follow at once, follow freely, go at one speed. What counts, what counts less, how
 * many readings are independent, and when one speed wins. The response is stated, not fitted. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "support/made_model.h"
#include "support/made_trace.h"

enum { SAMPLES = 400, SECOND_SEGMENT = 200, STANDS = 30 };
#define ROW_S       0.1
#define PAUSE_S     7.3
#define DEAD_TIME_S 0.13
#define NOISE_PCT   0.19
#define RIPPLE_PCT  0.73
#define LOW_PCT     4.1 /* asked for */
#define HIGH_PCT    95.3

/* A record in two segments: the command goes between both ends of the map, STANDS rows at each. */
typedef struct record {
  double time_s[SAMPLES], command[SAMPLES], level[SAMPLES];
  double residual_pct[SAMPLES];
} record;

static bool begins_segment(size_t sample) {
  return sample == 0 || sample == SECOND_SEGMENT;
}

static double asked_at_once_pct(size_t sample) {
  return sample / STANDS % 2 == 0 ? LOW_PCT : HIGH_PCT;
}

/* Three readings above, three below: of neighbours two in six have another sign, which leaves a
 * correlation of a third, and half as many independent readings. */
static double ripple_pct(size_t sample) {
  return sample / 3 % 2 == 0 ? RIPPLE_PCT : -RIPPLE_PCT;
}

static void begin(record *of) {
  for (size_t i = 0; i < SAMPLES; i++) {
    of->time_s[i] = ROW_S * (double)i + (i >= SECOND_SEGMENT ? PAUSE_S : 0.0);
    of->command[i] = asked_at_once_pct(i) > 50.0 ? 71.0 : 19.0;
    of->residual_pct[i] = ripple_pct(i);
  }
}

static platelag_trace *make_trace(const record *of) {
  return plag_test_trace_make(&(plag_test_samples){
      .command_count = SAMPLES,
      .command_time_s = of->time_s,
      .command = of->command,
      .position_count = SAMPLES,
      .position_time_s = of->time_s,
      .level = of->level,
      .closed_level = 0.0,
      .open_level = 100.0,
      .row_period_s = ROW_S,
      .gap_s = 2.0,
      .scale = PLATELAG_SCALE_SPEC,
  });
}

static void state_fit(plag_test_model *made, double tau_open_s, double tau_close_s, bool on_rows) {
  plag_test_model_set_response(made, DEAD_TIME_S, tau_open_s, tau_close_s);
  platelag_fit *fit = &made->fit;
  fit->map_knots = 2;
  fit->map_command[0] = 19.0;
  fit->map_command[1] = 71.0;
  fit->map_pct[0] = LOW_PCT;
  fit->map_pct[1] = HIGH_PCT;
  fit->lag.command_on_rows = on_rows;
  made->model.noise_pct = NOISE_PCT;
}

typedef struct first_order {
  double tau_open_s, tau_close_s;
  double from_s, from_pct, target_pct;
} first_order;

static double free_pct(const first_order *of, double now_s) {
  const double tau_s = of->target_pct > of->from_pct ? of->tau_open_s : of->tau_close_s;
  return of->target_pct + (of->from_pct - of->target_pct) * exp(-(now_s - of->from_s) / tau_s);
}

/* First order; a change is felt so long after the row that shows it. */
static void follow_freely(record *of, double felt_after_s, double tau_open_s, double tau_close_s) {
  first_order plates = {tau_open_s, tau_close_s, 0.0, 0.0, 0.0};
  double felt_s = 0.0;
  for (size_t i = 0; i < SAMPLES; i++) {
    const double now_s = of->time_s[i];
    if (begins_segment(i)) { /* from the reading */
      plates.from_s = now_s;
      plates.from_pct = plates.target_pct = of->level[i] = asked_at_once_pct(i);
      continue;
    }
    if (asked_at_once_pct(i) != asked_at_once_pct(i - 1))
      felt_s = now_s + felt_after_s;
    if (asked_at_once_pct(i) != plates.target_pct && now_s >= felt_s) {
      plates.from_pct = free_pct(&plates, felt_s);
      plates.from_s = felt_s;
      plates.target_pct = asked_at_once_pct(i);
    }
    of->level[i] = free_pct(&plates, now_s) + of->residual_pct[i];
  }
}

static void check_score(const platelag_score *score, double rms_pct, double samples,
                        int parameters) {
  assert_int_equal(score->convergence, PLATELAG_CONVERGED);
  assert_close(score->rms_pct, rms_pct, 1e-6, 0.0);
  assert_close(score->samples, samples, 1e-6, 0.0);
  assert_int_equal(score->parameters, parameters);
  assert_close(score->log_likelihood, -0.5 * samples * (log(2.0 * M_PI * rms_pct * rms_pct) + 1.0),
               1e-6, 0.0);
}

/* Root mean square of the readings about a level, by the samples that count. */
static double rms_about_mean(const record *of, const plag_test_model *made) {
  double sum = 0.0, squares = 0.0, count = 0.0;
  for (size_t i = 0; i < SAMPLES; i++)
    if (made->model.mode[i] == PLATELAG_MODE_FOLLOWING) {
      sum += of->level[i];
      squares += of->level[i] * of->level[i];
      count += 1.0;
    }
  return sqrt(squares / count - sum * sum / (count * count));
}

static double rms_from_asked(const record *of, const plag_test_model *made) {
  double squares = 0.0, count = 0.0;
  for (size_t i = 0; i < SAMPLES; i++)
    if (made->model.mode[i] == PLATELAG_MODE_FOLLOWING && !begins_segment(i)) {
      const double off_pct = of->level[i] - asked_at_once_pct(i);
      squares += off_pct * off_pct;
      count += 1.0;
    }
  return sqrt(squares / count);
}

/* Lost readings and held plates count nowhere, whatever is read. */
static void leave_out(record *of, plag_test_model *made) {
  for (size_t i = 45; i < 51; i++) {
    of->level[i] = 37.1;
    made->model.mode[i] = i < 48 ? PLATELAG_MODE_HELD : PLATELAG_MODE_RAIL_HIGH;
  }
}

static void set_scores(plag_test_model *made) {
  platelag_error error = {0};
  assert_int_equal(plag_scores_set(&made->model, &error), PLATELAG_OK);
}

static void three_descriptions_have_their_scores(void **state) {
  (void)state;
  for (int with_gaps = 0; with_gaps < 2; with_gaps++) {
    static record made_record;
    begin(&made_record);
    follow_freely(&made_record, DEAD_TIME_S, 0.31, 0.43);
    platelag_trace *trace = make_trace(&made_record);
    assert_int_equal(trace->segment_count, 2);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    state_fit(&made, 0.31, 0.43, true);
    if (with_gaps) {
      leave_out(&made_record, &made);
      memcpy((double *)trace->level, made_record.level, sizeof made_record.level);
    }
    set_scores(&made);
    /* Whole threes were left out, and the first of a segment is where free plates begin. */
    const double counted = SAMPLES - 2 - (with_gaps ? 6 : 0);
    const double independent = made.fit.free.samples;
    assert_close(independent, 0.5 * counted, 0.02, 0.0);
    check_score(&made.fit.free, RIPPLE_PCT, independent, 6);
    check_score(&made.fit.prompt, rms_from_asked(&made_record, &made), independent, 3);
    check_score(&made.fit.constant, rms_about_mean(&made_record, &made), independent, 2);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* A change lies anywhere between two rows. By then first order has gone on by its slope, which a
 * uniform moment spreads by its width's square over twelve, and by no more than the way. */
static double added_variance_pct2(double way_pct, double tau_s) {
  const double slope_spread_pct = way_pct * ROW_S / tau_s;
  return fmin(slope_spread_pct * slope_spread_pct / 12.0, 0.25 * way_pct * way_pct);
}

static double weighted_rms(const record *of, double felt_after_s, double tau_open_s,
                           double tau_close_s) {
  double variance_pct2 = 0.0, squares = 0.0, weights = 0.0;
  double tau_s = tau_open_s;
  double target_pct = LOW_PCT;
  const size_t late = felt_after_s > 0.0 ? (size_t)ceil(felt_after_s / ROW_S) : 0;
  for (size_t i = 0; i < SAMPLES; i++) {
    if (begins_segment(i)) {
      variance_pct2 = 0.0;
      target_pct = asked_at_once_pct(i);
      continue;
    }
    const bool felt = i >= late && asked_at_once_pct(i - late) != target_pct;
    if (felt) {
      target_pct = asked_at_once_pct(i - late);
      tau_s = target_pct == HIGH_PCT ? tau_open_s : tau_close_s;
    }
    variance_pct2 *= exp(-2.0 * ROW_S / tau_s);
    if (felt)
      variance_pct2 += added_variance_pct2(HIGH_PCT - LOW_PCT, tau_s);
    const double weight = NOISE_PCT * NOISE_PCT / (NOISE_PCT * NOISE_PCT + variance_pct2);
    squares += weight * of->residual_pct[i] * of->residual_pct[i];
    weights += weight;
  }
  return sqrt(squares / weights);
}

static void readings_after_a_change_count_less(void **state) {
  (void)state;
  static const struct {
    double tau_open_s, tau_close_s;
  } lags[] = {{0.31, 0.43}, {0.29, 0.037}, {0.043, 0.61}};
  const double felt_after_s = DEAD_TIME_S - 0.5 * ROW_S;
  for (size_t k = 0; k < sizeof lags / sizeof lags[0]; k++) {
    static record made_record;
    begin(&made_record);
    for (size_t i = 0; i < SAMPLES; i++)
      made_record.residual_pct[i] *= 2.3 - 0.07 * (double)(i % STANDS);
    follow_freely(&made_record, felt_after_s, lags[k].tau_open_s, lags[k].tau_close_s);
    platelag_trace *trace = make_trace(&made_record);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    state_fit(&made, lags[k].tau_open_s, lags[k].tau_close_s, false);
    set_scores(&made);
    assert_close(made.fit.free.rms_pct,
                 weighted_rms(&made_record, felt_after_s, lags[k].tau_open_s, lags[k].tau_close_s),
                 1e-3, 0.0);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* Plates at one speed, from so many rows after the one that shows a change. */
static void go_at_one_speed(record *of, double rate_pct_per_s, size_t rows_late) {
  double at_pct = LOW_PCT;
  for (size_t i = 0; i < SAMPLES; i++) {
    const double target_pct = asked_at_once_pct(i < rows_late ? 0 : i - rows_late);
    const double most_pct = rate_pct_per_s * ROW_S;
    if (begins_segment(i))
      at_pct = target_pct;
    else
      at_pct += fmax(fmin(target_pct - at_pct, most_pct), -most_pct);
    of->level[i] = at_pct + (begins_segment(i) ? 0.0 : of->residual_pct[i]);
  }
}

/* The speeds that are tried: what does half of the way when first order does, and that times 1.4
 * twice either way, each put so that its half comes when that of first order does. What counts
 * nowhere does not count here. */
static void one_speed_wins_where_plates_have_one(void **state) {
  (void)state;
  const double tau_open_s = 0.37, tau_close_s = 0.43;
  const double tau_s = 0.5 * (tau_open_s + tau_close_s);
  const double way_pct = HIGH_PCT - LOW_PCT;
  const double half_s = DEAD_TIME_S + 0.69 * tau_s;
  for (int k = -2; k <= 2; k++) {
    const double rate_pct_per_s = way_pct / (1.6 * tau_s) * pow(1.4, k);
    const double delay_s = fmax(half_s - 0.5 * way_pct / rate_pct_per_s, 0.0);
    static record made_record;
    begin(&made_record);
    go_at_one_speed(&made_record, rate_pct_per_s, (size_t)ceil(delay_s / ROW_S));
    platelag_trace *trace = make_trace(&made_record);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    leave_out(&made_record, &made);
    memcpy((double *)trace->level, made_record.level, sizeof made_record.level);
    state_fit(&made, tau_open_s, tau_close_s, true);
    set_scores(&made);
    check_score(&made.fit.slewing, RIPPLE_PCT, made.fit.free.samples, 5);
    const platelag_estimate *rate = &made.fit.lag.rate_pct_per_s;
    print_message("1.4 to the %d: %.1f %%/s, first order is off by %.2f %%\n", k, rate->value,
                  made.fit.free.rms_pct);
    assert_int_equal(rate->known, PLATELAG_KNOWN_VALUE);
    assert_close(rate->value, rate_pct_per_s, 1e-9, 0.0);
    assert_close(rate->low, rate_pct_per_s / sqrt(1.4), 1e-9, 0.0);
    assert_close(rate->high, rate_pct_per_s * sqrt(1.4), 1e-9, 0.0);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* The same plates with the same score, but their time constants are known as limits only, about the
 * same values, or one of them not at all. */
static void no_speed_is_told_where_the_lag_is_open(void **state) {
  (void)state;
  static const struct {
    platelag_estimate opening, closing;
    bool told;
  } lags[] = {
      {{PLATELAG_KNOWN_VALUE, 0.37, 0.31, 0.42}, {PLATELAG_KNOWN_VALUE, 0.43, 0.39, 0.47}, true},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 0.74},
       {PLATELAG_KNOWN_VALUE, 0.43, 0.39, 0.47},
       true},
      {{PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 0.74},
       {PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 0.86},
       false},
      {{PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN},
       {PLATELAG_KNOWN_UPPER_LIMIT, NAN, 0.0, 0.80},
       false},
  };
  static record made_record;
  begin(&made_record);
  go_at_one_speed(&made_record, 142.5, 1);
  platelag_trace *trace = make_trace(&made_record);
  for (size_t k = 0; k < sizeof lags / sizeof lags[0]; k++) {
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    state_fit(&made, NAN, NAN, true);
    made.fit.lag.opening_tau_s = lags[k].opening;
    made.fit.lag.closing_tau_s = lags[k].closing;
    set_scores(&made);
    check_score(&made.fit.slewing, RIPPLE_PCT, made.fit.free.samples, 5);
    assert_true(made.fit.free.rms_pct > 10.0 * RIPPLE_PCT);
    assert_int_equal(made.fit.lag.rate_pct_per_s.known,
                     lags[k].told ? PLATELAG_KNOWN_VALUE : PLATELAG_KNOWN_NOTHING);
    plag_test_model_end(&made);
  }
  plag_test_trace_destroy(trace);
}

static void first_order_has_no_one_speed(void **state) {
  (void)state;
  for (int by_much = 0; by_much < 2; by_much++) { /* with noise alone nothing is looked for */
    static record made_record;
    begin(&made_record);
    follow_freely(&made_record, DEAD_TIME_S, 0.31, 0.43);
    platelag_trace *trace = make_trace(&made_record);
    plag_test_model made;
    plag_test_model_begin(&made, trace);
    state_fit(&made, 0.31, 0.43, true);
    made.model.noise_pct = by_much ? NOISE_PCT : RIPPLE_PCT;
    set_scores(&made);
    assert_true(made.fit.slewing.rms_pct > 3.0 * made.fit.free.rms_pct);
    assert_int_equal(made.fit.lag.rate_pct_per_s.known, PLATELAG_KNOWN_NOTHING);
    plag_test_model_end(&made);
    plag_test_trace_destroy(trace);
  }
}

/* A record whose command never moves says nothing of plates that follow. */
static void plates_that_are_never_asked_have_one_score(void **state) {
  (void)state;
  static record made_record;
  begin(&made_record);
  for (size_t i = 0; i < SAMPLES; i++) {
    made_record.command[i] = NAN;
    made_record.level[i] = 43.7 + ripple_pct(i);
  }
  platelag_trace *trace = make_trace(&made_record);
  plag_test_model made;
  plag_test_model_begin(&made, trace);
  state_fit(&made, 0.31, 0.43, true);
  set_scores(&made);
  check_score(&made.fit.constant, rms_about_mean(&made_record, &made), SAMPLES, 2);
  assert_int_equal(made.fit.free.convergence, PLATELAG_NO_DATA);
  assert_int_equal(made.fit.prompt.convergence, PLATELAG_NO_DATA);
  assert_int_equal(made.fit.slewing.convergence, PLATELAG_NO_DATA);
  plag_test_model_end(&made);
  plag_test_trace_destroy(trace);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(three_descriptions_have_their_scores),
      cmocka_unit_test(readings_after_a_change_count_less),
      cmocka_unit_test(one_speed_wins_where_plates_have_one),
      cmocka_unit_test(no_speed_is_told_where_the_lag_is_open),
      cmocka_unit_test(first_order_has_no_one_speed),
      cmocka_unit_test(plates_that_are_never_asked_have_one_score),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
