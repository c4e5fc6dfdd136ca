/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The times of rows while they are collected: several clocks of one file, segments, stamps that
 * rows share. */
#include <math.h>
#include <stdlib.h>

#include "core/array.h"
#include "core/error.h"
#include "read/collect.h"
#include "read/spread.h"

/* Gives the rows of the open group their times, now that their number is known. */
static void close_group(plag_collector *c, plag_spread_place place) {
  const int64_t quantum_ns = c->clock[0].form.quantum_ns;
  const double usual = c->clock[0].form.rows_a_quantum;
  if (quantum_ns == 0 || c->group_rows == 0)
    return;
  if (c->group_opens && place == PLAG_SPREAD_INNER)
    place = PLAG_SPREAD_FIRST;
  for (size_t i = c->group; i < c->time_count; i++)
    c->time_ns[i] = plag_spread_at(c->group_ns, quantum_ns, i - c->group, c->time_count - c->group,
                                   usual, place);
  if (c->shape.kind != PLAG_SHAPE_ONE_CLOCK)
    for (size_t k = 0; k < c->column_count; k++) {
      plag_column *column = &c->column[k];
      for (size_t i = column->group; i < column->count; i++)
        column->time_ns[i] = plag_spread_at(c->group_ns, quantum_ns, i - column->group,
                                            column->count - column->group, 0, PLAG_SPREAD_INNER);
      column->group = column->count;
    }
  platelag_segment *segment = &c->segment[c->segment_count - 1];
  if (c->group_opens)
    segment->from_ns = plag_spread_at(c->group_ns, quantum_ns, 0, c->group_rows, usual, place);
  segment->to_ns =
      plag_spread_at(c->group_ns, quantum_ns, c->group_rows - 1, c->group_rows, usual, place);
  c->group = c->time_count;
  c->group_rows = 0;
  c->group_opens = false;
}

static bool begin_segment(plag_collector *c, int64_t ns, platelag_break why) {
  void *grown = c->segment;
  if (!plag_array_reserve(&grown, &c->segment_capacity, c->segment_count + 1, sizeof *c->segment))
    return false;
  c->segment = grown;
  c->segment[c->segment_count++] =
      (platelag_segment){.from_ns = ns, .to_ns = ns, .why = why, .run = c->current_run};
  c->group_opens = true;
  for (size_t i = 0; i < c->column_count; i++) {
    plag_refresh_break(&c->column[i].refresh);
    c->column[i].held = NAN;
    c->column[i].last_ns = INT64_MIN;
  }
  return true;
}

/* All clocks begin anew at one time: the first that does says when. */
static int64_t restart_together(plag_collector *c, size_t which, int64_t raw_ns, int64_t ns) {
  plag_clock *clock = &c->clock[which];
  if (c->shape.clock_count == 1)
    return ns;
  if (c->generation[which] == c->restarts) {
    c->restarts++;
    c->base_raw_ns = raw_ns;
    c->base_ns = ns;
    for (size_t i = 0; i < c->shape.clock_count; i++)
      if (c->clock[i].last_ns + plag_clock_gap_ns(&clock->form) > c->base_ns)
        c->base_ns = c->clock[i].last_ns + plag_clock_gap_ns(&clock->form);
  }
  c->generation[which] = c->restarts;
  const int64_t off = raw_ns - c->base_raw_ns;
  const int64_t before = ns - plag_clock_gap_ns(&clock->form); /* its own time never falls */
  clock->last_ns = c->base_ns + (llabs(off) < INT64_C(3600000000000) ? off : 0);
  if (clock->last_ns < before)
    clock->last_ns = before;
  if (clock->last_ns > PLAG_CLOCK_MOST_NS)
    clock->last_ns = PLAG_CLOCK_MOST_NS;
  return clock->last_ns;
}

platelag_status plag_collect_step_clock(plag_collector *c, size_t which, int64_t raw_ns,
                                        int64_t line, bool anew, int64_t *ns,
                                        platelag_error *error) {
  plag_clock *clock = &c->clock[which];
  if (!clock->started && c->based) {
    const int64_t off = raw_ns - c->base_raw_ns;
    if (llabs(off) < INT64_C(86400000000000))
      clock->last_ns = off;
  } else if (!c->based) {
    c->base_raw_ns = raw_ns;
    c->first_clock = which;
    c->first_line = line;
    c->based = true;
  }
  platelag_break why = PLATELAG_BREAK_START;
  bool begins = false;
  *ns = plag_clock_step(clock, raw_ns, line, anew, &why, &begins);
  const bool restarts = why == PLATELAG_BREAK_RESTART || why == PLATELAG_BREAK_RUN;
  const size_t before = c->restarts;
  if (begins && restarts)
    *ns = restart_together(c, which, raw_ns, *ns);
  if (*ns < c->earliest_ns)
    c->earliest_ns = *ns;
  const bool joins = begins && restarts && c->shape.clock_count > 1 && c->restarts == before;
  if (joins || (begins && why == PLATELAG_BREAK_START && c->segment_count > 0))
    begins = false; /* another clock began, or began anew, before */
  if (joins && *ns < c->segment[c->segment_count - 1].from_ns)
    c->segment[c->segment_count - 1].from_ns = *ns;
  if (which > 0 && c->segment_count > 0 && !(restarts && c->restarts > before))
    return PLATELAG_OK;
  if (clock->form.quantum_ns > 0 && (begins || *ns != c->group_ns)) {
    close_group(c, begins ? PLAG_SPREAD_LAST : PLAG_SPREAD_INNER);
    c->group_ns = *ns;
  }
  if (begins && !begin_segment(c, *ns, why))
    return plag_error_memory(error, "the segments");
  return PLATELAG_OK;
}

void plag_collect_extend(plag_collector *c, int64_t ns) {
  platelag_segment *segment = &c->segment[c->segment_count - 1];
  if (c->segment_count > 1 && ns < segment->from_ns)
    segment--; /* another clock has begun anew already */
  segment->to_ns = ns;
}

void plag_collect_close(plag_collector *c) {
  close_group(c, PLAG_SPREAD_LAST);
}
