/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/practice_set.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "judge/build.h"
#include "platelag/platelag.h"
#include "support/chunk_source.h"
#include "support/made_random.h"

typedef struct choice {
  const char *name;
  double share[2]; /* in the first and the second setting */
} choice;

/* How often each fault comes, about as the priors of src/judge/hypotheses.c have it, but none so
 * seldom that nothing could be said of it. */
static const choice faults[] = {
    {"none", {0.36, 0.36}},
    {"sticking", {0.08, 0.08}},
    {"ridge", {0.06, 0.06}},
    {"slow", {0.05, 0.05}},
    {"short_travel", {0.035, 0.035}},
    {"jam_inside", {0.035, 0.035}},
    {"jam_past_stop", {0.03, 0.03}},
    {"no_drive", {0.035, 0.035}},
    {"weak_drive", {0.02, 0.02}},
    {"open_wire", {0.025, 0.025}},
    {"short_to_reference", {0.02, 0.02}},
    {"short_to_ground", {0.025, 0.025}},
    {"frozen_signal", {0.02, 0.02}},
    {"dropouts", {0.03, 0.03}},
    {"worn_spot", {0.025, 0.025}},
    {"reference_sag", {0.02, 0.02}},
    {"noise", {0.02, 0.02}},
    {"shifted", {0.025, 0.025}},
    {"drift", {0.015, 0.015}},
    {"span_scaled", {0.02, 0.02}},
    {"sticking+dropouts", {0.015, 0.015}},
    {"ridge+dropouts", {0.01, 0.01}},
    {"sticking+shifted", {0.005, 0.005}},
    {"slow+dropouts", {0.005, 0.005}},
    {"dropouts+sticking", {0.01, 0.01}},
    {"short_travel+sticking", {0.005, 0.005}},
    {NULL, {0, 0}},
};
static const choice drives[] = {{"motor", {0.7, 0.4}}, {"vacuum", {0.3, 0.6}}, {NULL, {0, 0}}};
static const choice commands[] = {{"duty", {0.6, 0.45}},
                                  {"on_off", {0.15, 0.2}},
                                  {"desired_and_duty", {0.15, 0.25}},
                                  {"duty_closed_loop", {0.1, 0.1}},
                                  {NULL, {0, 0}}};
static const choice units[] = {
    {"volt", {0.7, 0.55}}, {"reference", {0.2, 0.3}}, {"open", {0.1, 0.15}}, {NULL, {0, 0}}};
static const choice laws[] = {{"karnopp", {1, 0.35}}, {"lugre", {0, 0.65}}, {NULL, {0, 0}}};
static const choice channels[] = {{"usual", {0.6, 0.5}}, {"few", {0.4, 0.5}}, {NULL, {0, 0}}};

static bool is_first(practice_set set) {
  return set == PRACTICE_SET_FIRST || set == PRACTICE_SET_LESSON;
}

static const char *choose(const choice *from, practice_set set, plag_test_random *random) {
  double left = plag_test_random_uniform(random, 0, 1);
  const int column = is_first(set) ? 0 : 1;
  for (; from[1].name != NULL; from++) {
    left -= from->share[column];
    if (left < 0)
      break;
  }
  return from->name;
}

size_t practice_set_fault_count(void) {
  return sizeof faults / sizeof faults[0] - 1;
}

static double chance(plag_test_random *random) {
  return plag_test_random_uniform(random, 0, 1);
}

/* Nobody can tell: idle only; nothing moves, nothing dithers and no other channel tells; the signal
 * is shifted and one stop is never visited. */
static void make_undecidable(practice_draw *draw, uint64_t number, plag_test_random *random) {
  static const char *const idle[] = {"none", "sticking", "slow", "ridge", "shifted"};
  platelag_practice_order *order = &draw->order;
  order->command = number % 2 == 0 ? "duty" : "desired_and_duty";
  order->unit = number % 5 == 0 ? "reference" : "volt";
  switch (number % 3) {
  case 0:
    order->driving = "idle";
    order->fault = idle[number / 3 % 5];
    break;
  case 1:
    order->fault = "frozen_signal";
    order->severity = 1;
    order->channels = "few";
    order->command = "duty";
    break;
  default:
    order->fault = "shifted";
    order->driving = "gentle";
    order->command = "duty";
    order->severity = plag_test_random_uniform(random, 0.7, 1);
    draw->spec_given = true;
    break;
  }
}

