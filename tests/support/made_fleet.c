/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/made_fleet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "core/calendar.h"
#include "core/number.h"
#include "fleet/calendar.h"
#include "practice/faults.h"
#include "support/made_capture.h"
#include "support/made_random.h"

enum { BATCH = 24, LOGS_MOST = 32, WORKERS = 2, PATH_BYTES = 256 };
#define FIRST_DAY_UNIX_S INT64_C(1743465600) /* 2025-04-01 */
#define SPAN_DAYS        365.0
#define SETTING          plag_setting_at(1) /* the second */

typedef struct vehicle {
  char name[32];
  platelag_practice_order order; /* of its first log, but for the severity */
  double band_pct;               /* true, of the first log; 0: healthy */
  double growth_a_year;
  double at_days[LOGS_MOST];
  uint64_t drive_seed[LOGS_MOST];
} vehicle;

/* --- what is made
 * ----------------------------------------------------------------------------
 */

/* Uneven steps, the shortest a quarter of the longest. */
static void draw_days(plag_test_random *random, size_t logs, double *at_days) {
  double sum = 0;
  for (size_t i = 0; i < logs; i++) {
    at_days[i] = sum;
    sum += plag_test_random_uniform(random, 0.4, 1.6);
  }
  const double scale = SPAN_DAYS / at_days[logs - 1];
  for (size_t i = 0; i < logs; i++)
    at_days[i] *= scale;
}

static const char *choose(plag_test_random *random, const char *one, const char *other,
                          double share_of_one) {
  return plag_test_random_uniform(random, 0, 1) < share_of_one ? one : other;
}

static vehicle draw_vehicle(const made_fleet_plan *plan, size_t number) {
  plag_test_random random = {plan->seed + 7919 * number};
  const bool grows = number < plan->growing;
  const bool healthy = !grows && number % 2 == 0;
  vehicle v = {.growth_a_year = grows ? plan->growth_a_year : 0};
  (void)snprintf(v.name, sizeof v.name, "%s-%05zu", grows ? "grows" : "steady", number);
  v.order = (platelag_practice_order){
      .setting = "second",
      .fault = healthy ? "none" : "sticking",
      .seed = plag_test_random_bits(&random),
      .minutes = plan->minutes,
      .drive = choose(&random, "motor", "vacuum", 0.4),
      .command = plan->command,
      .friction = choose(&random, "karnopp", "lugre", 0.35),
      .channels = choose(&random, "usual", "few", 0.5),
  };
  const char *command = choose(&random, "duty", "desired_and_duty", 0.7);
  if (plan->command == NULL)
    v.order.command = command;
  v.band_pct = healthy ? 0 : plag_test_random_uniform(&random, 10, 20);
  draw_days(&random, plan->logs, v.at_days);
  for (size_t i = 0; i < plan->logs; i++)
    v.drive_seed[i] = plag_test_random_bits(&random) | 1;
  return v;
}

/* The band that a truth would tell, in its six digits, without driving the vehicle. */
static double band_of_severity(const platelag_practice_order *order, double severity) {
  plag_valve_parts parts;
  plag_fault_list faults;
  double leave_pct = 0;
  double rest_pct = 0;
  double band_pct = NAN;
  char digits[PLAG_NUMBER_TEXT_BYTES];
  plag_vehicle_draw(SETTING, order->seed, 0,
                    strcmp(order->drive, "motor") == 0 ? PLAG_DRIVE_MOTOR : PLAG_DRIVE_VACUUM,
                    strcmp(order->friction, "karnopp") == 0 ? PLAG_FRICTION_KARNOPP
                                                            : PLAG_FRICTION_LUGRE,
                    &parts);
  assert_int_equal(plag_fault_find(order->fault, &faults, NULL), PLATELAG_OK);
  plag_fault_apply(&faults, SETTING, severity, 60 * order->minutes, true, order->seed, &parts);
  plag_plant_friction_pct(&parts.plant, &leave_pct, &rest_pct);
  assert_true(
      plag_number_read_all(plag_number_format_json(leave_pct + rest_pct, 6, digits), &band_pct));
  return band_pct;
}

/* The same seed is the same vehicle, whose band grows nearly evenly with the
 * severity: secants. */
static double severity_of_band(const vehicle *v, double band_pct) {
  enum { STEPS_MOST = 8 };
  double before = 0.1;
  double severity = 0.9;
  double miss_before = band_of_severity(&v->order, before) - band_pct;
  for (int step = 0; step < STEPS_MOST; step++) {
    const double miss = band_of_severity(&v->order, severity) - band_pct;
    if (fabs(miss) < 0.003)
      break;
    const double next = severity - miss * (severity - before) / (miss - miss_before);
    before = severity;
    miss_before = miss;
    severity = fmin(fmax(next, 0.01), 1);
  }
  return severity;
}

static void path_of(const char *folder, const vehicle *v, size_t log, char *out) {
  (void)snprintf(out, PATH_BYTES, "%.180s/%s-%zu.csv", folder, v->name, log);
}

static bool write_text(const char *path, const plag_text *text) {
  FILE *file = fopen(path, "wb");
  const bool written = file != NULL && fwrite(text->bytes, 1, text->length, file) == text->length;
  return (file == NULL || fclose(file) == 0) && written;
}

