/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vehicles whose stick band grows by 30 % a year among many that stay as they
 * are, eight logs each within a year, judged and followed by the whole road:
 * how many are found, and how many that stay are told to grow.
 *
 *   bench_trends [--growing N] [--steady N] [--logs N] [--minutes M] [--seed N]
 * [--store FILE]
 *
 * --store   keeps the judged fleet in FILE, or takes it from there, so that a
 * change of the method is measured without judging again
 *
 * Fleets without any change are made of the steady vehicles by dealing each
 * one's logs anew to its dates: real figures with real intervals, and nothing
 * grows. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "fleet/book.h"
#include "fleet/false_discovery.h"
#include "platelag/platelag.h"
#include "support/made_fleet.h"
#include "support/made_random.h"

enum { NULL_FLEETS = 20, NULL_VEHICLES = 200, MIXED_FLEETS = 20 };

typedef struct arguments {
  made_fleet_plan plan;
  const char *store;
} arguments;

static arguments read_arguments(int count, char **text) {
  arguments given = {.plan = {.seed = 52817,
                              .growing = 100,
                              .growth_a_year = 0.3,
                              .steady = 400,
                              .logs = 8,
                              .minutes = 10,
                              .command = "duty"}};
  for (int i = 1; i + 1 < count; i += 2) {
    const char *value = text[i + 1];
    if (strcmp(text[i], "--growing") == 0)
      given.plan.growing = strtoul(value, NULL, 10);
    else if (strcmp(text[i], "--steady") == 0)
      given.plan.steady = strtoul(value, NULL, 10);
    else if (strcmp(text[i], "--logs") == 0)
      given.plan.logs = strtoul(value, NULL, 10);
    else if (strcmp(text[i], "--minutes") == 0)
      given.plan.minutes = strtod(value, NULL);
    else if (strcmp(text[i], "--seed") == 0)
      given.plan.seed = strtoull(value, NULL, 10);
    else if (strcmp(text[i], "--command") == 0)
      given.plan.command = strcmp(value, "mixed") == 0 ? NULL : value;
    else if (strcmp(text[i], "--store") == 0)
      given.store = value;
  }
  return given;
}

