/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Practice captures of every fault, and of none, at 2 to 20 rows a second: the finding is the
 * fault's own or none is made, and carbon and sensor are practically never taken for each other.
 * With an argument, so many seeds are run in place of a few and each capture that went wrong is
 * listed: recovery.findings 20. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "judge/hypothesis.h"
#include "platelag/platelag.h"
#include "support/chunk_source.h"
#include "support/made_capture.h"

#define FAULTS_MOST 40
#define KINDS       PLATELAG_FINDING_COUNT

/* Tolerated error rates, of the captures of all faults and of none together. */
#define RIGHT_OF_ANSWERED_LEAST 0.94
#define ANSWERED_LEAST          0.80
#define SWAPPED_MOST            0.03
#define FALSE_ALARMS_MOST       0.10
/* A carbon or sensor blamed for the other is never told surer than this. */
#define SURE 0.95
/* Healthy captures for one of each fault. */
#define HEALTHY_SEEDS 4

static size_t seeds = 2;
static bool listing = false;

typedef struct tally {
  size_t captures, answered, right;
  size_t healthy, alarms;
  size_t swapped, swapped_sure;
  size_t hidden; /* friction under an on/off command, told as free: the record does not show it */
  size_t led[PLAG_HYPOTHESIS_MOST], led_healthy[PLAG_HYPOTHESIS_MOST];
  size_t found[FAULTS_MOST][KINDS];
  size_t family[FAULTS_MOST][PLATELAG_FAMILY_COUNT + 1];
} tally;

typedef struct road {
  platelag_capture *capture;
  platelag_trace *trace;
  platelag_fit *fit;
  platelag_finding *finding;
} road;

static void road_close(road *of) {
  platelag_finding_destroy(of->finding);
  platelag_fit_destroy(of->fit);
  platelag_trace_destroy(of->trace);
  platelag_capture_destroy(of->capture);
}

/* A spec file with the stops as a service manual gives them, to five hundredths of a volt. */
static platelag_spec *spec_of(const made_capture *made, bool given) {
  char path[] = "/tmp/platelag-findings-XXXXXX";
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  if (!given) {
    assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
    return spec;
  }
  const int file = mkstemp(path);
  assert_true(file >= 0);
  const long closed = lround(made_capture_truth(made, "travel", "closed_v") * 20) * 5;
  const long open = lround(made_capture_truth(made, "travel", "open_v") * 20) * 5;
  assert_true(dprintf(file, "[valve]\nclosed_v = %ld.%02ld\nopen_v = %ld.%02ld\n", closed / 100,
                      closed % 100, open / 100, open % 100) > 0);
  close(file);
  const platelag_status status = platelag_spec_read(path, &spec, &error);
  unlink(path);
  if (status != PLATELAG_OK)
    fail_msg("%s", error.message);
  return spec;
}

static bool drive(const made_capture *made, const platelag_spec *spec,
                  platelag_workspace *workspace, road *of, platelag_error *error) {
  plag_test_chunks chunks = {.bytes = made->capture.bytes, .size = made->capture.length};
  const platelag_source source = plag_test_chunk_source(&chunks);
  const platelag_read_options options = {.spec = spec, .display_name = "practice"};
  if (platelag_capture_read_source(&source, &options, &of->capture, error) != PLATELAG_OK ||
      platelag_trace_build(of->capture, 0, 0, spec, PLATELAG_CONDITION_ROAD, &of->trace, error) !=
          PLATELAG_OK)
    return false;
  const platelag_valve_spec *valve = platelag_spec_for_bank(spec, of->trace->bank);
  const platelag_circumstances none = {.meter = {NAN, NAN, NAN}};
  return platelag_fit_build(of->trace, valve, workspace, &of->fit, error) == PLATELAG_OK &&
         platelag_finding_judge(of->fit, of->trace, valve, &none, &of->finding, error) ==
             PLATELAG_OK;
}

