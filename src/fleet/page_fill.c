/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the logs of a valve come to, before the fleet is looked at. */
#include <string.h>

#include "core/array.h"
#include "core/calendar.h"
#include "core/error.h"
#include "core/statistics.h"
#include "fleet/book.h"

/* Logs that a finding is sought in, and that may be unclear, counted back from the last. */
enum { RECENT_LOGS = 5, UNCLEAR_LOGS = 3 };
/* Points that trends are found from: the latest ones. */
enum { POINTS_MOST = 400 };

static bool is_present(const plag_valve_logs *logs, const platelag_fleet_log *log) {
  return plag_log_on_road(log) && log->series == logs->log[logs->count - 1].series;
}

static bool is_faulty(const platelag_fleet_log *log) {
  return log->finding != PLATELAG_FINDING_FREE && log->finding != PLATELAG_FINDING_UNDECIDED;
}

static bool agree(const platelag_fleet_log *one, const platelag_fleet_log *other) {
  return is_faulty(other) &&
         (one->finding == other->finding ||
          (one->family != PLATELAG_FAMILY_UNDECIDED && one->family == other->family));
}

/* The finding of the last faulty log among the recent ones, and how many agree with it. */
static void find_fault(const plag_valve_logs *logs, plag_page *page) {
  const platelag_fleet_log *fault = NULL;
  double sum = 0;
  bool sound_after = false;
  for (size_t i = logs->count; i-- > 0 && page->recent < RECENT_LOGS;) {
    const platelag_fleet_log *log = &logs->log[i];
    if (!is_present(logs, log))
      continue;
    page->recent++;
    page->unclear += page->recent <= UNCLEAR_LOGS && log->finding == PLATELAG_FINDING_UNDECIDED;
    sound_after = sound_after || (fault == NULL && log->finding == PLATELAG_FINDING_FREE);
    if (fault == NULL && is_faulty(log))
      fault = log;
    if (fault == NULL || !agree(fault, log))
      continue;
    page->valve.agreeing++;
    sum += fault->family == PLATELAG_FAMILY_UNDECIDED ? log->finding_probability
                                                      : log->probability[fault->family];
  }
  page->comes_and_goes = fault != NULL && sound_after;
  page->valve.finding = fault != NULL                  ? fault->finding
                        : page->unclear < page->recent ? PLATELAG_FINDING_FREE
                                                       : PLATELAG_FINDING_UNDECIDED;
  page->valve.family = fault != NULL                                  ? fault->family
                       : page->valve.finding == PLATELAG_FINDING_FREE ? PLATELAG_FAMILY_FREE
                                                                      : PLATELAG_FAMILY_UNDECIDED;
  page->valve.probability = page->valve.agreeing > 0 ? sum / (double)page->valve.agreeing : NAN;
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
  platelag_fleet_trend *trend = &page->valve.trend[figure];
  const plag_trend_point *last = &point[count - 1];
  const double half = 0.5 * (last->high - last->low) / 1.645;
  trend->now = last->value;
  trend->now_low = last->low;
  trend->now_high = last->high;
  page->variance[figure] = half * half;
  page->last_low[figure][0] = last->low;
  page->last_low[figure][1] = count > 1 ? point[count - 2].low : NAN;
}

