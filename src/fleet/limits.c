/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Limits that healthy valves of an engine family teach: median and median deviation, the spread of
 * a small family drawn towards the fleet's. Where a spec is given, its limits stand. */
#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "core/statistics.h"
#include "fleet/book.h"
#include "fleet/shrink.h"

/* Valves that a limit takes (a judgement); how many spreads above the median it stands, which of
 * normal figures one in 740 passes; how many valves the fleet's spread counts for in a family's. */
enum { LEAST_VALVES = 8 };
#define SPREADS    3.0
#define FLEET_SAYS 5.0

/* Pages of one family follow each other in this order. */
static int by_engine(const void *one, const void *other) {
  const plag_page *a = *(const plag_page *const *)one;
  const plag_page *b = *(const plag_page *const *)other;
  return strcmp(a->valve->engine, b->valve->engine);
}

/* Healthy figures of `count` pages, into `value`. */
static size_t gather(plag_page *const *page, size_t count, size_t figure, double *value) {
  size_t found = 0;
  assert(value != NULL);
  for (size_t i = 0; i < count; i++)
    if (isfinite(page[i]->healthy[figure]))
      value[found++] = page[i]->healthy[figure];
  return found;
}

/* The fleet's spread: median over all of how far each is from the median of its family. */
static double fleet_spread(plag_page *const *page, size_t count, size_t figure, double *value,
                           double *away) {
  size_t found = 0;
  for (size_t from = 0, to = 0; from < count; from = to) {
    while (to < count && strcmp(page[to]->valve->engine, page[from]->valve->engine) == 0)
      to++;
    const size_t family = gather(page + from, to - from, figure, value);
    const double middle = plag_median(value, family);
    const size_t again = gather(page + from, to - from, figure, value);
    for (size_t i = 0; i < again; i++)
      away[found++] = fabs(value[i] - middle);
  }
  return 1.4826 * plag_median(away, found);
}

/* "bank 2" is 2; 0 is the only valve. */
static int bank_of(const char *valve) {
  const bool named = strncmp(valve, "bank ", 5) == 0 && valve[5] >= '1' && valve[5] <= '9';
  return named && valve[6] == '\0' ? valve[5] - '0' : 0;
}

static double spec_limit(const plag_fleet_book *book, size_t figure, int bank) {
  const plag_figure *of = plag_figure_at(figure);
  return of->limit != NULL ? of->limit(platelag_spec_for_bank(book->spec, bank)) : NAN;
}

static platelag_fleet_limit learn(const plag_fleet_book *book, plag_page *const *page, size_t count,
                                  size_t figure, double fleet, double *value) {
  const size_t found = gather(page, count, figure, value);
  platelag_fleet_limit limit = {.engine = page[0]->valve->engine,
                                .figure = figure,
                                .logs = found,
                                .median = plag_median(value, found),
                                .limit = spec_limit(book, figure, 0)};
  const double own = plag_median_deviation(value, gather(page, count, figure, value));
  const double weight = (double)found;
  limit.spread = sqrt((weight * own * own + FLEET_SAYS * fleet * fleet) / (weight + FLEET_SAYS));
  limit.learned = !book->limits_given && found >= LEAST_VALVES && limit.spread > 0;
  if (limit.learned)
    limit.limit = limit.median + SPREADS * limit.spread;
  return limit;
}

static platelag_status keep(plag_fleet_book *book, const platelag_fleet_limit *limit,
                            platelag_error *error) {
  if (!plag_array_reserve((void **)&book->limit, &book->limit_capacity, book->limit_count + 1,
                          sizeof *limit))
    return plag_error_memory(error, "the limits");
  book->limit[book->limit_count++] = *limit;
  return PLATELAG_OK;
}

/* Each figure now, drawn towards its family. */
static void draw_together(plag_page **page, size_t count, size_t figure, double *value,
                          double *variance) {
  for (size_t i = 0; i < count; i++) {
    value[i] = page[i]->valve->trend[figure].now;
    variance[i] = page[i]->variance[figure];
  }
  plag_shrink(value, variance, count);
  for (size_t i = 0; i < count; i++)
    page[i]->valve->trend[figure].usual = value[i];
}

static platelag_status learn_family(plag_fleet_book *book, plag_page **page, size_t count,
                                    const double *fleet, double *value, double *other,
                                    platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t figure = 0; figure < PLAG_FIGURE_COUNT && status == PLATELAG_OK; figure++) {
    draw_together(page, count, figure, value, other);
    if (!plag_figure_at(figure)->learns_limit)
      continue;
    const platelag_fleet_limit limit = learn(book, page, count, figure, fleet[figure], value);
    for (size_t i = 0; i < count; i++) {
      page[i]->valve->trend[figure].limit =
          limit.learned ? limit.limit : spec_limit(book, figure, bank_of(page[i]->valve->valve));
      page[i]->valve->trend[figure].limit_learned = limit.learned;
    }
    status = keep(book, &limit, error);
  }
  return status;
}

/* `page` and `value`: room for all pages, and for twice as many numbers. */
static platelag_status learn_all(plag_fleet_book *book, plag_page **page, double *value,
                                 platelag_error *error) {
  const size_t count = book->page_count;
  double fleet[PLAG_FIGURE_COUNT];
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < count; i++)
    page[i] = &book->page[i];
  /* NOLINTNEXTLINE(bugprone-sizeof-expression): an array of pointers is what is sorted */
  qsort((void *)page, count, sizeof *page, by_engine);
  for (size_t figure = 0; figure < PLAG_FIGURE_COUNT; figure++)
    fleet[figure] = fleet_spread(page, count, figure, value, value + count);
  for (size_t from = 0, to = 0; from < count && status == PLATELAG_OK; from = to) {
    while (to < count && strcmp(page[to]->valve->engine, page[from]->valve->engine) == 0)
      to++;
    status = learn_family(book, page + from, to - from, fleet, value, value + count, error);
  }
  return status;
}

platelag_status plag_book_learn_limits(plag_fleet_book *book, platelag_error *error) {
  const size_t count = book->page_count;
  /* NOLINTNEXTLINE(bugprone-sizeof-expression): an array of pointers */
  plag_page **page = calloc(count + 1, sizeof *page);
  double *value = calloc(2 * count + 1, sizeof *value);
  const platelag_status status = page != NULL && value != NULL
                                     ? learn_all(book, page, value, error)
                                     : plag_error_memory(error, "the limits");
  free((void *)page);
  free(value);
  return status;
}
