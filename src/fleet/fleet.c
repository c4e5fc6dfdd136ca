/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The fleet from its store: every valve's page filled, limits learned, trends followed, ranked. */
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "fleet/book.h"

/* --- gathering ------------------------------------------------------------------------------- */

static platelag_status make_room(plag_fleet_book *book, size_t valves, platelag_error *error) {
  return plag_array_reserve((void **)&book->page, &book->page_capacity, valves,
                            sizeof *book->page) &&
                 plag_array_reserve((void **)&book->valve, &book->valve_capacity, valves,
                                    sizeof *book->valve)
             ? PLATELAG_OK
             : plag_error_memory(error, "the vehicles");
}

static platelag_status take_valve(void *context, const plag_valve_logs *logs,
                                  platelag_error *error) {
  plag_fleet_book *book = context;
  const size_t at = book->page_count;
  const platelag_status room = make_room(book, at + 1, error);
  if (room != PLATELAG_OK)
    return room;
  plag_page *page = &book->page[at];
  platelag_fleet_valve *valve = &book->valve[at];
  page->valve = valve;
  book->page_count++;
  const platelag_status status = plag_page_fill(book, logs, page, error);
  platelag_fleet *fleet = &book->fleet;
  fleet->vehicles +=
      status == PLATELAG_OK && (at == 0 || strcmp(valve[-1].vehicle, valve->vehicle) != 0);
  for (size_t i = 0; i < logs->count; i++) {
    const platelag_fleet_log *log = &logs->log[i];
    fleet->nameless += logs->named_by == PLAG_NAMED_BY_NONE;
    fleet->undated += !log->dated;
    fleet->outdated += strcmp(log->program, PLATELAG_VERSION) != 0;
    if (log->dated && log->at_unix_s > fleet->latest_unix_s)
      fleet->latest_unix_s = log->at_unix_s;
  }
  return status;
}

static platelag_status take_trouble(void *context, const plag_value *cell, size_t count,
                                    platelag_error *error) {
  plag_fleet_book *book = context;
  (void)count;
  if (!plag_array_reserve((void **)&book->trouble, &book->trouble_capacity, book->trouble_count + 1,
                          sizeof *book->trouble))
    return plag_error_memory(error, "the troubles");
  platelag_fleet_trouble *trouble = &book->trouble[book->trouble_count++];
  *trouble = (platelag_fleet_trouble){
      .file = plag_arena_copy_text(&book->arena, plag_value_text(&cell[0])),
      .why = plag_arena_copy_text(&book->arena, plag_value_text(&cell[1])),
      .refused = plag_value_whole(&cell[2]) != 0};
  return trouble->file != NULL && trouble->why != NULL ? PLATELAG_OK
                                                       : plag_error_memory(error, "the troubles");
}

static platelag_status take_count(void *context, const plag_value *cell, size_t count,
                                  platelag_error *error) {
  (void)count;
  (void)error;
  *(size_t *)context = (size_t)plag_value_whole(&cell[0]);
  return PLATELAG_OK;
}

/* Room for all valves at once, nearly: a store's vehicles have names as a rule. Arrays of this size
 * leave holes behind as they grow. */
static platelag_status make_room_for_all(plag_fleet_book *book, platelag_error *error) {
  static const char named[] = "SELECT COUNT(*) FROM (SELECT DISTINCT seen.vehicle, judged.valve "
                              "FROM seen JOIN judged ON judged.key = seen.key) AS one";
  size_t valves = 0;
  const platelag_status status = plag_database_run(plag_store_database(book->store), named, NULL, 0,
                                                   take_count, &valves, error);
  return status == PLATELAG_OK ? make_room(book, valves, error) : status;
}

static platelag_status gather(plag_fleet_book *book, platelag_error *error) {
  static const char troubles[] =
      "SELECT * FROM (SELECT path, why, 0 AS refused FROM trouble UNION ALL SELECT seen.path, "
      "capture.why, 1 FROM seen JOIN capture ON capture.key = seen.key "
      "WHERE capture.state = 'refused') AS one ORDER BY path @C";
  static const char captures[] = "SELECT COUNT(*) FROM capture WHERE state = 'judged'";
  const plag_logs_wanted all = {0};
  platelag_status status = plag_repairs_read(book->store, &book->repairs, error);
  if (status == PLATELAG_OK)
    status = make_room_for_all(book, error);
  if (status == PLATELAG_OK)
    status = plag_logs_visit(book->store, &book->repairs, &all, take_valve, book, error);
  for (size_t i = 0; i < book->page_count; i++)
    book->page[i].valve = &book->valve[i]; /* they moved as they grew */
  if (status == PLATELAG_OK)
    status = plag_database_run(plag_store_database(book->store), troubles, NULL, 0, take_trouble,
                               book, error);
  if (status == PLATELAG_OK)
    status = plag_database_run(plag_store_database(book->store), captures, NULL, 0, take_count,
                               &book->fleet.captures, error);
  return status;
}

/* --- ranking --------------------------------------------------------------------------------- */

static int by_urgency(const void *one, const void *other) {
  const plag_page *a = one;
  const plag_page *b = other;
  if (a->valve->standing != b->valve->standing)
    return a->valve->standing < b->valve->standing ? -1 : 1;
  if (a->urgency != b->urgency)
    return a->urgency > b->urgency ? -1 : 1;
  const int vehicle = strcmp(a->valve->vehicle, b->valve->vehicle);
  return vehicle != 0 ? vehicle : strcmp(a->valve->valve, b->valve->valve);
}

/* Brings the valves into the order of their pages, each round of those that change places among
 * themselves by way of one that is taken aside. */