static platelag_status follow(plag_fleet_book *book, const plag_valve_logs *logs, size_t figure,
                              plag_page *page, platelag_error *error) {
  size_t count = 0;
  platelag_fleet_trend *trend = &page->valve.trend[figure];
  for (size_t i = 0; i < logs->count; i++) {
    const plag_trend_point point = plag_log_point(&logs->log[i], figure);
    if (!is_present(logs, &logs->log[i]) || !isfinite(point.value))
      continue;
    if (!plag_array_reserve((void **)&book->point, &book->point_capacity, count + 1, sizeof point))
      return plag_error_memory(error, "a trend");
    book->point[count++] = point;
    if (logs->log[i].dated)
      page->last_shown_unix_s[figure] = logs->log[i].at_unix_s;
  }
  trend->logs = count;
  if (count == 0)
    return PLATELAG_OK;
  take_last(book->point, count, figure, page);
  /* Logs without a date come first in the order and have no place in a trend. */
  size_t undated = 0;
  for (size_t i = 0; i < logs->count; i++)
    undated += is_present(logs, &logs->log[i]) && !logs->log[i].dated &&
               isfinite(plag_log_point(&logs->log[i], figure).value);
  const size_t dated = count - undated < POINTS_MOST ? count - undated : POINTS_MOST;
  if (!plag_array_reserve((void **)&book->scratch, &book->scratch_capacity, dated * dated + 1,
                          sizeof *book->scratch))
    return plag_error_memory(error, "a trend");
  const plag_trend fitted = plag_trend_of(book->point + (count - dated), dated,
                                          plag_figure_at(figure)->worse, book->scratch);
  page->fitted[figure] = fitted;
  if (fitted.known) {
    trend->slope_a_year = fitted.slope_a_year;
    trend->slope_low = fitted.slope_low;
    trend->slope_high = fitted.slope_high;
    trend->p = fitted.p;
  }
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

/* Values that are all alike have no order, and no chance of a trend that would be false. */
static bool can_tell(const plag_page *page, size_t figure) {
  return page->fitted[figure].known && page->fitted[figure].variance > 0;
}

/* One p a valve: the smallest of its figures', each made larger by its share of the chances of a
 * false one (Bonferroni with weights: Genovese, Roeder, Wasserman, Biometrika 93 (2006) 509, from
 * memory). What cannot tell leaves its share to the others, which no order of the logs changes
 * (Tarone, Biometrics 46 (1990) 515, from memory). */
static void take_smallest_p(plag_page *page) {
  double shares = 0;
  page->valve.p = NAN;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    shares += can_tell(page, i) ? plag_figure_at(i)->share : 0;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const double p = page->valve.trend[i].p * shares / plag_figure_at(i)->share;
    if (can_tell(page, i) && !(page->valve.p <= p)) {
      page->valve.p = p;
      page->valve.worst = i;
    }
  }
  page->valve.p = fmin(page->valve.p, 1);
  if (shares == 0)
    page->valve.p = NAN;
}

static bool keep_text(plag_fleet_book *book, const char **out, const char *text) {
  *out = plag_arena_copy_text(&book->arena, text);
  return *out != NULL;
}

static platelag_status take_names(plag_fleet_book *book, const plag_valve_logs *logs,
                                  plag_page *page, platelag_error *error) {
  const platelag_fleet_log *last = &logs->log[logs->count - 1];
  const plag_repair_row *repair = logs->last_repair;
  platelag_fleet_valve *valve = &page->valve;
  valve->last_dated = last->dated;
  valve->last_unix_s = last->at_unix_s;
  valve->repaired = repair != NULL || (last->series > 0);
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

platelag_status plag_page_fill(plag_fleet_book *book, const plag_valve_logs *logs, plag_page *page,
                               platelag_error *error) {
  *page = (plag_page){.named_by = logs->named_by};
  page->valve.logs = logs->count;
  page->valve.q = NAN;
  for (size_t i = 0; i < logs->count; i++)
    page->valve.series_logs += is_present(logs, &logs->log[i]);
  platelag_status status = take_names(book, logs, page, error);
  find_fault(logs, page);
  for (size_t i = 0; i < PLAG_FIGURE_COUNT && status == PLATELAG_OK; i++) {
    page->valve.trend[i] = (platelag_fleet_trend){.now = NAN,
                                                  .now_low = NAN,
                                                  .now_high = NAN,
                                                  .usual = NAN,
                                                  .slope_a_year = NAN,
                                                  .slope_low = NAN,
                                                  .slope_high = NAN,
                                                  .p = NAN,
                                                  .limit = NAN};
    page->last_low[i][0] = NAN;
    page->last_low[i][1] = NAN;
    page->variance[i] = NAN;
    status = follow(book, logs, i, page, error);
    if (status == PLATELAG_OK)
      status = take_healthy(book, logs, i, page, error);
  }
  take_smallest_p(page);
  return status;
}
