/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/logs.h"

#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/calendar.h"
#include "core/error.h"
#include "fleet/conditions.h"
#include "fleet/known_words.h"

/* A content that was found under several paths counts once, under the first of them that says whose
 * it is. */
#define LOG_ROWS(WHICH)                                                                            \
  "SELECT CASE WHEN seen.vehicle <> '' THEN seen.vehicle "                                         \
  "WHEN judged.run_label <> '' THEN judged.run_label ELSE seen.path END AS whose, "                \
  "CASE WHEN seen.vehicle <> '' THEN 0 WHEN judged.run_label <> '' THEN 1 ELSE 2 END AS named, "   \
  "judged.valve AS valve, seen.path AS path, judged.key AS key, judged.run AS run, "               \
  "seen.engine AS engine, COALESCE(seen.at_unix_s, capture.started_unix_s) AS at_unix_s, "         \
  "COALESCE(seen.at_unix_s, capture.started_unix_s, -1) AS at_order, "                             \
  "seen.condition AS condition, judged.finding AS finding, judged.family AS family, "              \
  "judged.finding_probability AS finding_probability, judged.free AS free, "                       \
  "judged.mechanical AS mechanical, judged.sensor_circuit AS sensor_circuit, "                     \
  "judged.drive AS drive, judged.sentence AS sentence, judged.next_test AS next_test, "            \
  "capture.program AS program, figure.figure AS figure, figure.known AS known, "                   \
  "figure.value AS value, figure.low AS low, figure.high AS high, "                                \
  "CASE WHEN seen.condition = 'after' THEN 1 ELSE 0 END AS after_order "                           \
  "FROM seen JOIN capture ON capture.key = seen.key JOIN judged ON judged.key = seen.key "         \
  "LEFT JOIN figure ON figure.key = judged.key AND figure.run = judged.run "                       \
  "AND figure.valve = judged.valve "                                                               \
  "WHERE " WHICH " AND NOT EXISTS (SELECT 1 FROM seen AS other WHERE other.key = seen.key "        \
  "AND ((other.vehicle <> '' AND seen.vehicle = '') "                                              \
  "OR ((other.vehicle = '') = (seen.vehicle = '') AND other.path < seen.path @C)))"
/* Of one day, or of no known one, what was taken after a repair comes last. */
#define IN_ORDER(ROWS)                                                                             \
  "SELECT * FROM (" ROWS ") AS log ORDER BY whose @C, valve @C, at_order, after_order, path @C, "  \
  "run"

enum {
  CELL_WHOSE,
  CELL_NAMED,
  CELL_VALVE,
  CELL_PATH,
  CELL_KEY,
  CELL_RUN,
  CELL_ENGINE,
  CELL_AT,
  CELL_ORDER,
  CELL_CONDITION,
  CELL_FINDING,
  CELL_FAMILY,
  CELL_PROBABILITY,
  CELL_FREE,
  CELL_MECHANICAL,
  CELL_SENSOR,
  CELL_DRIVE,
  CELL_SENTENCE,
  CELL_NEXT,
  CELL_PROGRAM,
  CELL_FIGURE,
  CELL_KNOWN,
  CELL_VALUE,
  CELL_LOW,
  CELL_HIGH
};

/* --- repairs --------------------------------------------------------------------------------- */

static platelag_status take_repair(void *context, const plag_value *cell, size_t count,
                                   platelag_error *error) {
  plag_repairs *repairs = context;
  (void)count;
  if (!plag_array_reserve((void **)&repairs->row, &repairs->capacity, repairs->count + 1,
                          sizeof *repairs->row))
    return plag_error_memory(error, "the repairs");
  plag_repair_row *row = &repairs->row[repairs->count++];
  *row =
      (plag_repair_row){.vehicle = plag_arena_copy_text(&repairs->arena, plag_value_text(&cell[0])),
                        .valve = plag_arena_copy_text(&repairs->arena, plag_value_text(&cell[1])),
                        .at_unix_s = plag_value_whole(&cell[2]),
                        .what = plag_arena_copy_text(&repairs->arena, plag_value_text(&cell[3]))};
  return row->vehicle != NULL && row->valve != NULL && row->what != NULL
             ? PLATELAG_OK
             : plag_error_memory(error, "the repairs");
}

platelag_status plag_repairs_read(platelag_fleet_store *store, plag_repairs *out,
                                  platelag_error *error) {
  static const char sql[] = "SELECT vehicle, valve, at_unix_s, what FROM repair ORDER BY vehicle "
                            "@C, at_unix_s, valve @C, what @C";
  *out = (plag_repairs){0};
  return plag_database_run(plag_store_database(store), sql, NULL, 0, take_repair, out, error);
}

void plag_repairs_clear(plag_repairs *repairs) {
  free(repairs->row);
  plag_arena_clear(&repairs->arena);
  *repairs = (plag_repairs){0};
}

