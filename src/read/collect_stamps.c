/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The stamps of a row by one clock or several. A single clock that goes astray takes all channels
 * with it, which stay in step. One of several would shift its own channel against the others for
 * good: a stamp that lies far off by itself must not. */
#include <math.h>

#include "core/error.h"
#include "read/collect.h"

static bool is_of(const plag_collector *c, size_t column, size_t clock) {
  return c->shape.clock_of[column] == (int)clock;
}

/* The stamp that waited was a pause or a new beginning. */
static platelag_status release(plag_collector *c, size_t which, platelag_error *error) {
  plag_clock *clock = &c->clock[which];
  int64_t ns = 0;
  clock->waits = false;
  const platelag_status status = plag_collect_step_clock(c, which, clock->waiting_raw_ns,
                                                         clock->waiting_line, false, &ns, error);
  if (status != PLATELAG_OK)
    return status;
  if (which == 0 && clock->form.quantum_ns == 0)
    plag_collect_extend(c, ns);
  for (size_t i = 0; i < c->column_count; i++) {
    if (is_of(c, i, which) && !plag_column_keep(&c->column[i], ns, c->column[i].waiting))
      return plag_error_memory(error, "the samples");
    c->column[i].waiting = is_of(c, i, which) ? NAN : c->column[i].waiting;
  }
  return PLATELAG_OK;
}

static void leave_out_stray(plag_collector *c, size_t which) {
  plag_clock *clock = &c->clock[which];
  clock->waits = false;
  plag_clock_add(&clock->stray, clock->waiting_line);
  for (size_t i = 0; i < c->column_count; i++)
    if (is_of(c, i, which))
      c->column[i].waiting = NAN;
}

static platelag_status take_stamp(plag_collector *c, size_t which, const plag_row *row, bool anew,
                                  plag_row_stamps *stamps, platelag_error *error) {
  plag_clock *clock = &c->clock[which];
  const int64_t raw_ns = stamps->ns[which];
  const bool alone = c->shape.clock_count == 1;
  if (clock->waits && !anew && !plag_clock_is_far(clock, raw_ns)) {
    leave_out_stray(c, which);
  } else if (clock->waits) {
    const platelag_status status = release(c, which, error);
    if (status != PLATELAG_OK)
      return status;
  }
  if (!alone && !anew && plag_clock_is_far(clock, raw_ns)) {
    clock->waits = true;
    clock->waiting_raw_ns = raw_ns;
    clock->waiting_line = row->line;
    stamps->use[which] = PLAG_STAMP_WAITS;
    return PLATELAG_OK;
  }
  stamps->use[which] = PLAG_STAMP_TIMES;
  return plag_collect_step_clock(c, which, raw_ns, row->line, anew, &stamps->ns[which], error);
}

platelag_status plag_collect_stamps(plag_collector *c, const plag_row *row, bool anew,
                                    plag_row_stamps *stamps, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < c->shape.clock_count && status == PLATELAG_OK; i++) {
    stamps->use[i] = PLAG_STAMP_NONE;
    if (stamps->answer[i] == PLAG_CLOCK_READ)
      status = take_stamp(c, i, row, anew && i == 0, stamps, error);
    else if (stamps->answer[i] == PLAG_CLOCK_BAD)
      plag_clock_add(&c->clock[i].bad, row->line);
  }
  return status;
}

platelag_status plag_collect_waiting(plag_collector *c, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < c->shape.clock_count && status == PLATELAG_OK; i++)
    if (c->clock[i].waits)
      status = release(c, i, error);
  return status;
}
