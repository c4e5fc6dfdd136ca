/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the logs of a valve come to, before the fleet is looked at. */
#include <string.h>

#include "core/array.h"
#include "core/calendar.h"
#include "core/error.h"
#include "core/statistics.h"
#include "fleet/book.h"
#include "fleet/rank_test.h"

/* Logs that tell, faulty or sound, in which a finding is sought, counted back from the last (a
 * judgement). Those that cannot tell clear nobody, and do not count. */
enum { TELLING_LOGS = 5 };
/* Points that trends are found from: the latest ones. */
enum { POINTS_MOST = 400 };

/* Of the present series. After a repair since the last log it has none yet. */
static bool is_present(const plag_valve_logs *logs, const platelag_fleet_log *log) {
  return logs->repair_since == NULL && plag_log_on_road(log) &&
         log->series == logs->log[logs->count - 1].series;
}

static bool is_faulty(const platelag_fleet_log *log) {
  return log->finding != PLATELAG_FINDING_FREE && log->finding != PLATELAG_FINDING_UNDECIDED;
}

static bool agree(const platelag_fleet_log *one, const platelag_fleet_log *other) {
  return is_faulty(other) &&
         (one->finding == other->finding ||
          (one->family != PLATELAG_FAMILY_UNDECIDED && one->family == other->family));
}

/* The logs that tell, the last one first. */
typedef struct telling {
  const platelag_fleet_log *log[TELLING_LOGS];
  size_t count;
} telling;

static void gather_telling(const plag_valve_logs *logs, plag_page *page, telling *out) {
  for (size_t i = logs->count; i-- > 0 && out->count < TELLING_LOGS;) {
    const platelag_fleet_log *log = &logs->log[i];
    if (!is_present(logs, log))
      continue;
    page->recent++;
    if (log->finding != PLATELAG_FINDING_UNDECIDED)
      out->log[out->count++] = log;
    else
      page->unclear += page->recent <= PLAG_UNCLEAR_LOGS;
  }
}

static size_t count_agreeing(const telling *of, const platelag_fleet_log *fault) {
  size_t count = 0;
  for (size_t i = 0; i < of->count; i++)
    count += agree(fault, of->log[i]);
  return count;
}

/* The fault that most logs agree on; of several the latest. NULL: none. */
static const platelag_fleet_log *find_fault(const telling *of) {
  const platelag_fleet_log *fault = NULL;
  size_t most = 0;
  for (size_t i = 0; i < of->count; i++) {
    const size_t agreeing = is_faulty(of->log[i]) ? count_agreeing(of, of->log[i]) : 0;
    if (agreeing > most) {
      fault = of->log[i];
      most = agreeing;
    }
  }
  return fault;
}

static void take_fault(const telling *of, const platelag_fleet_log *fault, plag_page *page) {
  platelag_fleet_valve *valve = page->valve;
  double sum = 0;
  valve->finding = fault->finding;
  valve->family = fault->family;
  for (size_t i = 0; i < of->count; i++) {
    if (agree(fault, of->log[i])) {
      valve->agreeing++;
      sum += fault->family == PLATELAG_FAMILY_UNDECIDED ? of->log[i]->finding_probability
                                                        : of->log[i]->probability[fault->family];
    }
    page->sound_since += valve->agreeing == 0 && of->log[i]->finding == PLATELAG_FINDING_FREE;
  }
  valve->probability = sum / (double)valve->agreeing;
}

/* One log alone is asked for again; where that was done and came out sound, the matter is over. */
static bool is_cleared(const plag_page *page) {
  return page->valve->agreeing < PLAG_AGREEING_LEAST && page->sound_since >= PLAG_CLEARING_LOGS;
}

