/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/made_held.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"

#define MOST_TRUTHS 8192

typedef struct span {
  double from_s, to_s, pull_pct;
} span;

void made_held_begin(made_held *tools) {
  platelag_error error = {0};
  *tools = (made_held){0};
  assert_int_equal(platelag_workspace_create(&tools->workspace, &error), PLATELAG_OK);
  assert_int_equal(platelag_spec_create(&tools->spec, &error), PLATELAG_OK);
}

void made_held_end(made_held *tools) {
  made_capture_clear(&tools->made);
  platelag_spec_destroy(tools->spec);
  platelag_workspace_destroy(tools->workspace);
}

static double number_of(const char *from, const char *key) {
  const char *at = strstr(from, key);
  double value = NAN;
  assert_non_null(at);
  assert_true(plag_number_read(at + strlen(key), strlen(at + strlen(key)), '.', &value) > 0);
  return value;
}

/* The truth's held intervals, those at a moved stop left out; returns how many. */
static size_t read_truth(const char *text, span *truth) {
  size_t count = 0;
  const char *at = strstr(text, "\"held\": [");
  assert_non_null(at);
  const char *const end = strchr(at, ']');
  while ((at = strchr(at, '{')) != NULL && at < end) {
    const char *const stop = strstr(at, "\"at_stop\": ");
    assert_non_null(stop);
    if (strncmp(stop + 11, "true", 4) != 0) {
      assert_true(count < MOST_TRUTHS);
      truth[count++] = (span){number_of(at, "\"from_s\": "), number_of(at, "\"to_s\": "),
                              number_of(at, "\"mean_pull_pct\": ")};
    }
    at++;
  }
  return count;
}

static double overlap_s(const span *one, const platelag_held *other) {
  return fmax(fmin(one->to_s, platelag_seconds(other->to_ns)) -
                  fmax(one->from_s, platelag_seconds(other->from_ns)),
              0.0);
}

static void compare_truth(const span *truth, const platelag_fit *fit, made_held_tally *tally) {
  const double lasted_s = truth->to_s - truth->from_s;
  double shared_s = 0.0;
  if (lasted_s < MADE_HELD_LEAST_S || fabs(truth->pull_pct) < MADE_HELD_SLIGHT_PCT)
    return;
  for (size_t k = 0; k < fit->held_count; k++)
    shared_s += overlap_s(truth, &fit->held[k]);
  const bool found = shared_s >= 0.5 * lasted_s;
  const bool slight = fabs(truth->pull_pct) < MADE_HELD_CLEAR_PCT;
  size_t *const count[2][2] = {{&tally->missed, &tally->found},
                               {&tally->slight_missed, &tally->slight_found}};
  ++*count[slight][found];
  if (!found && getenv("PLATELAG_SHOW_HELD"))
    print_message("  missed %.2f..%.2f s, pull %.1f, shared %.2f s\n", truth->from_s, truth->to_s,
                  truth->pull_pct, shared_s);
}

static void compare_claim(const platelag_held *held, const span *truth, size_t truths,
                          made_held_tally *tally) {
  const double lasted_s = platelag_seconds(held->to_ns - held->from_ns);
  double shared_s = 0.0;
  for (size_t t = 0; t < truths; t++)
    shared_s += overlap_s(&truth[t], held);
  const bool right = shared_s >= 0.5 * lasted_s;
  tally->any++;
  tally->any_false += !right;
  if (lasted_s >= MADE_HELD_LEAST_S) {
    tally->claimed++;
    tally->right += right;
  }
  if (!right && getenv("PLATELAG_SHOW_HELD"))
    print_message("  false %.2f..%.2f s at %.1f, pull %.1f, asked %.1f\n",
                  platelag_seconds(held->from_ns), platelag_seconds(held->to_ns),
                  held->position_pct, held->pull_pct, held->command_pct);
}

static platelag_status read_made(void *context, void *bytes, size_t size, size_t *got,
                                 platelag_error *error) {
  (void)error;
  plag_text *left = context;
  *got = size < left->length ? size : left->length;
  memcpy(bytes, left->bytes, *got);
  left->bytes += *got;
  left->length -= *got;
  return PLATELAG_OK;
}

void made_held_try(made_held *tools, const platelag_practice_order *order, made_held_tally *tally) {
  static span truth[MOST_TRUTHS];
  assert_true(made_capture_make(&tools->made, order));
  const size_t truths = read_truth(tools->made.truth.bytes, truth);
  plag_text left = tools->made.capture;
  const platelag_source source = {&left, read_made};
  const platelag_read_options options = {.spec = tools->spec, .display_name = order->fault};
  platelag_error error = {0};
  platelag_capture *capture = NULL;
  platelag_trace *trace = NULL;
  platelag_fit *fit = NULL;
  platelag_finding *finding = NULL;
  platelag_status status = platelag_capture_read_source(&source, &options, &capture, &error);
  if (status == PLATELAG_OK)
    status =
        platelag_trace_build(capture, 0, 0, tools->spec, PLATELAG_CONDITION_ROAD, &trace, &error);
  if (status == PLATELAG_OK)
    status = platelag_fit_build(trace, platelag_spec_for_bank(tools->spec, 0), tools->workspace,
                                &fit, &error);
  if (status == PLATELAG_OK)
    status = platelag_finding_judge(fit, trace, platelag_spec_for_bank(tools->spec, 0), NULL,
                                    &finding, &error);
  if (status != PLATELAG_OK)
    print_message("%s: %s\n", order->fault, error.message);
  assert_int_equal(status, PLATELAG_OK);
  tally->minutes += order->minutes;
  tools->loop = fit->loop;
  tools->finding = finding->kind;
  for (size_t t = 0; t < truths; t++)
    compare_truth(&truth[t], fit, tally);
  for (size_t k = 0; k < fit->held_count; k++)
    compare_claim(&fit->held[k], truth, truths, tally);
  platelag_finding_destroy(finding);
  platelag_fit_destroy(fit);
  platelag_trace_destroy(trace);
  platelag_capture_destroy(capture);
}

double made_held_f1(const made_held_tally *tally, bool slight_too) {
  const size_t found = tally->found + (slight_too ? tally->slight_found : 0);
  const size_t missed = tally->missed + (slight_too ? tally->slight_missed : 0);
  const double hits = (double)(found + tally->right);
  return hits / (hits + (double)missed + (double)(tally->claimed - tally->right));
}

void made_held_add(made_held_tally *sum, const made_held_tally *more) {
  sum->found += more->found;
  sum->missed += more->missed;
  sum->slight_found += more->slight_found;
  sum->slight_missed += more->slight_missed;
  sum->claimed += more->claimed;
  sum->right += more->right;
  sum->any += more->any;
  sum->any_false += more->any_false;
  sum->minutes += more->minutes;
}