static platelag_fleet *judged_fleet(const arguments *given, platelag_fleet_store **store) {
  char own[] = "/tmp/platelag-trends-XXXXXX";
  const char *name = given->store;
  platelag_error error = {0};
  platelag_fleet *fleet = NULL;
  if (name == NULL) {
    const int file = mkstemp(own);
    assert_true(file >= 0);
    (void)close(file);
    name = own;
  }
  const bool there = given->store != NULL && access(name, F_OK) == 0;
  if (platelag_fleet_store_open(name, true, store, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  if (given->store == NULL)
    (void)unlink(own); /* open as long as it is wanted */
  if (!there)
    made_fleet_judge(&given->plan, *store);
  if (platelag_fleet_build(*store, NULL, &fleet, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return fleet;
}

/* --- what is found
 * ---------------------------------------------------------------------------
 */

static void tell_found(const platelag_fleet *fleet) {
  const made_fleet_score score = made_fleet_score_of(fleet);
  size_t of_figure[2][PLATELAG_FLEET_FIGURES] = {{0}};
  printf("%zu growing, %zu found: %.1f %% (wanted 80); %zu steady, %zu told: "
         "%.1f %% of those told "
         "are false (wanted 5)\n",
         score.growing, score.found, 100.0 * (double)score.found / (double)score.growing,
         score.steady, score.false_told,
         100.0 * (double)score.false_told / fmax(1, (double)(score.found + score.false_told)));
  for (size_t i = 0; i < fleet->valve_count; i++)
    if (fleet->valve[i].q <= PLAG_FALSE_DISCOVERY_SHARE)
      of_figure[!made_fleet_grows(&fleet->valve[i])][fleet->valve[i].worst]++;
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++)
    printf("  told by the %s: %zu, and %zu that are steady\n", platelag_fleet_figure_at(i)->name,
           of_figure[0][i], of_figure[1][i]);
}

/* The engine's name begins with the actuator's. */
static void tell_actuators(const platelag_fleet *fleet) {
  static const char *const drives[] = {"motor", "vacuum"};
  for (size_t drive = 0; drive < sizeof drives / sizeof *drives; drive++) {
    size_t growing = 0;
    size_t found = 0;
    for (size_t i = 0; i < fleet->valve_count; i++) {
      const platelag_fleet_valve *valve = &fleet->valve[i];
      if (!made_fleet_grows(valve) ||
          strncmp(valve->engine, drives[drive], strlen(drives[drive])) != 0)
        continue;
      growing++;
      found += valve->q <= PLAG_FALSE_DISCOVERY_SHARE;
    }
    printf("  moved by %s: %zu of %zu, %.1f %%\n", drives[drive], found, growing,
           100.0 * (double)found / fmax(1, (double)growing));
  }
}

/* What each figure alone would tell. */
static void tell_figures(const platelag_fleet *fleet) {
  static const double levels[] = {0.05, 0.01, 0.003, 0.001};
  printf("share of the growing (steady) whose p is below 0.05, 0.01, 0.003, "
         "0.001\n");
  for (size_t figure = 0; figure < PLATELAG_FLEET_FIGURES; figure++) {
    printf("  %-24s", platelag_fleet_figure_at(figure)->name);
    for (size_t level = 0; level < sizeof levels / sizeof *levels; level++) {
      double below[2] = {0, 0};
      double all[2] = {0, 0};
      for (size_t i = 0; i < fleet->valve_count; i++) {
        const int steady = made_fleet_grows(&fleet->valve[i]) ? 0 : 1;
        all[steady]++;
        below[steady] += fleet->valve[i].trend[figure].p <= levels[level];
      }
      printf("  %5.1f (%.1f)", 100 * below[0] / fmax(1, all[0]), 100 * below[1] / fmax(1, all[1]));
    }
    printf("\n");
  }
}

/* --- fleets without change
 * ------------------------------------------------------------------- */

typedef struct steady_valves {
  platelag_fleet_logs **logs;
  size_t count;
} steady_valves;

static steady_valves find_steady(const platelag_fleet *fleet) {
  steady_valves steady = {calloc(fleet->valve_count + 1, sizeof *steady.logs), 0};
  assert_non_null(steady.logs);
  for (size_t i = 0; i < fleet->valve_count; i++)
    if (!made_fleet_grows(&fleet->valve[i]))
      assert_int_equal(platelag_fleet_logs_build(fleet, i, &steady.logs[steady.count++], NULL),
                       PLATELAG_OK);
  return steady;
}

/* The p of a valve whose logs are dealt anew to its dates. */
static double p_of_dealt(plag_fleet_book *book, const platelag_fleet_logs *logs,
                         plag_test_random *random) {
  platelag_fleet_log dealt[64];
  platelag_fleet_valve filled;
  plag_page page = {.valve = &filled};
  assert_true(logs->count <= 64);
  memcpy(dealt, logs->log, logs->count * sizeof *dealt);
  for (size_t i = logs->count; i > 1; i--) {
    const size_t other = (size_t)(plag_test_random_bits(random) % i);
    const platelag_fleet_log kept = dealt[i - 1];
    dealt[i - 1] = dealt[other];
    dealt[other] = kept;
  }
  for (size_t i = 0; i < logs->count; i++)
    dealt[i].at_unix_s = logs->log[i].at_unix_s;
  const plag_valve_logs valve = {
      .vehicle = "", .valve = "", .engine = "", .log = dealt, .count = logs->count};
  assert_int_equal(plag_page_fill(book, &valve, &page, NULL), PLATELAG_OK);
  return filled.p;
}

static size_t count_told(double *p, size_t count, size_t *order) {
  size_t told = 0;
  plag_false_discovery(p, count, order);
  for (size_t i = 0; i < count; i++)
    told += p[i] <= PLAG_FALSE_DISCOVERY_SHARE;
  return told;
}

static plag_fleet_book *empty_book(void) {
  plag_fleet_book *book = calloc(1, sizeof *book);
  assert_non_null(book);
  return book;
}

static void clear_book(plag_fleet_book *book) {
  free(book->scratch);
  free(book->point);
  plag_arena_clear(&book->arena);
  free(book);
}

static void tell_null_fleets(const steady_valves *steady, uint64_t seed) {
  static double p[NULL_VEHICLES];
  static size_t order[NULL_VEHICLES];
  plag_test_random random = {seed};
  plag_fleet_book *book = empty_book();
  size_t alarmed = 0, told = 0, below = 0, known = 0;
  for (int fleet = 0; fleet < NULL_FLEETS && steady->count > 0; fleet++) {
    for (size_t i = 0; i < NULL_VEHICLES; i++) {
      const size_t which = (size_t)(plag_test_random_bits(&random) % steady->count);
      p[i] = p_of_dealt(book, steady->logs[which], &random);
      known += isnan(p[i]) ? 0 : 1;
      below += p[i] <= 0.05;
    }
    const size_t here = count_told(p, NULL_VEHICLES, order);
    told += here;
    alarmed += here > 0;
  }
  printf("%d fleets of %d without change: something told in %.1f %% of them "
         "(wanted at most 5), %.2f "
         "vehicles a fleet; p of 0.05 or less in %.2f %% of vehicles\n",
         NULL_FLEETS, NULL_VEHICLES, 100.0 * (double)alarmed / NULL_FLEETS,
         (double)told / NULL_FLEETS, 100.0 * (double)below / fmax(1, (double)known));
  clear_book(book);
}

/* The growing ones as they are, the steady ones dealt anew. */
static void tell_mixed_fleets(const platelag_fleet *fleet, const steady_valves *steady,
                              uint64_t seed) {
  const size_t count = fleet->valve_count;
  double *p = calloc(count + 1, sizeof *p);
  size_t *order = calloc(count + 1, sizeof *order);
  plag_test_random random = {seed};
  plag_fleet_book *book = empty_book();
  double false_share = 0, found = 0;
  assert_true(p != NULL && order != NULL);
  const size_t growing = count - steady->count;
  for (int round = 0; round < MIXED_FLEETS; round++) {
    size_t at = 0, told_growing = 0, told_steady = 0;
    for (size_t i = 0; i < count; i++)
      if (made_fleet_grows(&fleet->valve[i]))
        p[at++] = fleet->valve[i].p;
    for (size_t i = 0; i < steady->count; i++)
      p[at++] = p_of_dealt(book, steady->logs[i], &random);
    (void)count_told(p, count, order);
    for (size_t i = 0; i < count; i++)
      *(i < growing ? &told_growing : &told_steady) += p[i] <= PLAG_FALSE_DISCOVERY_SHARE;
    found += (double)told_growing / fmax(1, (double)growing) / MIXED_FLEETS;
    false_share +=
        (double)told_steady / fmax(1, (double)(told_growing + told_steady)) / MIXED_FLEETS;
  }
  printf("%d such fleets with the steady ones dealt anew: %.1f %% of the "
         "growing found, %.2f %% of "
         "those told are false (wanted at most 5)\n",
         MIXED_FLEETS, 100 * found, 100 * false_share);
  clear_book(book);
  free(p);
  free(order);
}

int main(int count, char **text) {
  const arguments given = read_arguments(count, text);
  platelag_fleet_store *store = NULL;
  (void)setvbuf(stdout, NULL, _IOLBF, 0);
  platelag_library_start();
  printf("%zu logs of %.0f minutes each, seed %llu\n", given.plan.logs, given.plan.minutes,
         (unsigned long long)given.plan.seed);
  platelag_fleet *fleet = judged_fleet(&given, &store);
  tell_found(fleet);
  tell_actuators(fleet);
  tell_figures(fleet);
  const steady_valves steady = find_steady(fleet);
  tell_mixed_fleets(fleet, &steady, given.plan.seed + 1);
  tell_null_fleets(&steady, given.plan.seed + 2);
  for (size_t i = 0; i < steady.count; i++)
    platelag_fleet_logs_destroy(steady.logs[i]);
  free((void *)steady.logs);
  platelag_fleet_destroy(fleet);
  platelag_fleet_store_close(store);
  return 0;
}
