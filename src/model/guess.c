/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/guess.h"

#include <math.h>

#include "core/lesser.h"
#include "model/changes.h"

#define REST_S       0.7 /* a command that stood this long has mostly been answered */
#define TRAVEL_BINS  36  /* of 5 %, from -40 to 140 % of travel */
#define TRAVEL_LEAST (-40.0)
#define TRAVEL_WIDTH 5.0

typedef struct counts {
  uint32_t samples[PLAG_GUESS_BINS];
  double command_sum[PLAG_GUESS_BINS];
  uint32_t travel[PLAG_GUESS_BINS][TRAVEL_BINS];
} counts;

static int command_bin(const platelag_trace *trace, double command) {
  const double span = trace->command_highest - trace->command_lowest;
  if (!(span > 0.0))
    return 0;
  const double place = (command - trace->command_lowest) / span * PLAG_GUESS_BINS;
  return (int)plag_lesser(plag_greater(place, 0.0), PLAG_GUESS_BINS - 1);
}

static void count_sample(counts *seen, int bin, double command, double travel_pct) {
  const double place = (travel_pct - TRAVEL_LEAST) / TRAVEL_WIDTH;
  seen->samples[bin]++;
  seen->command_sum[bin] += command;
  seen->travel[bin][(int)plag_lesser(plag_greater(place, 0.0), TRAVEL_BINS - 1)]++;
}

static void count_segment(const platelag_trace *trace, size_t index, double rest_s, counts *seen) {
  const platelag_trace_segment *segment = &trace->segment[index];
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double command = segment->command_at_start;
  int64_t since_ns = segment->from_ns;
  for (size_t i = segment->first_sample; i < segment->first_sample + segment->sample_count; i++) {
    while (changes.at_ns <= trace->time_ns[i]) {
      command = changes.change.to;
      since_ns = changes.at_ns;
      plag_changes_advance(&changes);
    }
    if (!isnan(command) && platelag_seconds(trace->time_ns[i] - since_ns) >= rest_s)
      count_sample(seen, command_bin(trace, command), command,
                   platelag_trace_travel_pct(trace, trace->level[i]));
  }
}

static double median_of(const uint32_t *count, uint32_t samples) {
  uint32_t below = 0;
  for (int k = 0; k < TRAVEL_BINS; k++) {
    if (2 * (below + count[k]) >= samples)
      return TRAVEL_LEAST + TRAVEL_WIDTH * (k + (0.5 * samples - (double)below) / (double)count[k]);
    below += count[k];
  }
  return NAN;
}

static void count_all(const platelag_trace *trace, double rest_s, counts *seen) {
  *seen = (counts){0};
  for (size_t s = 0; s < trace->segment_count; s++)
    count_segment(trace, s, rest_s, seen);
}

void plag_guess_build(const platelag_trace *trace, plag_guess *guess) {
  guess->knots = 0;
  if (trace->command_kind == PLATELAG_COMMAND_ABSENT)
    return;
  counts seen;
  count_all(trace, REST_S, &seen);
  int used = 0;
  for (int k = 0; k < PLAG_GUESS_BINS; k++)
    used += seen.samples[k] > 0;
  if (used < 2) /* a command that never rests: take what there is */
    count_all(trace, 0.0, &seen);
  for (int k = 0; k < PLAG_GUESS_BINS; k++) {
    if (seen.samples[k] == 0)
      continue;
    guess->command[guess->knots] = seen.command_sum[k] / seen.samples[k];
    guess->travel_pct[guess->knots] = median_of(seen.travel[k], seen.samples[k]);
    guess->knots++;
  }
}

double plag_guess_travel_pct(const plag_guess *guess, double command) {
  if (guess->knots == 0 || isnan(command))
    return NAN;
  const int last = guess->knots - 1;
  if (command <= guess->command[0])
    return guess->travel_pct[0];
  for (int k = 1; k <= last; k++) {
    if (command > guess->command[k])
      continue;
    const double share =
        (command - guess->command[k - 1]) / (guess->command[k] - guess->command[k - 1]);
    return guess->travel_pct[k - 1] + share * (guess->travel_pct[k] - guess->travel_pct[k - 1]);
  }
  return guess->travel_pct[last];
}
