/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/updates.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"

enum {
  MOST_LOOKED_AT = 4096, /* distances between changes, steps */
  MOST_PERIODS = 1024,
  MOST_ROWS_PER_UPDATE = 16,
  NEAR_ROWS = 64,       /* distances below are counted first and divided once */
  FEWEST_DISTANCES = 12 /* chance makes all of them even in one of 4096 traces */
};

/* Of the distances between changes, those that must be a multiple of the update's. */
static const double MULTIPLE_SHARE = 0.96;

static bool in_run(const plag_recording *recording, size_t *segment, int64_t time_ns) {
  while (*segment < recording->segment_count && time_ns > recording->segment[*segment].to_ns)
    (*segment)++;
  return *segment < recording->segment_count && time_ns >= recording->segment[*segment].from_ns;
}

static void add_multiples(size_t distance, size_t times,
                          size_t multiples[MOST_ROWS_PER_UPDATE + 1]) {
  for (size_t k = 2; k <= MOST_ROWS_PER_UPDATE; k++)
    if (distance % k == 0)
      multiples[k] += times;
}

/* How many distances between changes, in present rows, are multiples of each k; returns how many
 * distances there are. */
static size_t count_multiples(const plag_recording *recording, const platelag_channel *channel,
                              size_t multiples[MOST_ROWS_PER_UPDATE + 1]) {
  size_t near[NEAR_ROWS] = {0};
  size_t distances = 0;
  for (size_t s = 0; s < recording->segment_count && distances < MOST_LOOKED_AT; s++) {
    const plag_rows_range rows =
        plag_recording_rows(channel, recording->segment[s].from_ns, recording->segment[s].to_ns);
    double last = NAN;
    size_t present = 0;
    size_t changed_at = 0;
    bool changed = false;
    for (size_t row = rows.first; row < rows.end && distances < MOST_LOOKED_AT; row++) {
      const double value = channel->value[row];
      if (isnan(value))
        continue;
      if (present > 0 && value != last) {
        if (changed && present - changed_at < NEAR_ROWS)
          near[present - changed_at]++;
        else if (changed)
          add_multiples(present - changed_at, 1, multiples);
        distances += changed;
        changed_at = present;
        changed = true;
      }
      last = value;
      present++;
    }
  }
  for (size_t distance = 1; distance < NEAR_ROWS; distance++)
    if (near[distance] > 0)
      add_multiples(distance, near[distance], multiples);
  return distances;
}

int plag_updates_rows_per_change(const plag_recording *recording, const platelag_channel *channel) {
  size_t multiples[MOST_ROWS_PER_UPDATE + 1] = {0};
  const size_t distances = count_multiples(recording, channel, multiples);
  if (distances < FEWEST_DISTANCES)
    return 1;
  for (int k = MOST_ROWS_PER_UPDATE; k > 1; k--)
    if ((double)multiples[k] >= MULTIPLE_SHARE * (double)distances)
      return k;
  return 1;
}

bool plag_updates_changes_fit(const plag_recording *recording, const platelag_channel *channel,
                              int rows) {
  size_t multiples[MOST_ROWS_PER_UPDATE + 1] = {0};
  const size_t distances = count_multiples(recording, channel, multiples);
  return distances >= 3 && (double)multiples[rows] >= MULTIPLE_SHARE * (double)distances;
}

/* Walks the run's present rows and says of each whether it is a true update: a changed value is,
 * and so is the row that is `rows_per_update` after the last one, which keeps step with a recorder
 * that drops rows. */
typedef struct walker {
  const plag_recording *recording;
  const platelag_channel *channel;
  int rows_per_update;
  size_t segment;
  size_t last_segment;
  int since;
  double last;
} walker;

/* The present rows before the first change in the segment that begins at `row`, modulo the rows per
 * update: at which of them the updates fall. */
static int phase_from(const walker *walk, size_t row) {
  const int64_t end_ns = walk->recording->segment[walk->segment].to_ns;
  const double first = walk->channel->value[row];
  int present = 0;
  for (; row < walk->channel->count && walk->channel->time_ns[row] <= end_ns; row++) {
    const double value = walk->channel->value[row];
    if (isnan(value))
      continue;
    if (value != first)
      break;
    present = (present + 1) % walk->rows_per_update;
  }
  return present;
}