/* Whether the truth lists `name` behind the first `"key":`. */
static bool truth_names(const made_capture *made, const char *key, const char *name) {
  char quoted[64];
  snprintf(quoted, sizeof quoted, "\"%s\":", key);
  const char *at = strstr(made->truth.bytes, quoted);
  assert_non_null(at);
  const char *end = at + strcspn(at, strcmp(key, "findings") == 0 ? "]" : ",\n");
  snprintf(quoted, sizeof quoted, "\"%s\"", name);
  const char *found = strstr(at + strlen(key) + 3, quoted);
  return found != NULL && found < end;
}

static bool is_swapped(const made_capture *made, platelag_family family) {
  return (family == PLATELAG_FAMILY_SENSOR_CIRCUIT && truth_names(made, "family", "mechanical")) ||
         (family == PLATELAG_FAMILY_MECHANICAL && truth_names(made, "family", "sensor_circuit"));
}

/* An on/off command pulls in full at once, which friction short of a jam does not stop. */
static bool is_hidden(const platelag_practice_order *order, const platelag_finding *finding) {
  return strcmp(order->command, "on_off") == 0 && finding->kind == PLATELAG_FINDING_FREE &&
         (strcmp(order->fault, "sticking") == 0 || strcmp(order->fault, "ridge") == 0);
}

static void count_hypothesis(tally *sum, bool healthy, const platelag_finding *finding) {
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    if (strcmp(plag_hypothesis_at(i)->hypothesis->name, finding->hypothesis[0].name) == 0) {
      sum->led[i] += !healthy;
      sum->led_healthy[i] += healthy && finding->hypothesis[0].probability > 0.5;
    }
}

static void count_one(tally *sum, size_t fault, const made_capture *made,
                      const platelag_practice_order *order, const platelag_finding *finding) {
  const bool answered = finding->kind != PLATELAG_FINDING_UNDECIDED;
  const bool right =
      answered && truth_names(made, "findings", platelag_finding_name(finding->kind));
  const bool swapped = answered && is_swapped(made, finding->family);
  count_hypothesis(sum, strcmp(order->fault, "none") == 0, finding);
  if (is_hidden(order, finding)) {
    sum->hidden++;
    return;
  }
  sum->captures++;
  sum->answered += answered;
  sum->right += right;
  sum->swapped += swapped;
  sum->swapped_sure += swapped && finding->probability[finding->family] > SURE;
  sum->found[fault][finding->kind]++;
  sum->family[fault][finding->family]++;
  if (strcmp(order->fault, "none") == 0) {
    sum->healthy++;
    sum->alarms += answered && finding->kind != PLATELAG_FINDING_FREE;
  }
  if (listing && !right)
    print_message("%s severity %d %% seed %llu rows/s %d command %s unit %s: %s %s %.2f; %s\n",
                  order->fault, (int)(order->severity * 100), (unsigned long long)order->seed,
                  (int)order->rows_per_second, order->command, order->unit,
                  platelag_finding_name(finding->kind), platelag_family_name(finding->family),
                  finding->finding_probability, finding->sentence);
}

static void print_table(const tally *sum) {
  print_message("%-20s", "");
  for (int k = 0; k < KINDS; k++)
    print_message("%9.8s", platelag_finding_name((platelag_finding_kind)k));
  print_message(" |");
  for (int f = 0; f <= PLATELAG_FAMILY_COUNT; f++)
    print_message("%7.6s", platelag_family_name((platelag_family)f));
  print_message("\n");
  for (size_t i = 0; i < platelag_practice_fault_count(); i++) {
    print_message("%-20s", platelag_practice_fault_name(i));
    for (int k = 0; k < KINDS; k++)
      print_message("%9zu", sum->found[i][k]);
    print_message(" |");
    for (int f = 0; f <= PLATELAG_FAMILY_COUNT; f++)
      print_message("%7zu", sum->family[i][f]);
    print_message("\n");
  }
  print_message("captures %zu, answered %zu, right %zu, carbon and sensor swapped %zu (sure %zu), "
                "false alarms %zu of %zu, friction hidden by on/off commands %zu\n",
                sum->captures, sum->answered, sum->right, sum->swapped, sum->swapped_sure,
                sum->alarms, sum->healthy, sum->hidden);
}

