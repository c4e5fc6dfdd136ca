/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/stretches.h"

#include <math.h>
#include <stdint.h>

#include "core/error.h"
#include "model/workspace.h"

#define PIECES        8 /* of a capture too long to be taken whole */
#define PIECE_SAMPLES (PLAG_STRETCH_SAMPLES / PIECES)
#define LEAST_COUNT   6  /* readings of a stretch */
#define KNOTS         6  /* of a duty */
#define BINS          64 /* of the command's range, to place knots by */

typedef struct cut {
  const plag_model *model;
  bool without_held;
  plag_stretches *out;
} cut;

/* First sample of the segment at or behind `at_ns`. */
static size_t sample_from(const platelag_trace *trace, const platelag_trace_segment *segment,
                          int64_t at_ns) {
  size_t low = segment->first_sample;
  size_t high = low + segment->sample_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (trace->time_ns[middle] < at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

/* First change of the segment seen behind `at_ns`. */
static size_t change_behind(const platelag_trace *trace, const platelag_trace_segment *segment,
                            int64_t at_ns) {
  size_t low = segment->first_change;
  size_t high = low + segment->change_count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (platelag_trace_change_at(trace, middle).by_ns <= at_ns)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

static bool is_next_to(const plag_stretch_event *one, const plag_stretch_event *next) {
  return next->by_s - next->width_s - one->by_s < 0.5 * next->width_s;
}

/* Takes the doubt off the changes that make up ramps: each next to the other, the same way, about
 * as far. Marks changes that stand apart. */
static void find_ramps(plag_stretches *s, const plag_stretch *stretch) {
  plag_stretch_event *event = s->event + stretch->first_event;
  double last_step = NAN;
  bool next_to_last = false;
  for (size_t i = 0; i < stretch->event_count; i++) {
    const double step = event[i].command - (i > 0 ? event[i - 1].command : stretch->command);
    const bool next_to_next = i + 1 < stretch->event_count && is_next_to(&event[i], &event[i + 1]);
    const double share = step / last_step;
    if (next_to_last && share > 0.4 && share < 2.5)
      event[i - 1].unsure_s = event[i].unsure_s = 0.0;
    event[i].alone = !next_to_last && !next_to_next;
    next_to_last = next_to_next;
    last_step = step;
  }
}

static void list_events(cut *c, const platelag_trace_segment *segment, int64_t start_ns,
                        int64_t end_ns, plag_stretch *stretch) {
  const platelag_trace *trace = c->model->trace;
  plag_stretches *out = c->out;
  const size_t end = segment->first_change + segment->change_count;
  size_t k = change_behind(trace, segment, start_ns - (int64_t)(PLAG_STRETCH_LEAD_S * 1e9));
  stretch->command = k > segment->first_change ? platelag_trace_change_at(trace, k - 1).to
                                               : segment->command_at_start;
  for (; k < end && out->event_count < PLAG_STRETCH_EVENTS; k++) {
    const platelag_command_change change = platelag_trace_change_at(trace, k);
    if (change.after_ns > end_ns)
      break;
    out->event[out->event_count++] = (plag_stretch_event){
        .by_s = platelag_seconds(change.by_ns - start_ns),
        .width_s = platelag_seconds(change.by_ns - change.after_ns),
        .unsure_s = platelag_seconds(change.by_ns - change.after_ns),
        .command = change.to,
    };
    stretch->event_count++;
  }
  find_ramps(c->out, stretch);
}

/* Samples [from, to) of one segment, none held, as one stretch. */
static void add_stretch(cut *c, const platelag_trace_segment *segment, size_t from, size_t to) {
  const platelag_trace *trace = c->model->trace;
  plag_stretches *out = c->out;
  while (from < to && platelag_mode_is_void((platelag_mode)c->model->mode[from]))
    from++; /* plates start where they are read */
  const size_t room = PLAG_STRETCH_SAMPLES - out->sample_count;
  to = to - from > room ? from + room : to;
  if (to < from + LEAST_COUNT || out->count == PLAG_STRETCHES)
    return;
  plag_stretch stretch = {.first = out->sample_count, .first_event = out->event_count};
  list_events(c, segment, trace->time_ns[from], trace->time_ns[to - 1], &stretch);
  if (isnan(stretch.command)) {
    out->event_count = stretch.first_event;
    return;
  }
  for (size_t i = from; i < to; i++) {
    const size_t at = out->sample_count++;
    out->time_s[at] = platelag_seconds(trace->time_ns[i] - trace->time_ns[from]);
    out->travel_pct[at] = platelag_trace_travel_pct(trace, trace->level[i]);
    out->usable[at] = !platelag_mode_is_void((platelag_mode)c->model->mode[i]);
  }
  stretch.count = to - from;
  out->stretch[out->count++] = stretch;
}

static void add_samples(cut *c, const platelag_trace_segment *segment, size_t from, size_t to) {
  size_t start = from;
  for (size_t i = from; c->without_held && i < to; i++)
    if (c->model->mode[i] == PLATELAG_MODE_HELD) {
      add_stretch(c, segment, start, i);
      start = i + 1;
    }
  add_stretch(c, segment, start, to);
}

static void add_whole(cut *c) {
  const platelag_trace *trace = c->model->trace;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const platelag_trace_segment *segment = &trace->segment[s];
    add_samples(c, segment, segment->first_sample, segment->first_sample + segment->sample_count);
  }
}

/* Pieces that begin shortly before a change, evenly spread over the changes. */
static void add_pieces(cut *c) {
  const platelag_trace *trace = c->model->trace;
  size_t done = 0;
  for (size_t piece = 0; piece < PIECES; piece++) {
    const platelag_command_change change =
        platelag_trace_change_at(trace, piece * trace->change_count / PIECES);
    const platelag_trace_segment *segment = &trace->segment[change.segment];
    size_t from = sample_from(trace, segment, change.after_ns);
    from = from < segment->first_sample + 4 ? segment->first_sample : from - 4;
    from = from < done ? done : from;
    size_t to = from + PIECE_SAMPLES;
    const size_t end = segment->first_sample + segment->sample_count;
    to = to > end ? end : to;
    if (from >= to)
      continue;
    add_samples(c, segment, from, to);
    done = to;
  }
}

static plag_knot_place place_of(const plag_stretches *s, double command) {
  if (s->knots < 2 || command <= s->knot_command[0])
    return (plag_knot_place){0, 0, 0.0};
  for (size_t k = 1; k < s->knots; k++)
    if (command <= s->knot_command[k])
      return (plag_knot_place){(unsigned char)(k - 1), (unsigned char)k,
                               (command - s->knot_command[k - 1]) /
                                   (s->knot_command[k] - s->knot_command[k - 1])};
  const unsigned char last = (unsigned char)(s->knots - 1);
  return (plag_knot_place){last, last, 0.0};
}

/* Two knots for two levels; for a duty, knots halfway between evenly spaced over its range and
 * evenly spread over its changes: bends can be anywhere, but only where there are data are they
 * seen. */
static void choose_knots(plag_stretches *s) {
  double low = INFINITY;
  double high = -INFINITY;
  for (size_t i = 0; i < s->count + s->event_count; i++) {
    const double command = i < s->count ? s->stretch[i].command : s->event[i - s->count].command;
    low = fmin(low, command);
    high = fmax(high, command);
  }
  s->knots = 0;
  if (!(high > low))
    return;
  size_t bin[BINS] = {0};
  for (size_t i = 0; i < s->event_count; i++)
    bin[(size_t)fmin((s->event[i].command - low) / (high - low) * BINS, BINS - 1)]++;
  size_t levels = 0;
  for (size_t i = 0; i < BINS; i++)
    levels += bin[i] > 0;
  const size_t knots = levels < KNOTS ? (levels < 2 ? 2 : levels) : KNOTS;
  s->knot_command[s->knots++] = low;
  size_t below = 0;
  for (size_t i = 0; i < BINS && s->knots + 1 < knots; i++) {
    below += bin[i];
    const double share = (double)s->knots / (double)(knots - 1);
    const double even = low + share * (high - low);
    const double here = low + ((double)i + 0.5) / BINS * (high - low);
    if ((double)below >= share * (double)s->event_count) {
      const double knot = levels < KNOTS ? here : 0.5 * (here + even);
      if (knot > s->knot_command[s->knots - 1] + 0.02 * (high - low) &&
          knot < high - 0.02 * (high - low))
        s->knot_command[s->knots++] = knot;
    }
  }
  s->knot_command[s->knots++] = high;
}

platelag_status plag_stretches_build(plag_model *model, bool without_held, plag_stretches *out,
                                     platelag_error *error) {
  platelag_workspace *workspace = model->workspace;
  *out = (plag_stretches){
      .stretch = plag_workspace_take(workspace, PLAG_STRETCHES, sizeof(plag_stretch)),
      .time_s = plag_workspace_take(workspace, PLAG_STRETCH_SAMPLES, sizeof(double)),
      .travel_pct = plag_workspace_take(workspace, PLAG_STRETCH_SAMPLES, sizeof(double)),
      .timing_pct2 = plag_workspace_take(workspace, PLAG_STRETCH_SAMPLES, sizeof(double)),
      .usable = plag_workspace_take(workspace, PLAG_STRETCH_SAMPLES, sizeof(bool)),
      .event = plag_workspace_take(workspace, PLAG_STRETCH_EVENTS, sizeof(plag_stretch_event)),
  };
  if (!out->stretch || !out->time_s || !out->travel_pct || !out->timing_pct2 || !out->usable ||
      !out->event)
    return plag_error_memory(error, "stretches of the record");
  cut c = {model, without_held, out};
  if (model->trace->sample_count <= PLAG_STRETCH_SAMPLES)
    add_whole(&c);
  else
    add_pieces(&c);
  choose_knots(out);
  for (size_t i = 0; i < out->count; i++)
    out->stretch[i].place = place_of(out, out->stretch[i].command);
  for (size_t i = 0; i < out->event_count; i++)
    out->event[i].place = place_of(out, out->event[i].command);
  return PLATELAG_OK;
}
