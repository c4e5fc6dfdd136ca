/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fleet/calendar.h"
#include "fleet/conditions.h"
#include "fleet/digest.h"
#include "fleet/known_words.h"
#include "support/check.h"

void plag_test_store_open(plag_test_store *made) {
  char path[PLAG_TEST_PATH_BYTES];
  platelag_error error = {0};
  *made = (plag_test_store){0};
  (void)plag_test_scratch_path(&made->scratch, "fleet.db", path);
  if (platelag_fleet_store_open(path, true, &made->store, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
}

void plag_test_store_close(plag_test_store *made) {
  platelag_fleet_store_close(made->store);
  plag_test_scratch_clear(&made->scratch);
}

static const char * or (const char *given, const char *other) {
  return given != NULL ? given : other;
}

static platelag_estimate figure_of(double value, double half) {
  if (value == 0)
    return (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value - half, value + half};
}

static size_t figure_index(const char *key) {
  size_t index = 0;
  while (strcmp(platelag_fleet_figure_at(index)->key, key) != 0)
    index++;
  return index;
}

static void judge(const plag_test_log *log, plag_judged *out) {
  *out = (plag_judged){.run_label = or (log->label, ""),
                       .valve = or (log->valve, "valve"),
                       .finding = plag_finding_of(or (log->finding, "free")),
                       .finding_probability = log->probability > 0 ? log->probability : 0.9,
                       .next_test = "Sweep it by hand."};
  const bool sound = out->finding == PLATELAG_FINDING_FREE;
  out->family = plag_family_of(or (log->family, sound ? "free" : "undecided"));
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    out->probability[i] = (1 - out->finding_probability) / 3;
  if (out->family < PLATELAG_FAMILY_COUNT)
    out->probability[out->family] = out->finding_probability;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    out->figure[i] = figure_of(0, 0);
  out->figure[figure_index("stick_band_pct")] = figure_of(log->stick_band_pct, 0.4);
  out->figure[figure_index("closing_t63_s")] = figure_of(log->closing_t63_s, 0.05);
  out->figure[figure_index("span_v")] = figure_of(log->span_v, 0.03);
}

static void put(plag_test_store *made, const plag_test_log *log) {
  char path[64];
  char sentence[128];
  (void)snprintf(path, sizeof path, "made/%03zu.csv", made->put++);
  plag_result *result = plag_result_create(or (log->path, path));
  assert_non_null(result);
  const char *content = or (log->content, result->path);
  const char *condition = or (log->condition, "road");
  plag_digest_text(content, strlen(content), result->key);
  result->settings = "made";
  result->place = (plag_place){.vehicle = or (log->vehicle, ""), .engine = or (log->engine, "")};
  result->place.dated = log->date != NULL;
  if (log->date != NULL)
    assert_true(plag_date_read(log->date, strlen(log->date), &result->place.at_unix_s));
  assert_true(plag_condition_read(condition, strlen(condition), &result->place.condition));
  result->bytes = 4711;
  result->judged = plag_arena_take_array(&result->arena, 1, sizeof *result->judged);
  assert_non_null(result->judged);
  judge(log, result->judged);
  (void)snprintf(sentence, sizeof sentence, "It is %s.",
                 platelag_finding_name(result->judged->finding));
  result->judged->sentence = sentence;
  result->judged_count = 1;
  assert_int_equal(plag_store_put(made->store, result, NULL), PLATELAG_OK);
  plag_result_destroy(result);
}

void plag_test_store_put(plag_test_store *made, const plag_test_log *log, size_t count) {
  for (size_t i = 0; i < count; i++)
    put(made, &log[i]);
  assert_int_equal(plag_store_commit(made->store, NULL), PLATELAG_OK);
}

void plag_test_store_repair(plag_test_store *made, const char *lines) {
  char path[PLAG_TEST_PATH_BYTES];
  plag_text text = {0};
  plag_manifest manifest = {0};
  platelag_error error = {0};
  plag_text_add_format(&text, "date,vehicle,valve,repair\n%s", lines);
  plag_test_scratch_write(&made->scratch, "repairs.csv", text.bytes, 0);
  (void)plag_test_scratch_path(&made->scratch, "repairs.csv", path);
  if (plag_manifest_read(path, &manifest, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(plag_store_put_repairs(made->store, &manifest, NULL), PLATELAG_OK);
  plag_manifest_clear(&manifest);
  plag_text_clear(&text);
}

static platelag_status take_whole(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)error;
  assert_true(count > 0);
  *(int64_t *)context = plag_value_whole(&cell[0]);
  return PLATELAG_OK;
}

int64_t plag_test_store_count(plag_test_store *made, const char *sql) {
  int64_t count = -1;
  platelag_error error = {0};
  if (plag_database_run(plag_store_database(made->store), sql, NULL, 0, take_whole, &count,
                        &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  return count;
}

int plag_test_store_set_up(void **state) {
  plag_test_store_open(*state);
  return 0;
}

int plag_test_store_clear(void **state) {
  plag_test_store_close(*state);
  return 0;
}