static void take_no_fault(plag_page *page) {
  platelag_fleet_valve *valve = page->valve;
  const size_t looked_at = page->recent < PLAG_UNCLEAR_LOGS ? page->recent : PLAG_UNCLEAR_LOGS;
  const bool sound = page->unclear < looked_at;
  valve->finding = sound ? PLATELAG_FINDING_FREE : PLATELAG_FINDING_UNDECIDED;
  valve->family = sound ? PLATELAG_FAMILY_FREE : PLATELAG_FAMILY_UNDECIDED;
  valve->probability = NAN;
  valve->agreeing = 0;
}

static void take_finding(const plag_valve_logs *logs, plag_page *page) {
  telling of = {0};
  page->cleared = PLATELAG_FINDING_FREE;
  gather_telling(logs, page, &of);
  const platelag_fleet_log *fault = find_fault(&of);
  if (fault != NULL)
    take_fault(&of, fault, page);
  if (fault != NULL && is_cleared(page))
    page->cleared = fault->finding;
  if (fault == NULL || is_cleared(page))
    take_no_fault(page);
}

plag_trend_point plag_log_point(const platelag_fleet_log *log, size_t figure) {
  const platelag_estimate *of = &log->figure[figure];
  const double at_days = (double)log->at_unix_s / PLAG_DAY_SECONDS;
  const double low = fmax(of->low, of->known == PLATELAG_KNOWN_VALUE ? -INFINITY : 0);
  if (of->known == PLATELAG_KNOWN_VALUE && isfinite(of->low) && isfinite(of->high))
    return (plag_trend_point){at_days, of->value, of->low, of->high};
  if (of->known == PLATELAG_KNOWN_NOTHING || of->known == PLATELAG_KNOWN_LOWER_LIMIT)
    return (plag_trend_point){at_days, NAN, NAN, NAN};
  return (plag_trend_point){at_days, 0.5 * (low + of->high), low, of->high};
}

static void take_last(const plag_trend_point *point, size_t count, size_t figure, plag_page *page) {
  platelag_fleet_trend *trend = &page->valve->trend[figure];
  const plag_trend_point *last = &point[count - 1];
  const double half = 0.5 * (last->high - last->low) / 1.645;
  trend->now = last->value;
  trend->now_low = last->low;
  trend->now_high = last->high;
  page->variance[figure] = half * half;
  page->last_low[figure][0] = last->low;
  page->last_low[figure][1] = count > 1 ? point[count - 2].low : NAN;
}

/* Gathers the points of the present series into the book; `*undated` of them, the first ones, have
 * no date. */
static platelag_status gather_points(plag_fleet_book *book, const plag_valve_logs *logs,
                                     size_t figure, plag_page *page, size_t *undated,
                                     platelag_error *error) {
  size_t count = 0;
  *undated = 0;
  for (size_t i = 0; i < logs->count; i++) {
    const platelag_fleet_log *log = &logs->log[i];
    const plag_trend_point point = plag_log_point(log, figure);
    if (!is_present(logs, log) || !isfinite(point.value))
      continue;
    if (!plag_array_reserve((void **)&book->point, &book->point_capacity, count + 1, sizeof point))
      return plag_error_memory(error, "a trend");
    book->point[count++] = point;
    *undated += !log->dated;
    if (log->dated)
      page->last_shown_unix_s[figure] = log->at_unix_s;
  }
  page->valve->trend[figure].logs = count;
  return PLATELAG_OK;
}

/* `*tells`: values that are all alike have no order, and no chance of a trend that would be false.
 */
