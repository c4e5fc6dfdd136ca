/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is to be done about a valve: the standing, the urgency within it, and trends against the
 * whole fleet. */
#include <stdlib.h>
#include <string.h>

#include "core/calendar.h"
#include "core/error.h"
#include "fleet/book.h"
#include "fleet/false_discovery.h"

/* Crossings further ahead are no news. */
#define HORIZON_DAYS 1096.0

static const char *const names[PLATELAG_FLEET_STANDINGS] = {
    [PLATELAG_FLEET_WORK] = "work list",     [PLATELAG_FLEET_WORSE] = "growing worse",
    [PLATELAG_FLEET_AGAIN] = "record again", [PLATELAG_FLEET_UNUSUAL] = "unusual",
    [PLATELAG_FLEET_UNCLEAR] = "unclear",    [PLATELAG_FLEET_SOUND] = "sound",
};

const char *platelag_fleet_standing_name(platelag_fleet_standing standing) {
  return standing < PLATELAG_FLEET_STANDINGS ? names[standing] : "";
}

static int64_t unix_of(double days) {
  return isfinite(days) && fabs(days) < 4e6 ? (int64_t)(days * PLAG_DAY_SECONDS) : INT64_MAX;
}

/* A limit that lies ahead, on the side that is worse. */
static void find_crossing(plag_page *page, size_t figure) {
  platelag_fleet_trend *trend = &page->valve->trend[figure];
  const plag_trend line = {.known = !isnan(page->level_now[figure]),
                           .slope_a_year = trend->slope_a_year,
                           .slope_low = trend->slope_low,
                           .slope_high = trend->slope_high,
                           .level_now = page->level_now[figure]};
  trend->crossing_unix_s = INT64_MAX;
  trend->crossing_earliest_unix_s = INT64_MAX;
  trend->crossing_latest_unix_s = INT64_MAX;
  if (!line.known || !isfinite(trend->limit) || line.level_now >= trend->limit)
    return;
  const plag_crossing crossing =
      plag_trend_crossing(&line, (double)page->last_shown_unix_s[figure] / PLAG_DAY_SECONDS,
                          trend->limit, HORIZON_DAYS);
  trend->crosses = crossing.crosses;
  trend->crossing_unix_s = unix_of(crossing.at_days);
  trend->crossing_earliest_unix_s = unix_of(crossing.earliest_days);
  trend->crossing_latest_unix_s = unix_of(crossing.latest_days);
}

platelag_status plag_book_follow_trends(plag_fleet_book *book, platelag_error *error) {
  const size_t count = book->page_count;
  double *p = calloc(count + 1, sizeof *p);
  size_t *order = calloc(count + 1, sizeof *order);
  platelag_status status = PLATELAG_OK;
  if (p == NULL || order == NULL) {
    status = plag_error_memory(error, "the trends");
  } else {
    for (size_t i = 0; i < count; i++)
      p[i] = book->valve[i].p;
    plag_false_discovery(p, count, order);
    for (size_t i = 0; i < count; i++) {
      book->valve[i].q = p[i];
      for (size_t figure = 0; figure < PLAG_FIGURE_COUNT; figure++)
        find_crossing(&book->page[i], figure);
    }
  }
  free(p);
  free(order);
  return status;
}

bool plag_page_is_beyond(const plag_page *page, size_t figure) {
  const platelag_fleet_trend *trend = &page->valve->trend[figure];
  return trend->limit_learned && page->last_low[figure][0] > trend->limit &&
         page->last_low[figure][1] > trend->limit;
}

static bool is_unusual(const plag_page *page) {
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    if (plag_page_is_beyond(page, i))
      return true;
  return false;
}

/* A fault that was there and went is neither work nor sound: what makes it come is to be found. */
static platelag_fleet_standing standing_of(const plag_page *page) {
  const platelag_fleet_valve *valve = page->valve;
  if (valve->agreeing >= PLAG_AGREEING_LEAST && page->sound_since < PLAG_CLEARING_LOGS)
    return PLATELAG_FLEET_WORK;
  if (valve->q <= PLAG_FALSE_DISCOVERY_SHARE)
    return PLATELAG_FLEET_WORSE;
  if (valve->agreeing > 0 || page->awaits_log)
    return PLATELAG_FLEET_AGAIN;
  if (is_unusual(page))
    return PLATELAG_FLEET_UNUSUAL;
  return valve->finding == PLATELAG_FINDING_FREE ? PLATELAG_FLEET_SOUND : PLATELAG_FLEET_UNCLEAR;
}

/* How far the worst figure stands towards its limit, 0..1. */
static double nearness(const plag_page *page) {
  double most = 0;
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++) {
    const platelag_fleet_trend *trend = &page->valve->trend[i];
    if (trend->limit > 0 && isfinite(trend->usual))
      most = fmax(most, fmin(trend->usual / trend->limit, 1));
  }
  return most;
}

/* Behind every fault that the last log still shows stand those that it does not, and behind these
 * the valves of which there is no log yet. */
static double urgency_of_fault(const plag_page *page) {
  const platelag_fleet_valve *valve = page->valve;
  if (valve->agreeing == 0)
    return -10;
  return valve->probability + 0.1 * (double)valve->agreeing +
         (valve->q <= PLAG_FALSE_DISCOVERY_SHARE ? 0.5 : 0) - (page->sound_since > 0 ? 5 : 0);
}

void plag_page_stand(plag_page *page) {
  platelag_fleet_valve *valve = page->valve;
  valve->standing = standing_of(page);
  switch (valve->standing) {
  case PLATELAG_FLEET_WORK:
  case PLATELAG_FLEET_AGAIN:
    page->urgency = urgency_of_fault(page);
    break;
  case PLATELAG_FLEET_WORSE:
    page->urgency = nearness(page) - valve->q;
    break;
  case PLATELAG_FLEET_UNCLEAR:
    page->urgency = (double)page->unclear;
    break;
  default:
    page->urgency = nearness(page);
  }
}
