/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A frozen signal repeats its last digit exactly while the command moves. Whether that is strange
 * depends on the signal: the dither seen elsewhere in the same trace says how likely a repeat is.
 */
#include "model/frozen.h"

#include <math.h>
#include <stdint.h>

#include "model/changes.h"

#define LEAST_SAMPLES  8
#define LEAST_S        2.0
#define ASKED_PCT      10.0     /* the target must have moved this far meanwhile */
#define LEAST_EVIDENCE 14.0     /* -ln of the chance of so many repeats */
#define LEAST_PAIRS    15       /* to know how likely a repeat is */
#define SURE_SD        1.64     /* a repeat is taken to be likelier than seen by so many sd */
#define NOT_ASKED      SIZE_MAX /* of a reading: there was none after the target had moved */
#define FLAT_PCT       10.0     /* a map that spans less says nothing of what was asked */

/* Equal readings in a row, and what was asked meanwhile. Only what repeats after the target has
 * moved is strange: plates at rest read the same for as long as they are left alone, and for their
 * dead time after that. */
typedef struct run {
  size_t first, asked, end; /* `asked`: the first reading after the target had moved; else `end` */
  double asked_low_pct, asked_high_pct;
} run;

typedef struct tally {
  double equal, pairs; /* neighbours while still, outside suspicious runs */
} tally;

typedef void (*take_run)(plag_model *model, const run *found, tally *seen);

static bool is_suspicious(const plag_model *model, const run *found) {
  const platelag_trace *trace = model->trace;
  return found->end >= found->asked + LEAST_SAMPLES &&
         platelag_seconds(trace->time_ns[found->end - 1] - trace->time_ns[found->asked]) >= LEAST_S;
}

static void count_repeats(plag_model *model, const run *found, tally *seen) {
  if (is_suspicious(model, found))
    return;
  const platelag_trace *trace = model->trace;
  const double repeats = (double)(found->end - found->first - 1);
  seen->equal += repeats;
  seen->pairs += repeats;
  if (found->end >= trace->sample_count)
    return;
  const double move_pct = platelag_trace_travel_pct(trace, trace->level[found->end]) -
                          platelag_trace_travel_pct(trace, trace->level[found->first]);
  if (fabs(move_pct) <= 5.0 * model->noise_pct)
    seen->pairs += 1.0;
}

static void mark_unlikely(plag_model *model, const run *found, tally *seen) {
  if (!is_suspicious(model, found))
    return;
  const double repeats = (double)(found->end - found->asked);
  const double share = (seen->equal + 1.0) / (seen->pairs + 2.0);
  const double sd = sqrt(share * (1.0 - share) / (seen->pairs + 2.0));
  const double chance = fmin(share + SURE_SD * sd, 0.999);
  if (-repeats * log(chance) < LEAST_EVIDENCE)
    return;
  for (size_t i = found->first; i < found->end; i++)
    if (!platelag_mode_is_void((platelag_mode)model->mode[i]))
      model->mode[i] = PLATELAG_MODE_FROZEN;
}

/* What is asked for where the guessed map is flat, as a signal that froze early makes it: the
 * command's own share of its span. */
static double asked_pct(const platelag_trace *trace, const plag_guess *guess, double command) {
  const double low = plag_guess_travel_pct(guess, trace->command_lowest);
  const double high = plag_guess_travel_pct(guess, trace->command_highest);
  const double span = trace->command_highest - trace->command_lowest;
  if (fabs(high - low) >= FLAT_PCT || !(span > 0.0))
    return plag_guess_travel_pct(guess, command);
  return 100.0 * (command - trace->command_lowest) / span;
}

static run begin_run(size_t first, double target_pct) {
  return (run){first, NOT_ASKED, first, target_pct, target_pct};
}

static void finish_run(plag_model *model, run *open, size_t end, take_run take, tally *seen) {
  open->end = end;
  open->asked = open->asked < end ? open->asked : end;
  take(model, open, seen);
}

static void each_run(plag_model *model, size_t index, const plag_guess *guess, take_run take,
                     tally *seen) {
  const platelag_trace *trace = model->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const size_t end = segment->first_sample + segment->sample_count;
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double target_pct = asked_pct(trace, guess, segment->command_at_start);
  run open = begin_run(segment->first_sample, target_pct);
  for (size_t i = segment->first_sample; i < end; i++) {
    if (trace->level[i] != trace->level[open.first]) {
      finish_run(model, &open, i, take, seen);
      open = begin_run(i, target_pct);
    }
    for (; changes.at_ns <= trace->time_ns[i]; plag_changes_advance(&changes)) {
      target_pct = asked_pct(trace, guess, changes.change.to);
      open.asked_low_pct = fmin(open.asked_low_pct, target_pct);
      open.asked_high_pct = fmax(open.asked_high_pct, target_pct);
    }
    if (open.asked == NOT_ASKED && open.asked_high_pct - open.asked_low_pct >= ASKED_PCT)
      open.asked = i + 1;
  }
  if (end > open.first)
    finish_run(model, &open, end, take, seen);
}

void plag_frozen_mark(plag_model *model, const plag_guess *guess) {
  tally seen = {0};
  for (size_t s = 0; s < model->trace->segment_count; s++)
    each_run(model, s, guess, count_repeats, &seen);
  if (seen.pairs < LEAST_PAIRS)
    return;
  for (size_t s = 0; s < model->trace->segment_count; s++)
    each_run(model, s, guess, mark_unlikely, &seen);
}