practice_draw practice_set_draw(practice_set set, uint64_t number) {
  plag_test_random random = {.state = 0x5e7 + 7919 * (uint64_t)set};
  random.state += number * 1000003;
  practice_draw draw = {0};
  platelag_practice_order *order = &draw.order;
  order->setting = is_first(set) ? "first" : "second";
  order->fault = choose(faults, set, &random);
  if (set == PRACTICE_SET_LESSON)
    order->fault = faults[number % practice_set_fault_count()].name;
  order->drive = choose(drives, set, &random);
  order->command = choose(commands, set, &random);
  order->unit = choose(units, set, &random);
  order->friction = choose(laws, set, &random);
  order->channels = choose(channels, set, &random);
  order->severity = plag_test_random_uniform(&random, 0.3, 1);
  order->rows_per_second = exp(plag_test_random_uniform(&random, log(2), log(20)));
  order->minutes = plag_test_random_uniform(&random, 4, 8);
  order->inverted = chance(&random) < 0.1;
  order->seed = plag_test_random_bits(&random) >> 24;
  draw.spec_given = chance(&random) < 0.5;
  if (set == PRACTICE_SET_UNDECIDABLE)
    make_undecidable(&draw, number, &random);
  return draw;
}

typedef struct road {
  platelag_capture *capture;
  platelag_trace *trace;
  platelag_fit *fit;
  platelag_finding *finding;
  const platelag_valve_spec *valve;
} road;

static platelag_status drive_road(const made_capture *made, const platelag_spec *spec,
                                  platelag_workspace *workspace, road *of, platelag_error *error) {
  plag_test_chunks chunks = {.bytes = made->capture.bytes, .size = made->capture.length};
  const platelag_source source = plag_test_chunk_source(&chunks);
  const platelag_read_options options = {.spec = spec, .display_name = "practice"};
  platelag_status status = platelag_capture_read_source(&source, &options, &of->capture, error);
  if (status == PLATELAG_OK)
    status =
        platelag_trace_build(of->capture, 0, 0, spec, PLATELAG_CONDITION_ROAD, &of->trace, error);
  if (status != PLATELAG_OK)
    return status;
  of->valve = platelag_spec_for_bank(spec, of->trace->bank);
  status = platelag_fit_build(of->trace, of->valve, workspace, &of->fit, error);
  return status != PLATELAG_OK
             ? status
             : platelag_finding_judge(of->fit, of->trace, of->valve, NULL, &of->finding, error);
}

static void road_close(road *of) {
  platelag_finding_destroy(of->finding);
  platelag_fit_destroy(of->fit);
  platelag_trace_destroy(of->trace);
  platelag_capture_destroy(of->capture);
}

static bool tells_other(const char *fault, const char *sentence) {
  const char *other = strchr(fault, '+');
  if (other == NULL)
    return false;
  if (strcmp(other, "+dropouts") == 0)
    return strstr(sentence, "dropped out") != NULL || strstr(sentence, "erratic") != NULL;
  if (strcmp(other, "+sticking") == 0)
    return strstr(sentence, "stick") != NULL;
  return strstr(sentence, "oth stops") != NULL || strstr(sentence, "also stays") != NULL;
}

static void take_down(const road *of, const practice_draw *draw, practice_case *out) {
  plag_gate gate;
  plag_facts_take(of->fit, of->trace, of->valve, &out->facts);
  plag_gate_look(of->fit, of->trace, of->valve, &out->facts, &gate);
  memcpy(out->blocked, gate.blocked, sizeof out->blocked);
  out->lacking = gate.count;
  out->tells_lacking = of->finding->lacking_count > 0;
  out->tells_other = tells_other(draw->order.fault, of->finding->sentence);
  practice_case_judge(out);
  /* What is judged here is what the program says. */
  assert_int_equal(out->kind, of->finding->kind);
  assert_int_equal(out->family, of->finding->family);
}