static platelag_status follow(plag_fleet_book *book, const plag_valve_logs *logs, size_t figure,
                              plag_page *page, bool *tells, platelag_error *error) {
  platelag_fleet_trend *trend = &page->valve->trend[figure];
  size_t undated = 0;
  const platelag_status status = gather_points(book, logs, figure, page, &undated, error);
  const size_t count = trend->logs;
  if (status != PLATELAG_OK || count == 0)
    return status;
  take_last(book->point, count, figure, page);
  const size_t dated = count - undated < POINTS_MOST ? count - undated : POINTS_MOST;
  if (!plag_array_reserve((void **)&book->scratch, &book->scratch_capacity, dated * dated + 1,
                          sizeof *book->scratch))
    return plag_error_memory(error, "a trend");
  const plag_trend fitted = plag_trend_of(book->point + (count - dated), dated,
                                          plag_figure_at(figure)->worse, book->scratch);
  page->level_now[figure] = fitted.level_now;
  *tells = fitted.known && fitted.variance > 0;
  trend->slope_a_year = fitted.slope_a_year; /* NaN where it is not known */
  trend->slope_low = fitted.slope_low;
  trend->slope_high = fitted.slope_high;
  trend->p = fitted.p;
  return PLATELAG_OK;
}

static bool all_tell_of_sticking(const bool tells[PLAG_FIGURE_COUNT]) {
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    if (plag_figure_at(i)->by_sticking && !tells[i])
      return false;
  return true;
}

static size_t surest_by_sticking(const platelag_fleet_valve *valve) {
  size_t surest = PLAG_FIGURE_COUNT;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    if (plag_figure_at(i)->by_sticking &&
        (surest == PLAG_FIGURE_COUNT || valve->trend[i].p < valve->trend[surest].p))
      surest = i;
  return surest;
}

static bool is_dated_present(const plag_valve_logs *logs, size_t log) {
  return logs->log[log].dated && is_present(logs, &logs->log[log]);
}

/* The figures that sticking drives, log by log, tested together. */
static platelag_status follow_sticking(plag_fleet_book *book, const plag_valve_logs *logs,
                                       const bool tells[PLAG_FIGURE_COUNT], plag_page *page,
                                       platelag_error *error) {
  const plag_trend_point *series[PLAG_STICKING_FIGURES];
  size_t figures = 0;
  size_t first = logs->count;
  size_t count = 0;
  page->sticking_p = NAN;
  if (!all_tell_of_sticking(tells))
    return PLATELAG_OK;
  while (first > 0 && count < POINTS_MOST)
    count += is_dated_present(logs, --first);
  if (!plag_array_reserve((void **)&book->point, &book->point_capacity,
                          PLAG_STICKING_FIGURES * count, sizeof *book->point))
    return plag_error_memory(error, "a trend");
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    if (!plag_figure_at(i)->by_sticking)
      continue;
    plag_trend_point *point = book->point + figures * count;
    series[figures++] = point;
    for (size_t log = first; log < logs->count; log++)
      if (is_dated_present(logs, log))
        *point++ = plag_log_point(&logs->log[log], i);
  }
  page->sticking_p = plag_rank_test_together(series, figures, count, PLAG_TREND_UP).p;
  return PLATELAG_OK;
}

/* The median over healthy logs, so that a vehicle of many logs counts once. */
static platelag_status take_healthy(plag_fleet_book *book, const plag_valve_logs *logs,
                                    size_t figure, plag_page *page, platelag_error *error) {
  size_t count = 0;
  if (!plag_array_reserve((void **)&book->scratch, &book->scratch_capacity, logs->count,
                          sizeof *book->scratch))
    return plag_error_memory(error, "a trend");
  for (size_t i = 0; i < logs->count; i++)
    if (plag_log_on_road(&logs->log[i]) && logs->log[i].finding == PLATELAG_FINDING_FREE &&
        logs->log[i].figure[figure].known == PLATELAG_KNOWN_VALUE)
      book->scratch[count++] = logs->log[i].figure[figure].value;
  page->healthy[figure] = plag_median(book->scratch, count);
  return PLATELAG_OK;
}

/* One p a valve: the smallest of its figures' and of those that sticking drives together, each made
 * larger by its share of the chances of a false one (Bonferroni with weights: Genovese, Roeder,
 * Wasserman, Biometrika 93 (2006) 509, from memory). What cannot tell leaves its share to the
 * others, which no order of the logs changes (Tarone, Biometrics 46 (1990) 515, from memory). */