static void order_valves(plag_fleet_book *book) {
  for (size_t first = 0; first < book->page_count; first++) {
    const platelag_fleet_valve aside = book->valve[first];
    size_t to = first;
    for (size_t from = (size_t)(book->page[to].valve - book->valve); from != first;
         from = (size_t)(book->page[to].valve - book->valve)) {
      book->valve[to] = book->valve[from];
      book->page[to].valve = &book->valve[to];
      to = from;
    }
    book->valve[to] = aside;
    book->page[to].valve = &book->valve[to];
  }
}

static platelag_status rank(plag_fleet_book *book, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < book->page_count && status == PLATELAG_OK; i++) {
    plag_page_stand(&book->page[i]);
    status = plag_page_reason(book, &book->page[i], error);
  }
  if (status != PLATELAG_OK || book->page_count == 0)
    return status;
  qsort(book->page, book->page_count, sizeof *book->page, by_urgency);
  order_valves(book);
  for (size_t i = 0; i < book->page_count; i++)
    book->valve[i].rank = i + 1;
  return PLATELAG_OK;
}

static void publish(plag_fleet_book *book) {
  platelag_fleet *fleet = &book->fleet;
  fleet->valve_count = book->page_count;
  fleet->valve = book->valve;
  fleet->limit_count = book->limit_count;
  fleet->limit = book->limit;
  fleet->trouble_count = book->trouble_count;
  fleet->trouble = book->trouble;
  fleet->book = book;
  /* Only the trends needed these. */
  free(book->scratch);
  free(book->point);
  book->scratch = NULL;
  book->point = NULL;
}

platelag_status platelag_fleet_build(platelag_fleet_store *store, const platelag_spec *spec,
                                     platelag_fleet **out, platelag_error *error) {
  *out = NULL;
  plag_fleet_book *book = calloc(1, sizeof *book);
  platelag_spec *own = NULL;
  if (book == NULL)
    return plag_error_memory(error, "the fleet");
  book->store = store;
  book->limits_given = spec != NULL;
  platelag_status status = PLATELAG_OK;
  if (spec == NULL)
    status = platelag_spec_create(&own, error);
  book->own_spec = own;
  book->spec = spec != NULL ? spec : own;
  if (status == PLATELAG_OK)
    status = plag_database_ready(plag_store_database(store), false, error);
  if (status == PLATELAG_OK)
    status = gather(book, error);
  if (status == PLATELAG_OK)
    status = plag_book_learn_limits(book, error);
  if (status == PLATELAG_OK)
    status = plag_book_follow_trends(book, error);
  if (status == PLATELAG_OK)
    status = rank(book, error);
  publish(book);
  if (status == PLATELAG_OK)
    *out = &book->fleet;
  else
    platelag_fleet_destroy(&book->fleet);
  return status;
}

void platelag_fleet_destroy(platelag_fleet *fleet) {
  if (fleet == NULL)
    return;
  plag_fleet_book *book = fleet->book;
  plag_repairs_clear(&book->repairs);
  platelag_spec_destroy((platelag_spec *)book->own_spec);
  free(book->page);
  free(book->valve);
  free(book->limit);
  free(book->trouble);
  plag_arena_clear(&book->arena);
  free(book);
}

/* --- one valve's logs ------------------------------------------------------------------------ */

typedef struct plag_logs_kept {
  platelag_fleet_logs logs;
  platelag_fleet_log *log;
  plag_arena arena;
} plag_logs_kept;

static platelag_status keep_logs(void *context, const plag_valve_logs *from,
                                 platelag_error *error) {
  plag_logs_kept *kept = context;
  kept->log = plag_arena_take_array(&kept->arena, from->count + 1, sizeof *kept->log);
  bool whole = kept->log != NULL;
  for (size_t i = 0; i < from->count && whole; i++) {
    platelag_fleet_log *log = &kept->log[i];
    *log = from->log[i];
    log->file = plag_arena_copy_text(&kept->arena, log->file);
    log->key = plag_arena_copy_text(&kept->arena, log->key);
    log->sentence = plag_arena_copy_text(&kept->arena, log->sentence);
    log->next_test = plag_arena_copy_text(&kept->arena, log->next_test);
    log->program = plag_arena_copy_text(&kept->arena, log->program);
    whole = log->file != NULL && log->key != NULL && log->sentence != NULL &&
            log->next_test != NULL && log->program != NULL;
  }
  kept->logs.count = whole ? from->count : 0;
  kept->logs.log = kept->log;
  return whole ? PLATELAG_OK : plag_error_memory(error, "a valve's logs");
}

platelag_status platelag_fleet_logs_build(const platelag_fleet *fleet, size_t valve,
                                          platelag_fleet_logs **out, platelag_error *error) {
  *out = NULL;
  plag_logs_kept *kept = calloc(1, sizeof *kept);
  if (kept == NULL)
    return plag_error_memory(error, "a valve's logs");
  const plag_logs_wanted wanted = {fleet->valve[valve].vehicle, fleet->valve[valve].valve};
  const platelag_status status =
      plag_logs_visit(fleet->book->store, &fleet->book->repairs, &wanted, keep_logs, kept, error);
  if (status == PLATELAG_OK)
    *out = &kept->logs;
  else
    platelag_fleet_logs_destroy(&kept->logs);
  return status;
}

void platelag_fleet_logs_destroy(platelag_fleet_logs *logs) {
  if (logs == NULL)
    return;
  plag_logs_kept *kept = (plag_logs_kept *)logs; /* its first member */
  plag_arena_clear(&kept->arena);
  free(kept);
}