/* --- one valve ------------------------------------------------------------------------------- */

typedef struct visit {
  const plag_repairs *repairs;
  plag_take_valve *take;
  void *context;
  plag_arena arena; /* texts of the valve that is being gathered */
  plag_valve_logs valve;
  size_t capacity;
  bool begun;
} visit;

static const plag_repair_row *next_repair(visit *v, size_t *at) {
  for (; *at < v->repairs->count; ++*at) {
    const plag_repair_row *row = &v->repairs->row[*at];
    const int order = strcmp(row->vehicle, v->valve.vehicle);
    if (order > 0)
      return NULL;
    if (order == 0 && (row->valve[0] == '\0' || strcmp(row->valve, v->valve.valve) == 0))
      return row;
  }
  return NULL;
}

/* A repair that is told by its day alone came after that day's logs, which led to it, but for those
 * that say they were taken after it. */
static bool is_before(const plag_repair_row *repair, const platelag_fleet_log *log) {
  const bool by_day = repair->at_unix_s % PLAG_DAY_SECONDS == 0;
  const bool next_day = by_day && log->condition != PLATELAG_CONDITION_AFTER;
  return repair->at_unix_s + (next_day ? PLAG_DAY_SECONDS : 0) <= log->at_unix_s;
}

/* Walks the repairs up to a log. True: there was one since the log before. */
static bool pass_repairs(visit *v, const platelag_fleet_log *log, size_t *at) {
  bool passed = false;
  const plag_repair_row *repair = NULL;
  while (log->dated && (repair = next_repair(v, at)) != NULL && is_before(repair, log)) {
    v->valve.last_repair = repair;
    passed = true;
    ++*at;
  }
  return passed;
}

/* A repair between two logs begins a new series. So does a log that says it was taken after one,
 * unless it is the first to say so since a repair that the manifest tells: then it is that one. */
static void part_into_series(visit *v) {
  size_t at = 0;
  int series = 0;
  bool is_told = false; /* the series began with a repair of the manifest, and none said "after" */
  v->valve.last_repair = NULL;
  v->valve.repair_since = NULL;
  for (size_t i = 0; i < v->valve.count; i++) {
    platelag_fleet_log *log = &v->valve.log[i];
    const bool says_after = log->condition == PLATELAG_CONDITION_AFTER &&
                            (i == 0 || log[-1].condition != PLATELAG_CONDITION_AFTER);
    const bool repaired = pass_repairs(v, log, &at);
    is_told = is_told || repaired;
    if (says_after && !is_told)
      v->valve.last_repair = NULL; /* another repair, of which nothing else is known */
    if (i > 0 && (repaired || (says_after && !is_told)))
      series++;
    is_told = is_told && !says_after;
    log->series = series;
  }
  const plag_repair_row *repair = NULL;
  while (v->valve.log[v->valve.count - 1].dated && (repair = next_repair(v, &at)) != NULL) {
    v->valve.repair_since = repair;
    at++;
  }
}

static platelag_status finish_valve(visit *v, platelag_error *error) {
  if (!v->begun)
    return PLATELAG_OK;
  part_into_series(v);
  const platelag_status status = v->take(v->context, &v->valve, error);
  plag_arena_clear(&v->arena);
  v->valve.count = 0;
  v->begun = false;
  return status;
}

static const char *keep(visit *v, const plag_value *cell) {
  return plag_arena_copy_text(&v->arena, plag_value_text(cell));
}

static platelag_status begin_valve(visit *v, const plag_value *cell, platelag_error *error) {
  const platelag_status status = finish_valve(v, error);
  if (status != PLATELAG_OK)
    return status;
  v->begun = true;
  v->valve.vehicle = keep(v, &cell[CELL_WHOSE]);
  v->valve.valve = keep(v, &cell[CELL_VALVE]);
  v->valve.engine = "";
  v->valve.named_by = (plag_named_by)plag_value_whole(&cell[CELL_NAMED]);
  return v->valve.vehicle != NULL && v->valve.valve != NULL
             ? PLATELAG_OK
             : plag_error_memory(error, "a valve's logs");
}

