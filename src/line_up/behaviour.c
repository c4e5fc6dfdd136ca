/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/behaviour.h"

#include <math.h>

enum { BLOCKS = 24, BLOCK_ROWS = 512 };

/* Block `index` of at most BLOCKS blocks spread evenly over `rows`; all rows when they are few. */
static plag_rows_range block_of(plag_rows_range rows, size_t index) {
  const size_t count = rows.end - rows.first;
  if (count <= (size_t)BLOCKS * BLOCK_ROWS)
    return index == 0 ? rows : (plag_rows_range){rows.end, rows.end};
  const size_t from = rows.first + (count - BLOCK_ROWS) / (BLOCKS - 1) * index;
  return (plag_rows_range){from, from + BLOCK_ROWS};
}

plag_behaviour plag_behaviour_of(const platelag_channel *channel, plag_rows_range rows) {
  plag_behaviour seen = {.lowest = NAN, .highest = NAN};
  size_t pairs = 0;
  size_t changes = 0;
  for (size_t block = 0; block < BLOCKS; block++) {
    const plag_rows_range part = block_of(rows, block);
    double last = NAN;
    for (size_t row = part.first; row < part.end; row++) {
      const double value = channel->value[row];
      if (isnan(value))
        continue;
      seen.present++;
      if (!(seen.lowest <= value))
        seen.lowest = value;
      if (!(seen.highest >= value))
        seen.highest = value;
      pairs += (size_t)!isnan(last);
      changes += (size_t)(!isnan(last) && value != last);
      last = value;
    }
  }
  seen.change_share = pairs > 0 ? (double)changes / (double)pairs : 0.0;
  return seen;
}

/* Sums for a correlation, about a first value so that little is cancelled. */
typedef struct correlation {
  double count, x, y, xx, yy, xy, x0, y0;
} correlation;

static void correlate(correlation *sums, double x, double y) {
  if (sums->count == 0.0) {
    sums->x0 = x;
    sums->y0 = y;
  }
  const double dx = x - sums->x0;
  const double dy = y - sums->y0;
  sums->count += 1.0;
  sums->x += dx;
  sums->y += dy;
  sums->xx += dx * dx;
  sums->yy += dy * dy;
  sums->xy += dx * dy;
}

static double correlation_of(const correlation *sums) {
  if (sums->count < 8.0)
    return 0.0;
  const double vx = sums->xx - sums->x * sums->x / sums->count;
  const double vy = sums->yy - sums->y * sums->y / sums->count;
  const double scale = sqrt(vx * vy);
  if (!(vx > 1e-12 * sums->xx) || !(vy > 1e-12 * sums->yy) || !(scale > 0.0))
    return 0.0;
  return (sums->xy - sums->x * sums->y / sums->count) / scale;
}

/* What a channel held at `at_ns`; walks on from `row`, the first row after the last time asked. */
typedef struct held_value {
  const platelag_channel *channel;
  size_t row;
  double value; /* NaN before the first */
} held_value;

enum { MOST_ROWS_BACK = 256 }; /* in which a sparse channel must have a value */

static held_value hold_from(const platelag_channel *channel, int64_t at_ns) {
  held_value held = {.channel = channel, .value = NAN};
  held.row = plag_recording_rows(channel, INT64_MIN, at_ns).end;
  for (size_t back = 1; back <= held.row && back <= MOST_ROWS_BACK && isnan(held.value); back++)
    held.value = channel->value[held.row - back];
  return held;
}

static double value_at(held_value *held, int64_t at_ns) {
  for (; held->row < held->channel->count && held->channel->time_ns[held->row] <= at_ns;
       held->row++)
    if (!isnan(held->channel->value[held->row]))
      held->value = held->channel->value[held->row];
  return held->value;
}

static double correlation_at(const platelag_channel *leader, const platelag_channel *follower,
                             plag_rows_range rows, int64_t lag_ns) {
  correlation sums = {0};
  for (size_t block = 0; block < BLOCKS; block++) {
    const plag_rows_range part = block_of(rows, block);
    if (part.first >= part.end)
      continue;
    held_value held = hold_from(leader, follower->time_ns[part.first] - lag_ns);
    for (size_t row = part.first; row < part.end; row++) {
      const double x = value_at(&held, follower->time_ns[row] - lag_ns);
      const double y = follower->value[row];
      if (!isnan(x) && !isnan(y))
        correlate(&sums, x, y);
    }
  }
  return correlation_of(&sums);
}

double plag_behaviour_follows(const platelag_channel *leader, const platelag_channel *follower,
                              plag_rows_range rows) {
  static const double lag_s[] = {0.0, 0.15, 0.35, 0.7, 1.5};
  double best = 0.0;
  for (size_t i = 0; i < sizeof lag_s / sizeof lag_s[0]; i++) {
    const double found = correlation_at(leader, follower, rows, (int64_t)llround(lag_s[i] * 1e9));
    if (fabs(found) > fabs(best))
      best = found;
  }
  return best;
}

bool plag_behaviour_same(const platelag_channel *a, const platelag_channel *b) {
  if (a->count != b->count)
    return false;
  for (size_t i = 0; i < a->count; i++) {
    const bool both_missing = isnan(a->value[i]) && isnan(b->value[i]);
    if (a->time_ns[i] != b->time_ns[i] || (!both_missing && a->value[i] != b->value[i]))
      return false;
  }
  return true;
}
