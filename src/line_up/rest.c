/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/rest.h"

#include <math.h>

#include "core/statistics.h"

enum {
  MOST_STRETCHES = 256, /* at each end; the first ones */
  LAST_LEVELS = 31,     /* of a stretch, that speak for it */
  MOST_LEVELS = 4096    /* looked at for the range visited */
};

/* How near an end of its range the command must be, as a share of the range, and how long it must
 * have been there before a level counts as rest. Tried in this order. */
static const struct {
  double near_share;
  double settle_s;
} PATIENCE[] = {{0.05, 1.5}, {0.05, 0.7}, {0.15, 0.7}, {0.15, 0.35}};

/* The rest levels of one end. */
typedef struct end_levels {
  size_t count;
  double level[MOST_STRETCHES];
} end_levels;

/* The stretch that is being walked: which end the command is at (-1 low, +1 high, 0 neither). */
typedef struct steady {
  int end;
  int64_t since_ns;
  size_t seen;
  double level[LAST_LEVELS];
} steady;

static void close_stretch(steady *stretch, end_levels *low, end_levels *high) {
  const size_t kept = stretch->seen < LAST_LEVELS ? stretch->seen : LAST_LEVELS;
  end_levels *end = stretch->end < 0 ? low : high;
  if (kept > 0 && end->count < MOST_STRETCHES)
    end->level[end->count++] = plag_median(stretch->level, kept);
  stretch->seen = 0;
}

static int end_of(const platelag_trace *trace, double command, double near_share) {
  const double near_by = near_share * (trace->command_highest - trace->command_lowest);
  if (command <= trace->command_lowest + near_by)
    return -1;
  return command >= trace->command_highest - near_by ? 1 : 0;
}

typedef struct resting {
  double near_share;
  int64_t settle_ns;
  plag_believable believable;
} resting;

static void walk_segment(const platelag_trace *trace, const platelag_trace_segment *segment,
                         const resting *rule, end_levels *low, end_levels *high) {
  steady now = {.since_ns = segment->from_ns};
  now.end = end_of(trace, segment->command_at_start, rule->near_share);
  size_t change = 0;
  for (size_t i = 0; i < segment->sample_count; i++) {
    const size_t sample = segment->first_sample + i;
    while (change < segment->change_count) {
      const size_t row = trace->change_row[segment->first_change + change];
      if (trace->command->time_ns[row] > trace->time_ns[sample])
        break;
      const int end = end_of(trace, trace->command->value[row], rule->near_share);
      if (end != now.end) {
        close_stretch(&now, low, high);
        now.end = end;
        now.since_ns = trace->command->time_ns[row];
      }
      change++;
    }
    const double level = trace->level[sample];
    if (now.end != 0 && trace->time_ns[sample] - now.since_ns >= rule->settle_ns &&
        level >= rule->believable.lowest && level <= rule->believable.highest)
      now.level[now.seen++ % LAST_LEVELS] = level;
  }
  close_stretch(&now, low, high);
}

/* Plates that stick rest short of the stop, never beyond it: the outer quartile of the stretches is
 * nearer to the stop than their median. */
static plag_rest outer_quartiles(end_levels *low, end_levels *high) {
  const bool rising = plag_median(high->level, high->count) >= plag_median(low->level, low->count);
  return (plag_rest){.found = true,
                     .at_low = plag_quantile(low->level, low->count, rising ? 0.25 : 0.75),
                     .at_high = plag_quantile(high->level, high->count, rising ? 0.75 : 0.25)};
}

static bool walk(const platelag_trace *trace, const resting *rule, end_levels *low,
                 end_levels *high) {
  low->count = 0;
  high->count = 0;
  for (size_t i = 0; i < trace->segment_count; i++)
    if (!isnan(trace->segment[i].command_at_start))
      walk_segment(trace, &trace->segment[i], rule, low, high);
  return low->count > 0 && high->count > 0;
}

plag_rest plag_rest_learn(const platelag_trace *trace, plag_believable believable) {
  end_levels low;
  end_levels high;
  if (trace->command == NULL || !(trace->command_highest > trace->command_lowest))
    return (plag_rest){.at_low = NAN, .at_high = NAN};
  const plag_believable all = {-INFINITY, INFINITY};
  const size_t patiences = sizeof PATIENCE / sizeof PATIENCE[0];
  for (size_t i = 0; i < 2 * patiences; i++) {
    const size_t patience = i % patiences;
    const resting rule = {.near_share = PATIENCE[patience].near_share,
                          .settle_ns = (int64_t)llround(PATIENCE[patience].settle_s * 1e9),
                          .believable = i < patiences ? believable : all};
    if (walk(trace, &rule, &low, &high))
      return outer_quartiles(&low, &high);
  }
  return (plag_rest){.at_low = NAN, .at_high = NAN};
}

plag_rest plag_rest_range(const platelag_trace *trace, plag_believable believable) {
  double level[MOST_LEVELS];
  size_t count = 0;
  const size_t stride = 1 + trace->sample_count / MOST_LEVELS;
  for (size_t i = 0; i < trace->sample_count && count < MOST_LEVELS; i += stride)
    if (trace->level[i] >= believable.lowest && trace->level[i] <= believable.highest)
      level[count++] = trace->level[i];
  if (count == 0)
    return (plag_rest){.at_low = NAN, .at_high = NAN};
  return (plag_rest){.found = true,
                     .at_low = plag_quantile(level, count, 0.01),
                     .at_high = plag_quantile(level, count, 0.99)};
}