static bool is_update(walker *walk, size_t row) {
  const double value = walk->channel->value[row];
  if (walk->segment != walk->last_segment) {
    walk->last_segment = walk->segment;
    walk->since = walk->rows_per_update - phase_from(walk, row);
    if (walk->since == walk->rows_per_update)
      walk->since = 0;
    walk->last = value;
    /* The first rows are kept only where an update falls on them. */
    if (walk->since != 0) {
      walk->since++;
      return false;
    }
    walk->since = 1;
    return true;
  }
  if (value != walk->last || walk->since >= walk->rows_per_update) {
    walk->last = value;
    walk->since = 1;
    return true;
  }
  walk->since++;
  return false;
}

/* Counts, or with arrays copies, the updates. */
static size_t gather(walker walk, plag_rows_range rows, int64_t *time_ns, double *level,
                     size_t *missing, size_t *present) {
  size_t count = 0;
  for (size_t row = rows.first; row < rows.end; row++) {
    if (!in_run(walk.recording, &walk.segment, walk.channel->time_ns[row]))
      continue;
    if (isnan(walk.channel->value[row])) {
      (*missing)++;
      continue;
    }
    (*present)++;
    if (walk.rows_per_update > 1 && !is_update(&walk, row))
      continue;
    if (time_ns != NULL) {
      time_ns[count] = walk.channel->time_ns[row];
      level[count] = walk.channel->value[row];
    }
    count++;
  }
  return count;
}

double plag_updates_present_period_s(const platelag_channel *channel, plag_rows_range rows) {
  double period[MOST_PERIODS];
  size_t count = 0;
  int64_t last_ns = -1;
  for (size_t row = rows.first; row < rows.end && count < MOST_PERIODS; row++) {
    if (isnan(channel->value[row]))
      continue;
    if (last_ns >= 0)
      period[count++] = (double)(channel->time_ns[row] - last_ns) * 1e-9;
    last_ns = channel->time_ns[row];
  }
  return count > 0 ? plag_median(period, count) : 0.0;
}

/* Of `count` stamps, a thousand spread evenly. */
static double median_period_s(const int64_t *time_ns, size_t count) {
  double period[MOST_PERIODS];
  size_t taken = 0;
  const size_t stride = 1 + count / MOST_PERIODS;
  for (size_t i = 1; i < count && taken < MOST_PERIODS; i += stride)
    period[taken++] = (double)(time_ns[i] - time_ns[i - 1]) * 1e-9;
  return taken > 0 ? plag_median(period, taken) : 0.0;
}

platelag_status plag_updates_take(const plag_recording *recording, const platelag_channel *channel,
                                  plag_arena *arena, plag_updates *out, platelag_error *error) {
  const plag_rows_range rows = plag_recording_run_rows(recording, channel);
  *out = (plag_updates){.rows_per_update = plag_updates_rows_per_change(recording, channel)};
  out->row_period_s = plag_updates_present_period_s(channel, rows);
  const walker start = {.recording = recording,
                        .channel = channel,
                        .rows_per_update = out->rows_per_update,
                        .last_segment = SIZE_MAX};
  size_t present = 0;
  out->count = gather(start, rows, NULL, NULL, &out->missing, &present);
  out->repeats = present - out->count;
  if (out->count == rows.end - rows.first) {
    out->time_ns = channel->time_ns + rows.first;
    out->level = channel->value + rows.first;
  } else {
    int64_t *time_ns = plag_arena_take_array(arena, out->count + 1, sizeof *time_ns);
    double *level = plag_arena_take_array(arena, out->count + 1, sizeof *level);
    if (time_ns == NULL || level == NULL)
      return plag_error_memory(error, "the samples of the position");
    size_t again[2] = {0};
    (void)gather(start, rows, time_ns, level, &again[0], &again[1]);
    out->time_ns = time_ns;
    out->level = level;
  }
  out->refresh_s = median_period_s(out->time_ns, out->count);
  return PLATELAG_OK;
}

double plag_updates_quantum(const double *level, size_t count) {
  double step[MOST_LOOKED_AT];
  size_t taken = 0;
  for (size_t i = 1; i < count && taken < MOST_LOOKED_AT; i++) {
    const double change = fabs(level[i] - level[i - 1]);
    if (change > 1e-9 * (fabs(level[i]) + fabs(level[i - 1])))
      step[taken++] = change;
  }
  /* Not the very smallest: a rounded print of a coarse converter now and then shows less. */
  return taken > 0 ? plag_quantile(step, taken, 0.01) : 0.0;
}