static platelag_status begin_log(visit *v, const plag_value *cell, platelag_error *error) {
  const char *condition = plag_value_text(&cell[CELL_CONDITION]);
  if (!plag_array_reserve((void **)&v->valve.log, &v->capacity, v->valve.count + 1,
                          sizeof *v->valve.log))
    return plag_error_memory(error, "a valve's logs");
  platelag_fleet_log *log = &v->valve.log[v->valve.count++];
  *log = (platelag_fleet_log){
      .file = keep(v, &cell[CELL_PATH]),
      .key = keep(v, &cell[CELL_KEY]),
      .run = (int)plag_value_whole(&cell[CELL_RUN]),
      .dated = cell[CELL_AT].kind == PLAG_VALUE_WHOLE,
      .at_unix_s = plag_value_whole(&cell[CELL_AT]),
      .finding = plag_finding_of(plag_value_text(&cell[CELL_FINDING])),
      .family = plag_family_of(plag_value_text(&cell[CELL_FAMILY])),
      .finding_probability = plag_value_real(&cell[CELL_PROBABILITY]),
      .probability = {[PLATELAG_FAMILY_FREE] = plag_value_real(&cell[CELL_FREE]),
                      [PLATELAG_FAMILY_MECHANICAL] = plag_value_real(&cell[CELL_MECHANICAL]),
                      [PLATELAG_FAMILY_SENSOR_CIRCUIT] = plag_value_real(&cell[CELL_SENSOR]),
                      [PLATELAG_FAMILY_DRIVE] = plag_value_real(&cell[CELL_DRIVE])},
      .sentence = keep(v, &cell[CELL_SENTENCE]),
      .next_test = keep(v, &cell[CELL_NEXT]),
      .program = keep(v, &cell[CELL_PROGRAM])};
  (void)plag_condition_read(condition, strlen(condition), &log->condition);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    log->figure[i] = (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  if (plag_value_text(&cell[CELL_ENGINE])[0] != '\0')
    v->valve.engine = keep(v, &cell[CELL_ENGINE]);
  return log->file != NULL && log->key != NULL && log->sentence != NULL && log->next_test != NULL &&
                 log->program != NULL && v->valve.engine != NULL
             ? PLATELAG_OK
             : plag_error_memory(error, "a valve's logs");
}

/* A figure of a name that this program does not know is another version's. */
static void take_figure(platelag_fleet_log *log, const plag_value *cell) {
  const char *name = plag_value_text(&cell[CELL_FIGURE]);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    if (strcmp(name, platelag_fleet_figure_at(i)->key) == 0)
      log->figure[i] = (platelag_estimate){
          plag_known_of(plag_value_text(&cell[CELL_KNOWN])), plag_value_real(&cell[CELL_VALUE]),
          plag_value_real(&cell[CELL_LOW]), plag_value_real(&cell[CELL_HIGH])};
}

static bool is_log(const platelag_fleet_log *log, const plag_value *cell) {
  return strcmp(log->key, plag_value_text(&cell[CELL_KEY])) == 0 &&
         log->run == (int)plag_value_whole(&cell[CELL_RUN]);
}

/* A row is a figure; logs and valves begin where their names change. */
static platelag_status take_row(void *context, const plag_value *cell, size_t count,
                                platelag_error *error) {
  visit *v = context;
  platelag_status status = PLATELAG_OK;
  (void)count;
  if (!v->begun || strcmp(v->valve.vehicle, plag_value_text(&cell[CELL_WHOSE])) != 0 ||
      strcmp(v->valve.valve, plag_value_text(&cell[CELL_VALVE])) != 0)
    status = begin_valve(v, cell, error);
  if (status == PLATELAG_OK &&
      (v->valve.count == 0 || !is_log(&v->valve.log[v->valve.count - 1], cell)))
    status = begin_log(v, cell, error);
  if (status == PLATELAG_OK && cell[CELL_FIGURE].kind != PLAG_VALUE_NULL)
    take_figure(&v->valve.log[v->valve.count - 1], cell);
  return status;
}

/* One valve's, by what gave its vehicle the name, so that each part has an index to go by. */
#define BY_VEHICLE "seen.vehicle = $1 AND judged.valve = $2"
#define BY_LABEL   "seen.vehicle = '' AND judged.run_label = $1 AND judged.valve = $2"
#define BY_PATH                                                                                    \
  "seen.vehicle = '' AND judged.run_label = '' AND seen.path = $1 AND judged.valve = $2"
#define OF_ONE LOG_ROWS(BY_VEHICLE) " UNION ALL " LOG_ROWS(BY_LABEL) " UNION ALL " LOG_ROWS(BY_PATH)

platelag_status plag_logs_visit(platelag_fleet_store *store, const plag_repairs *repairs,
                                const plag_logs_wanted *wanted, plag_take_valve *take,
                                void *context, platelag_error *error) {
  static const char all[] = IN_ORDER(LOG_ROWS("1 = 1"));
  static const char of_one[] = IN_ORDER(OF_ONE);
  const bool one = wanted->vehicle != NULL;
  const plag_value asked[] = {plag_string(wanted->vehicle), plag_string(wanted->valve)};
  visit v = {.repairs = repairs, .take = take, .context = context};
  platelag_status status = plag_database_run(plag_store_database(store), one ? of_one : all, asked,
                                             one ? 2 : 0, take_row, &v, error);
  if (status == PLATELAG_OK)
    status = finish_valve(&v, error);
  free(v.valve.log);
  plag_arena_clear(&v.arena);
  return status;
}