/* Makes a log and holds its true band against the one that was wanted. */
static bool make_log(const char *folder, const vehicle *v, size_t log) {
  char path[PATH_BYTES];
  made_capture made = {0};
  platelag_practice_order order = v->order;
  const double wanted_pct = v->band_pct * (1 + v->growth_a_year * v->at_days[log] / 365.25);
  order.drive_seed = v->drive_seed[log];
  if (wanted_pct > 0)
    order.severity = severity_of_band(v, wanted_pct);
  path_of(folder, v, log, path);
  const bool made_it = made_capture_make(&made, &order) && write_text(path, &made.capture);
  const double band_pct = made_it ? made_capture_truth(&made, "friction", "stick_band_pct") : NAN;
  made_capture_clear(&made);
  if (made_it && (wanted_pct == 0 || fabs(band_pct - wanted_pct) < 0.01))
    return true;
  (void)fprintf(stderr, "%s log %zu: a stick band of %.3f %%, wanted %.3f\n", v->name, log,
                band_pct, wanted_pct);
  return false;
}

/* --- one batch
 * -------------------------------------------------------------------------------
 */

static void make_captures(const char *folder, const made_fleet_plan *plan, const vehicle *v,
                          size_t count) {
  pid_t child[WORKERS];
  for (size_t worker = 0; worker < WORKERS; worker++) {
    child[worker] = fork();
    assert_true(child[worker] >= 0);
    bool right = true;
    for (size_t i = worker; child[worker] == 0 && i < count * plan->logs && right; i += WORKERS)
      right = make_log(folder, &v[i / plan->logs], i % plan->logs);
    if (child[worker] == 0)
      _exit(right ? 0 : 1);
  }
  for (size_t worker = 0; worker < WORKERS; worker++) {
    int status = 0;
    assert_int_equal(waitpid(child[worker], &status, 0), child[worker]);
    assert_int_equal(status, 0);
  }
}

static void write_manifest(const char *path, const made_fleet_plan *plan, const vehicle *v,
                           size_t count) {
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  (void)fprintf(file, "file,vehicle,engine,date\n");
  for (size_t i = 0; i < count; i++)
    for (size_t log = 0; log < plan->logs; log++) {
      char day[PLAG_CALENDAR_BYTES];
      const int64_t at_unix_s = FIRST_DAY_UNIX_S + (int64_t)(v[i].at_days[log]) * PLAG_DAY_SECONDS;
      (void)fprintf(file, "%s-%zu.csv,%s,%s %s,%s\n", v[i].name, log, v[i].name, v[i].order.drive,
                    v[i].order.command, plag_date_format(at_unix_s, day));
    }
  assert_int_equal(fclose(file), 0);
}

static void judge_batch(platelag_fleet_store *store, const char *folder, const char *manifest,
                        size_t captures) {
  platelag_error error = {0};
  platelag_fleet_counts counts;
  const platelag_fleet_work work = {
      .path = &folder, .path_count = 1, .manifest = manifest, .jobs = WORKERS};
  if (platelag_fleet_run(store, &work, &counts, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(counts.judged, captures);
}

static void run_batch(const made_fleet_plan *plan, platelag_fleet_store *store, const char *folder,
                      const vehicle *v, size_t count) {
  char captures[PATH_BYTES], manifest[PATH_BYTES + 16], path[PATH_BYTES];
  (void)snprintf(captures, sizeof captures, "%s/captures", folder);
  (void)snprintf(manifest, sizeof manifest, "%s/manifest.csv", folder);
  assert_int_equal(mkdir(captures, 0700), 0);
  make_captures(captures, plan, v, count);
  write_manifest(manifest, plan, v, count);
  judge_batch(store, captures, manifest, count * plan->logs);
  for (size_t i = 0; i < count * plan->logs; i++) {
    path_of(captures, &v[i / plan->logs], i % plan->logs, path);
    assert_int_equal(unlink(path), 0);
  }
  assert_int_equal(unlink(manifest), 0);
  assert_int_equal(rmdir(captures), 0);
}

void made_fleet_judge(const made_fleet_plan *plan, platelag_fleet_store *store) {
  char folder[] = "/tmp/platelag-growing-XXXXXX";
  vehicle v[BATCH];
  assert_true(plan->logs >= 2 && plan->logs <= LOGS_MOST);
  assert_non_null(mkdtemp(folder));
  for (size_t from = 0; from < plan->growing + plan->steady; from += BATCH) {
    size_t count = 0;
    for (; count < BATCH && from + count < plan->growing + plan->steady; count++)
      v[count] = draw_vehicle(plan, from + count);
    run_batch(plan, store, folder, v, count);
  }
  assert_int_equal(rmdir(folder), 0);
}

/* --- what comes of it
 * ------------------------------------------------------------------------ */

bool made_fleet_grows(const platelag_fleet_valve *valve) {
  return strncmp(valve->vehicle, "grows", 5) == 0;
}

made_fleet_score made_fleet_score_of(const platelag_fleet *fleet) {
  made_fleet_score score = {0};
  for (size_t i = 0; i < fleet->valve_count; i++) {
    const platelag_fleet_valve *valve = &fleet->valve[i];
    const bool told = valve->q <= 0.05;
    if (made_fleet_grows(valve)) {
      score.growing++;
      score.found += told;
    } else {
      score.steady++;
      score.false_told += told;
    }
  }
  return score;
}