static void take_smallest_p(const bool tells[PLAG_FIGURE_COUNT], plag_page *page) {
  platelag_fleet_valve *valve = page->valve;
  double shares = isnan(page->sticking_p) ? 0 : PLAG_STICKING_SHARE;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    shares += tells[i] ? plag_figure_at(i)->share : 0;
  valve->p = NAN;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const double p = valve->trend[i].p * shares / plag_figure_at(i)->share;
    if (tells[i] && !(valve->p <= p)) {
      valve->p = p;
      valve->worst = i;
    }
  }
  const double together = page->sticking_p * shares / PLAG_STICKING_SHARE;
  page->sticking_is_told = together < valve->p;
  if (page->sticking_is_told) {
    valve->p = together;
    valve->worst = surest_by_sticking(valve);
  }
  valve->p = fmin(valve->p, 1);
  if (shares == 0)
    valve->p = NAN;
}

static bool keep_text(plag_fleet_book *book, const char **out, const char *text) {
  *out = plag_arena_copy_text(&book->arena, text);
  return *out != NULL;
}

static platelag_status take_names(plag_fleet_book *book, const plag_valve_logs *logs,
                                  plag_page *page, platelag_error *error) {
  const platelag_fleet_log *last = &logs->log[logs->count - 1];
  const plag_repair_row *repair =
      logs->repair_since != NULL ? logs->repair_since : logs->last_repair;
  platelag_fleet_valve *valve = page->valve;
  page->awaits_log = logs->repair_since != NULL;
  valve->last_dated = last->dated;
  valve->last_unix_s = last->at_unix_s;
  valve->repaired =
      repair != NULL || last->series > 0 || logs->log[0].condition == PLATELAG_CONDITION_AFTER;
  page->repair_unix_s = repair != NULL ? repair->at_unix_s : 0;
  return keep_text(book, &valve->vehicle, logs->vehicle) &&
                 keep_text(book, &valve->engine, logs->engine) &&
                 keep_text(book, &valve->valve, logs->valve) &&
                 keep_text(book, &valve->last_file, last->file) &&
                 keep_text(book, &valve->last_key, last->key) &&
                 keep_text(book, &valve->last_sentence, last->sentence) &&
                 keep_text(book, &valve->next_test, last->next_test) &&
                 keep_text(book, &page->repair, repair != NULL ? repair->what : "")
             ? PLATELAG_OK
             : plag_error_memory(error, "a valve");
}

static const platelag_fleet_trend UNKNOWN = {.now = NAN,
                                             .now_low = NAN,
                                             .now_high = NAN,
                                             .usual = NAN,
                                             .slope_a_year = NAN,
                                             .slope_low = NAN,
                                             .slope_high = NAN,
                                             .p = NAN,
                                             .limit = NAN};

platelag_status plag_page_fill(plag_fleet_book *book, const plag_valve_logs *logs, plag_page *page,
                               platelag_error *error) {
  bool tells[PLAG_FIGURE_COUNT] = {false};
  *page = (plag_page){.valve = page->valve};
  *page->valve = (platelag_fleet_valve){0};
  page->valve->logs = logs->count;
  page->valve->q = NAN;
  for (size_t i = 0; i < logs->count; i++)
    page->valve->series_logs += is_present(logs, &logs->log[i]);
  platelag_status status = take_names(book, logs, page, error);
  take_finding(logs, page);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT && status == PLATELAG_OK; i++) {
    page->valve->trend[i] = UNKNOWN;
    page->last_low[i][0] = NAN;
    page->last_low[i][1] = NAN;
    page->variance[i] = NAN;
    page->level_now[i] = NAN;
    status = follow(book, logs, i, page, &tells[i], error);
    if (status == PLATELAG_OK)
      status = take_healthy(book, logs, i, page, error);
  }
  if (status == PLATELAG_OK)
    status = follow_sticking(book, logs, tells, page, error);
  if (status == PLATELAG_OK)
    take_smallest_p(tells, page);
  return status;
}