void practice_case_make(practice_set set, uint64_t number, platelag_workspace *workspace,
                        practice_case *out) {
  const practice_draw draw = practice_set_draw(set, number);
  memset(out, 0, sizeof *out);
  out->set = set;
  out->number = number;
  made_capture made = {0};
  assert_true(made_capture_make(&made, &draw.order));
  practice_truth_find(&made, &draw, &out->truth);
  platelag_spec *spec = made_capture_spec(&made, draw.spec_given);
  road of = {0};
  platelag_error error = {0};
  if (drive_road(&made, spec, workspace, &of, &error) == PLATELAG_OK)
    take_down(&of, &draw, out);
  else
    out->failed = true;
  if (out->failed)
    print_message("%s\n", error.message);
  road_close(&of);
  platelag_spec_destroy(spec);
  made_capture_clear(&made);
}

void practice_case_judge(practice_case *of) {
  static const double decide_at = 0.70;
  plag_posterior posterior;
  plag_posterior_weigh(&of->facts, decide_at, &posterior);
  platelag_finding *finding = plag_finding_begin();
  assert_non_null(finding);
  assert_true(plag_finding_decide(finding, &posterior, of->blocked, decide_at));
  of->kind = finding->kind;
  of->family = finding->family;
  of->best = posterior.best;
  of->finding_probability = finding->finding_probability;
  of->likeliest = 0;
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++) {
    of->probability[f] = finding->probability[f];
    if (finding->probability[f] > finding->probability[of->likeliest])
      of->likeliest = (platelag_family)f;
  }
  memcpy(of->of_hypothesis, posterior.probability, sizeof of->of_hypothesis);
  platelag_finding_destroy(finding);
}

void practice_case_tell(const practice_case *of) {
  const practice_draw draw = practice_set_draw(of->set, of->number);
  const platelag_practice_order *order = &draw.order;
  size_t best = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    if (of->of_hypothesis[i] > of->of_hypothesis[best])
      best = i;
  print_message(
      "%d/%llu %s %.17g seed %llu %.17g rows/s %.17g min %s %s %s %s %s%s %s%s: %s/%s %.2f "
      "(%s %.2f) blocked %d; is %s%s%s\n",
      (int)of->set, (unsigned long long)of->number, order->fault, order->severity,
      (unsigned long long)order->seed, order->rows_per_second, order->minutes, order->drive,
      order->command, order->unit, order->friction, order->channels,
      order->inverted ? " inverted" : "", draw.spec_given ? "spec" : "no spec",
      order->driving != NULL ? order->driving : "", platelag_finding_name(of->kind),
      platelag_family_name(of->family), of->finding_probability,
      plag_hypothesis_at(best)->hypothesis->name, of->of_hypothesis[best], of->blocked[of->best],
      platelag_finding_name(of->truth.is), of->truth.decidable ? "" : ", not decidable",
      of->truth.hidden ? ", hidden" : "");
}

void practice_case_explain(const practice_case *of) {
  enum { TOLD = 5 };
  plag_posterior posterior;
  size_t order[PLAG_HYPOTHESIS_MOST];
  const size_t count = plag_hypothesis_count();
  practice_case_tell(of);
  plag_posterior_weigh(&of->facts, 0.70, &posterior);
  for (size_t i = 0; i < count; i++) {
    size_t at = i;
    for (; at > 0 && posterior.probability[order[at - 1]] < posterior.probability[i]; at--)
      order[at] = order[at - 1];
    order[at] = i;
  }
  print_message("%-64s %9s %9s %9s |", "", "value", "limit", "count");
  for (size_t i = 0; i < TOLD; i++)
    print_message(" %12.12s %.2f", plag_hypothesis_at(order[i])->hypothesis->name,
                  posterior.probability[order[i]]);
  print_message("\n");
  for (int f = 0; f < PLAG_FEATURE_COUNT; f++) {
    const plag_fact *fact = &of->facts.fact[f];
    if (!fact->present)
      continue;
    print_message("%-64.64s %9.3f %9.3f %9.3f |", plag_feature_at((plag_feature)f)->what,
                  fact->value, fact->limit, fact->count);
    for (size_t i = 0; i < TOLD; i++)
      print_message(" %17.2f", posterior.by_feature[order[i]][f]);
    print_message("\n");
  }
}
