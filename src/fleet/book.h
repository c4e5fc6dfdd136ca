/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the fleet's ranking is made from, valve by valve, and how it is made: gather, learn limits,
 * follow trends, stand, reason, rank. */
#ifndef PLAG_FLEET_BOOK_H
#define PLAG_FLEET_BOOK_H

#include "fleet/logs.h"

/* A valve while its standing is found. The present series is all that counts. */
typedef struct plag_page {
  platelag_fleet_valve *valve; /* what is published */
  /* median over its healthy logs on the road; NaN where it has none that show the figure */
  double healthy[PLAG_FIGURE_COUNT];
  /* the lower ends of the last two logs that show it, and how many of them say so */
  double last_low[PLAG_FIGURE_COUNT][2];
  double variance[PLAG_FIGURE_COUNT]; /* of trend.now */
  int64_t last_shown_unix_s[PLAG_FIGURE_COUNT];
  double level_now[PLAG_FIGURE_COUNT]; /* of the trend's line at the last log; NaN: no trend */
  double sticking_p;     /* of what sticking drives, together; NaN where one of it cannot tell */
  bool sticking_is_told; /* valve->p is that, and valve->worst the surest of it */
  size_t recent;         /* logs that were looked at for the finding, counted back from the last */
  size_t unclear;        /* of the last PLAG_UNCLEAR_LOGS of them */
  size_t sound_since;    /* logs since the last one that tells of the finding */
  platelag_finding_kind cleared; /* what one log told and sound ones did not confirm; FREE: none */
  bool awaits_log;               /* repaired since its last log */
  const char *repair;            /* what the present series began with; "" */
  int64_t repair_unix_s;
  double urgency; /* within its standing */
} plag_page;

typedef struct plag_fleet_book {
  platelag_fleet fleet; /* what is published */
  platelag_fleet_store *store;
  const platelag_spec *spec, *own_spec;
  bool limits_given; /* the caller's spec stands: nothing is learned */
  plag_repairs repairs;
  platelag_fleet_valve *valve; /* one a page; in another order only while they are ranked */
  size_t valve_capacity;
  plag_page *page;
  size_t page_count, page_capacity;
  platelag_fleet_limit *limit;
  size_t limit_count, limit_capacity;
  platelag_fleet_trouble *trouble;
  size_t trouble_count, trouble_capacity;
  double *scratch; /* of the trends */
  size_t scratch_capacity;
  plag_trend_point *point;
  size_t point_capacity;
  plag_arena arena;
} plag_fleet_book;

/* Whether a log was taken on the road: those alone make trends. */
static inline bool plag_log_on_road(const platelag_fleet_log *log) {
  return log->condition == PLATELAG_CONDITION_ROAD || log->condition == PLATELAG_CONDITION_AFTER;
}

/* What is known of a figure as a point with a middle, which limits and brackets have too; NaN where
 * nothing is known. */
plag_trend_point plag_log_point(const platelag_fleet_log *log, size_t figure);

/* Logs that must agree before someone is sent to work, and sound ones that speak against a fault;
 * logs that cannot tell, one after the other, which leave a valve unclear. Judgements. */
enum { PLAG_AGREEING_LEAST = 2, PLAG_CLEARING_LOGS = 2, PLAG_UNCLEAR_LOGS = 3 };

/* Fills a page, whose valve has a place, from all logs of the valve. */
platelag_status plag_page_fill(plag_fleet_book *book, const plag_valve_logs *logs, plag_page *page,
                               platelag_error *error);

/* Learns limits from healthy valves and gives every page its own. */
platelag_status plag_book_learn_limits(plag_fleet_book *book, platelag_error *error);

/* Adjusts the pages' p values over the whole fleet, and finds when limits will be crossed. */
platelag_status plag_book_follow_trends(plag_fleet_book *book, platelag_error *error);

/* Standing and urgency of a page. */
void plag_page_stand(plag_page *page);

/* Whether a figure is unusual: the last two logs lie beyond what the family's healthy valves teach,
 * intervals and all. */
bool plag_page_is_beyond(const plag_page *page, size_t figure);

/* The reasons, in words. */
platelag_status plag_page_reason(plag_fleet_book *book, plag_page *page, platelag_error *error);

/* A trend's level of false discoveries over the fleet, %. */
#define PLAG_FALSE_DISCOVERY_SHARE 0.05

#endif
