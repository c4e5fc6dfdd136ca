/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why a valve stands where it stands, in words. */
#include <string.h>

#include "core/error.h"
#include "core/words.h"
#include "fleet/book.h"
#include "fleet/calendar.h"

enum { REASONS_MOST = 6 };

typedef struct reasons {
  const char *text[REASONS_MOST];
  size_t count;
  bool failed;
} reasons;

static void add(reasons *list, const char *text) {
  list->failed = list->failed || text == NULL;
  if (text != NULL && list->count < REASONS_MOST)
    list->text[list->count++] = text;
}

/* "signal high" for the key "signal_high". */
static const char *plain(plag_arena *arena, const char *key) {
  char *text = plag_arena_copy_text(arena, key);
  for (char *at = text; at != NULL && *at != '\0'; at++)
    if (*at == '_')
      *at = ' ';
  return text;
}

static const char *const signs[] = {"#0", "#1", "#2"};

static const char *figure_text(plag_arena *arena, size_t figure, double value) {
  const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(figure);
  return plag_words(arena, signs[kind->decimals], value);
}

/* A probability that is never told as none. */
static const char *percent_text(plag_arena *arena, double share) {
  return share < 0.0005 ? "less than 0.1 %" : plag_words(arena, "#1 %", 100 * share);
}

/* "2 of the last 3 logs tell of". */
static const char *who_tells(plag_arena *arena, const plag_page *page) {
  if (page->recent == 1)
    return "The only log tells of";
  return plag_words(arena, "#0 of the last #0 logs #s of", (double)page->valve.agreeing,
                    (double)page->recent, page->valve.agreeing == 1 ? "tells" : "tell");
}

static void tell_finding(plag_arena *arena, const plag_page *page, reasons *list) {
  const platelag_fleet_valve *valve = &page->valve;
  if (valve->agreeing == 0)
    return;
  const bool blamed = valve->family != PLATELAG_FAMILY_UNDECIDED;
  add(list, plag_words(arena, "#s #s#s#s, #0 % sure#s.", who_tells(arena, page),
                       plain(arena, platelag_finding_name(valve->finding)), blamed ? ": " : "",
                       blamed ? plain(arena, platelag_family_name(valve->family)) : "",
                       100 * valve->probability,
                       page->comes_and_goes ? "; a later one is sound, so it comes and goes" : ""));
  add(list, plag_words(arena, "Last log: #s", valve->last_sentence));
}

static void tell_crossing(plag_arena *arena, const platelag_fleet_trend *trend, size_t figure,
                          reasons *list) {
  char at[PLAG_DATE_BYTES];
  char earliest[PLAG_DATE_BYTES];
  char latest[PLAG_DATE_BYTES];
  if (!trend->crosses)
    return;
  const bool bounded = trend->crossing_latest_unix_s != INT64_MAX;
  add(list,
      plag_words(arena, "At this rate it reaches the limit of #s #s on #s (from #s#s#s).",
                 figure_text(arena, figure, trend->limit), platelag_fleet_figure_at(figure)->unit,
                 plag_date_format(trend->crossing_unix_s, at),
                 plag_date_format(trend->crossing_earliest_unix_s, earliest),
                 bounded ? " to " : " on, perhaps never",
                 bounded ? plag_date_format(trend->crossing_latest_unix_s, latest) : ""));
}

static void tell_trend(plag_arena *arena, const plag_page *page, reasons *list) {
  const platelag_fleet_valve *valve = &page->valve;
  const platelag_fleet_trend *trend = &valve->trend[valve->worst];
  const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(valve->worst);
  if (!(valve->q <= PLAG_FALSE_DISCOVERY_SHARE))
    return;
  add(list, plag_words(arena,
                       "The #s #s by #s #s a year (#s to #s) over #c; chance alone does that in "
                       "#s of such valves, #s of those told over the fleet.",
                       kind->name, trend->slope_a_year < 0 ? "falls" : "grows",
                       figure_text(arena, valve->worst, fabs(trend->slope_a_year)), kind->unit,
                       figure_text(arena, valve->worst, trend->slope_low),
                       figure_text(arena, valve->worst, trend->slope_high), (double)trend->logs,
                       "log", percent_text(arena, valve->p), percent_text(arena, valve->q)));
  tell_crossing(arena, trend, valve->worst, list);
}

static void tell_unusual(plag_arena *arena, const plag_page *page, reasons *list) {
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const platelag_fleet_trend *trend = &page->valve.trend[i];
    const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(i);
    if (trend->limit_learned && page->last_low[i][0] > trend->limit &&
        page->last_low[i][1] > trend->limit)
      add(list, plag_words(arena,
                           "The #s is #s #s in the last log and beyond #s in the last two, the "
                           "limit learned from healthy valves of this engine.",
                           kind->name, figure_text(arena, i, trend->now), kind->unit,
                           figure_text(arena, i, trend->limit)));
  }
}

static void tell_rest(plag_arena *arena, const plag_page *page, reasons *list) {
  char at[PLAG_DATE_BYTES];
  const platelag_fleet_valve *valve = &page->valve;
  if (valve->standing == PLATELAG_FLEET_UNCLEAR && page->recent == 1)
    add(list, plag_words(arena, "#s", valve->last_sentence));
  else if (valve->standing == PLATELAG_FLEET_UNCLEAR)
    add(list,
        plag_words(arena, "#0 of the last #c cannot tell. #s", (double)page->unclear,
                   (double)(page->recent < 3 ? page->recent : 3), "log", valve->last_sentence));
  if (valve->standing == PLATELAG_FLEET_SOUND)
    add(list, plag_words(arena, "#s", valve->last_sentence));
  if (page->repair[0] != '\0')
    add(list, plag_words(arena, "Counted from the repair of #s: #s.",
                         plag_date_format(page->repair_unix_s, at), page->repair));
  if (valve->standing == PLATELAG_FLEET_AGAIN)
    add(list, "One log is no ground for work: record again, and act when a second one agrees.");
}

platelag_status plag_page_reason(plag_fleet_book *book, plag_page *page, platelag_error *error) {
  reasons list = {0};
  tell_finding(&book->arena, page, &list);
  tell_trend(&book->arena, page, &list);
  tell_unusual(&book->arena, page, &list);
  tell_rest(&book->arena, page, &list);
  const char **kept = plag_arena_take_array(&book->arena, list.count + 1, sizeof *kept);
  if (kept == NULL || list.failed)
    return plag_error_memory(error, "the reasons");
  memcpy((void *)kept, list.text, list.count * sizeof *kept);
  page->valve.reason = kept;
  page->valve.reason_count = list.count;
  return PLATELAG_OK;
}
