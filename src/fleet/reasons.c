/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why a valve stands where it stands, in words. */
#include <string.h>

#include "core/error.h"
#include "core/words.h"
#include "fleet/book.h"
#include "fleet/calendar.h"

enum { REASONS_MOST = 12 }; /* more than can come together */

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

/* "2 of the last 3 logs tell of". */
static const char *who_tells(plag_arena *arena, const plag_page *page) {
  if (page->recent == 1)
    return "The only log tells of";
  return plag_words(arena, "#0 of the last #0 logs #s of", (double)page->valve->agreeing,
                    (double)page->recent, page->valve->agreeing == 1 ? "tells" : "tell");
}

static const char *since_then(plag_arena *arena, const plag_page *page) {
  if (page->sound_since == 0)
    return "";
  if (page->sound_since == 1)
    return "; one since is sound, so it comes and goes";
  return plag_words(arena, "; #0 since are sound, so it comes and goes", (double)page->sound_since);
}

static void tell_finding(plag_arena *arena, const plag_page *page, reasons *list) {
  const platelag_fleet_valve *valve = page->valve;
  if (page->cleared != PLATELAG_FINDING_FREE)
    add(list,
        plag_words(arena, "One log told of #s; #0 since are sound.",
                   plain(arena, platelag_finding_name(page->cleared)), (double)page->sound_since));
  if (valve->agreeing == 0)
    return;
  const bool blamed = valve->family != PLATELAG_FAMILY_UNDECIDED;
  char sure[PLAG_PROBABILITY_BYTES];
  add(list, plag_words(arena, "#s #s#s#s, #s sure#s.", who_tells(arena, page),
                       plain(arena, platelag_finding_name(valve->finding)), blamed ? ": " : "",
                       blamed ? plain(arena, platelag_family_name(valve->family)) : "",
                       plag_probability_words(valve->probability, sure), since_then(arena, page)));
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

/* A probability that is never told as none. */
static const char *percent_text(plag_arena *arena, double share) {
  return share < 0.0005 ? "less than 0.1 %" : plag_words(arena, "#1 %", 100 * share);
}

/* "grows by 2.4 % of travel a year (1.1 to 3.9)": of a fall too the ends are told as it falls. */
static const char *slope_text(plag_arena *arena, size_t figure, const platelag_fleet_trend *trend) {
  const bool falls = trend->slope_a_year < 0;
  const char *by = plag_words(arena, "#s by #s #s a year", falls ? "falls" : "grows",
                              figure_text(arena, figure, fabs(trend->slope_a_year)),
                              platelag_fleet_figure_at(figure)->unit);
  if (!isfinite(trend->slope_low) || !isfinite(trend->slope_high))
    return by;
  return plag_words(arena, "#s (#s to #s)", by,
                    figure_text(arena, figure, falls ? -trend->slope_high : trend->slope_low),
                    figure_text(arena, figure, falls ? -trend->slope_low : trend->slope_high));
}

/* ", looked at together with the stick band" */
static const char *together_text(plag_arena *arena, const plag_page *page) {
  const char *text = "";
  for (size_t i = 0; i < PLAG_FIGURE_COUNT && page->sticking_is_told; i++)
    if (plag_figure_at(i)->by_sticking && i != page->valve->worst)
      text = plag_words(arena, "#s#s the #s", text,
                        *text == '\0' ? ", looked at together with" : " and",
                        platelag_fleet_figure_at(i)->name);
  return text;
}

static void tell_trend(plag_arena *arena, const plag_page *page, reasons *list) {
  const platelag_fleet_valve *valve = page->valve;
  const platelag_fleet_trend *trend = &valve->trend[valve->worst];
  if (!(valve->q <= PLAG_FALSE_DISCOVERY_SHARE))
    return;
  add(list, plag_words(arena,
                       "The #s #s over #c#s; chance alone does that in #s of such valves, #s of "
                       "those told over the fleet.",
                       platelag_fleet_figure_at(valve->worst)->name,
                       slope_text(arena, valve->worst, trend), (double)trend->logs, "log",
                       together_text(arena, page), percent_text(arena, valve->p),
                       percent_text(arena, valve->q)));
  tell_crossing(arena, trend, valve->worst, list);
}

static void tell_unusual(plag_arena *arena, const plag_page *page, reasons *list) {
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const platelag_fleet_trend *trend = &page->valve->trend[i];
    const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(i);
    if (plag_page_is_beyond(page, i))
      add(list, plag_words(arena,
                           "The #s is #s #s in the last log and beyond #s in the last two, the "
                           "limit learned from healthy valves of this engine.",
                           kind->name, figure_text(arena, i, trend->now), kind->unit,
                           figure_text(arena, i, trend->limit)));
  }
}

static void tell_repair(plag_arena *arena, const plag_page *page, reasons *list) {
  char at[PLAG_DATE_BYTES];
  if (page->repair[0] != '\0')
    add(list, plag_words(arena,
                         page->awaits_log ? "Repaired on #s: #s. No log since."
                                          : "Counted from the repair of #s: #s.",
                         plag_date_format(page->repair_unix_s, at), page->repair));
  else if (page->valve->repaired)
    add(list, "Counted from the first log that says it was taken after a repair.");
}

/* Logs that cannot tell, of those on the road. */
static void tell_unclear(plag_arena *arena, const plag_page *page, reasons *list) {
  const size_t last = page->recent < PLAG_UNCLEAR_LOGS ? page->recent : PLAG_UNCLEAR_LOGS;
  if (last == 0)
    add(list, "No log of the present series was taken on the road.");
  else if (last == 1)
    add(list, page->valve->last_sentence);
  else
    add(list, plag_words(arena, "None of the last #c can tell. #s", (double)last, "log",
                         page->valve->last_sentence));
}

static const char *what_to_record(const plag_page *page) {
  if (page->awaits_log)
    return "Record one, to see whether the repair helped.";
  if (page->sound_since > 0)
    return "Record again, driving as in the logs that tell of it: what makes it come is to be "
           "found first.";
  return "One log is no ground for work: record again, and act when a second one agrees.";
}

static void tell_rest(plag_arena *arena, const plag_page *page, reasons *list) {
  const platelag_fleet_valve *valve = page->valve;
  if (valve->standing == PLATELAG_FLEET_UNCLEAR)
    tell_unclear(arena, page, list);
  if (valve->standing == PLATELAG_FLEET_SOUND)
    add(list, valve->last_sentence);
  tell_repair(arena, page, list);
  if (valve->standing == PLATELAG_FLEET_AGAIN)
    add(list, what_to_record(page));
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
  page->valve->reason = kept;
  page->valve->reason_count = list.count;
  return PLATELAG_OK;
}