static platelag_practice_order order_of(size_t fault, double rate, double severity, uint64_t seed) {
  static const char *const command[] = {"duty", "on_off", "desired_and_duty", "duty"};
  static const char *const unit[] = {"volt", "reference", "volt"};
  return (platelag_practice_order){.fault = platelag_practice_fault_name(fault),
                                   .severity = severity,
                                   .seed = seed,
                                   .minutes = 5,
                                   .rows_per_second = rate,
                                   .drive = seed % 2 ? "motor" : "vacuum",
                                   .command = command[seed % 4],
                                   .unit = unit[seed % 3],
                                   .friction = seed % 5 ? "karnopp" : "lugre",
                                   .inverted = seed % 7 == 3};
}

static void judge_one(tally *sum, size_t fault, const platelag_practice_order *order,
                      platelag_workspace *workspace) {
  made_capture made = {0};
  assert_true(made_capture_make(&made, order));
  platelag_spec *spec = spec_of(&made, order->seed % 2 == 0 || strcmp(order->fault, "none") != 0);
  road of = {0};
  platelag_error error = {0};
  if (!drive(&made, spec, workspace, &of, &error))
    fail_msg("%s seed %llu: %s", order->fault, (unsigned long long)order->seed, error.message);
  count_one(sum, fault, &made, order, of.finding);
  road_close(&of);
  platelag_spec_destroy(spec);
  made_capture_clear(&made);
}

/* Hypotheses that no practice fault makes; the unit tests of src/judge hold them. */
static const char *const unpractised[] = {"freezing signal", "weak drive"};

static bool is_unpractised(const char *name) {
  for (size_t i = 0; i < sizeof unpractised / sizeof unpractised[0]; i++)
    if (strcmp(unpractised[i], name) == 0)
      return true;
  return false;
}

/* Each hypothesis leads in some faulty capture, and but for the free one in hardly any healthy. */
static void each_is_present_and_absent(const tally *sum) {
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const char *name = plag_hypothesis_at(i)->hypothesis->name;
    const bool is_free = strcmp(name, "free") == 0;
    if (!is_free && !is_unpractised(name) && sum->led[i] == 0)
      fail_msg("hypothesis \"%s\" leads in no capture of any fault", name);
    if (!is_free && (double)sum->led_healthy[i] > FALSE_ALARMS_MOST * (double)sum->healthy)
      fail_msg("hypothesis \"%s\" leads in %zu of %zu healthy captures", name, sum->led_healthy[i],
               sum->healthy);
  }
}

static void faults_are_found(void **state) {
  (void)state;
  static const double rate[] = {2, 5, 10, 20};
  static const double severity[] = {0.6, 0.8, 1.0};
  static tally sum;
  platelag_workspace *workspace = NULL;
  assert_int_equal(platelag_workspace_create(&workspace, NULL), PLATELAG_OK);
  assert_true(platelag_practice_fault_count() <= FAULTS_MOST);
  for (size_t fault = 0; fault < platelag_practice_fault_count(); fault++)
    for (size_t r = 0; r < sizeof rate / sizeof rate[0]; r++)
      for (size_t s = 0; s < (fault == 0 ? HEALTHY_SEEDS * seeds : seeds); s++) {
        const platelag_practice_order order =
            order_of(fault, rate[r], severity[(s + r) % 3], 2600 + 131 * fault + 17 * r + s);
        judge_one(&sum, fault, &order, workspace);
      }
  platelag_workspace_destroy(workspace);
  print_table(&sum);
  assert_true((double)sum.right >= RIGHT_OF_ANSWERED_LEAST * (double)sum.answered);
  assert_true((double)sum.answered >= ANSWERED_LEAST * (double)sum.captures);
  assert_true((double)sum.swapped <= SWAPPED_MOST * (double)sum.answered);
  assert_int_equal(sum.swapped_sure, 0);
  assert_true((double)sum.alarms <= FALSE_ALARMS_MOST * (double)sum.healthy);
  each_is_present_and_absent(&sum);
}

int main(int count, char **argument) {
  listing = count > 1;
  if (listing)
    seeds = (size_t)strtoul(argument[1], NULL, 10);
  platelag_library_start();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(faults_are_found),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
