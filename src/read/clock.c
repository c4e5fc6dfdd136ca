/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/clock.h"

#include <math.h>

#define SECOND_NS INT64_C(1000000000)
#define HOUR_NS   (3600 * SECOND_NS)
#define DAY_NS    (24 * HOUR_NS)

static plag_clock_answer read_number(const plag_clock_form *form, plag_cell cell, int64_t *raw) {
  int64_t whole = 0, billionths = 0;
  int decimals = 0;
  if (plag_clock_number_read(cell.text, cell.length, form->notation.decimal, &whole, &billionths,
                             &decimals)) {
    int64_t fraction = billionths; /* of a second */
    if (billionths != 0 && form->unit_ns != SECOND_NS)
      fraction = (int64_t)llround((double)billionths * 1e-9 * (double)form->unit_ns);
    return !__builtin_mul_overflow(whole, form->unit_ns, raw) &&
                   !__builtin_add_overflow(*raw, fraction, raw)
               ? PLAG_CLOCK_READ
               : PLAG_CLOCK_BAD;
  }
  const plag_value value = plag_cell_read(cell.text, cell.length, form->notation);
  if (value.kind == PLAG_CELL_MISSING)
    return PLAG_CLOCK_MISSING;
  const double unit = value.unit != NULL && value.unit->second_ns > 0 ? value.unit->second_ns
                                                                      : (double)form->unit_ns;
  if (value.kind != PLAG_CELL_NUMBER || fabs(value.number * unit) > (double)PLAG_CLOCK_MOST_NS)
    return PLAG_CLOCK_BAD;
  *raw = (int64_t)llround(value.number * unit);
  return PLAG_CLOCK_READ;
}

/* The day of a stamp in the form's order; the other order where only that is a day, as long as the
 * form's was a guess. */
static bool read_day(plag_clock_form *form, const plag_stamp *stamp, int64_t *day) {
  if (plag_stamp_day(stamp, form->order, day))
    return true;
  if (!form->order_guessed)
    return false;
  const plag_date_order other =
      form->order == PLAG_DATE_MONTH_FIRST ? PLAG_DATE_DAY_FIRST : PLAG_DATE_MONTH_FIRST;
  if (!plag_stamp_day(stamp, other, day))
    return false;
  form->order = other;
  form->order_guessed = false;
  return true;
}

static bool is_missing(plag_cell cell) {
  const plag_notation plain = {'.', 0};
  return plag_cell_read(cell.text, cell.length, plain).kind == PLAG_CELL_MISSING;
}

static plag_clock_answer read_stamp(plag_clock_form *form, const plag_row *row, int64_t *raw) {
  const plag_cell cell = plag_row_cell(row, form->column);
  plag_stamp stamp;
  if (!plag_stamp_read(cell.text, cell.length, &stamp) || !stamp.has_time)
    return is_missing(cell) ? PLAG_CLOCK_MISSING : PLAG_CLOCK_BAD;
  int64_t time_ns = stamp.day_ns;
  if (stamp.fields == 2 && form->hours_minutes)
    time_ns *= 60;
  if (!form->dated) {
    *raw = time_ns - stamp.zone_ns;
    return PLAG_CLOCK_READ;
  }
  plag_stamp date = stamp;
  if (form->date_column >= 0) {
    const plag_cell date_cell = plag_row_cell(row, form->date_column);
    if (!plag_stamp_read(date_cell.text, date_cell.length, &date) || !date.has_date)
      return is_missing(date_cell) ? PLAG_CLOCK_MISSING : PLAG_CLOCK_BAD;
  }
  int64_t day = 0;
  if (!date.has_date || !read_day(form, &date, &day) || day > 100000 || day < -100000)
    return PLAG_CLOCK_BAD;
  *raw = day * DAY_NS + time_ns - stamp.zone_ns;
  return PLAG_CLOCK_READ;
}

plag_clock_answer plag_clock_read(plag_clock_form *form, const plag_row *row, int64_t *raw_ns) {
  const plag_clock_answer answer =
      form->kind == PLAG_CLOCK_STAMP ? read_stamp(form, row, raw_ns)
                                     : read_number(form, plag_row_cell(row, form->column), raw_ns);
  if (answer != PLAG_CLOCK_READ)
    return answer;
  return *raw_ns > PLAG_CLOCK_MOST_NS || *raw_ns < -PLAG_CLOCK_MOST_NS ? PLAG_CLOCK_BAD : answer;
}

/* No recorder takes a row a day; what a hostile file claims beyond that must not overflow. */
static int64_t sane_ns(int64_t period_ns) {
  return period_ns < DAY_NS ? period_ns : DAY_NS;
}

int64_t plag_clock_gap_ns(const plag_clock_form *form) {
  int64_t gap = 5 * sane_ns(form->period_ns);
  if (gap < 2 * SECOND_NS)
    gap = 2 * SECOND_NS;
  if (form->quantum_ns > 0) { /* whole stamps, so that spreading may count on it */
    gap += 2 * form->quantum_ns;
    gap -= gap % form->quantum_ns;
  }
  return gap;
}

/* Time goes on by `forward`; at the end of all time it stands. */
static void advance(plag_clock *clock, int64_t forward) {
  const int64_t left = PLAG_CLOCK_MOST_NS - clock->last_ns;
  clock->last_ns += forward < left ? forward : left;
}

void plag_clock_add(plag_clock_count *count, int64_t line) {
  if (count->count++ == 0)
    count->line = line;
}

/* What a step back of a clock that names no day adds up to when it merely wrapped: after midnight,
 * after noon on a twelve-hour dial, after the hour where hours are not shown. */
static bool find_wrap(const plag_clock_form *form, int64_t step, int64_t *forward) {
  static const struct {
    int64_t every, within;
  } wraps[] = {{DAY_NS, HOUR_NS}, {DAY_NS / 2, HOUR_NS / 6}, {HOUR_NS, HOUR_NS / 60}};
  if (form->kind != PLAG_CLOCK_STAMP || form->dated || form->zoned)
    return false;
  for (size_t i = 0; i < sizeof wraps / sizeof wraps[0]; i++) {
    const bool hours = wraps[i].every == HOUR_NS;
    if (hours != form->minutes_seconds || (wraps[i].every == DAY_NS / 2 && form->twelve_hours))
      continue;
    *forward = step + wraps[i].every;
    if (*forward >= 0 && *forward <= wraps[i].within)
      return true;
  }
  return false;
}

/* A local clock set back by an hour, give or take a period. */
static bool is_set_back(const plag_clock_form *form, int64_t step, int64_t raw_ns) {
  if (form->kind != PLAG_CLOCK_STAMP || form->zoned || form->minutes_seconds)
    return false;
  if (!form->dated && raw_ns < 2 * SECOND_NS)
    return false; /* a run time that begins anew */
  int64_t slack = 2 * sane_ns(form->period_ns);
  if (slack < 2 * SECOND_NS)
    slack = 2 * SECOND_NS;
  const int64_t off = step + HOUR_NS;
  return off >= -slack && off <= slack;
}

/* Steps back of up to this are jitter. */
static int64_t jitter_ns(const plag_clock_form *form) {
  const int64_t two = 2 * sane_ns(form->period_ns);
  return two < SECOND_NS / 10 ? SECOND_NS / 10 : two;
}

bool plag_clock_is_far(const plag_clock *clock, int64_t raw_ns) {
  int64_t step = 0;
  int64_t forward = 0;
  if (!clock->started)
    return false;
  if (__builtin_sub_overflow(raw_ns, clock->last_raw_ns, &step))
    return true;
  if (step >= 0)
    return step > plag_clock_gap_ns(&clock->form);
  if (find_wrap(&clock->form, step, &forward) || is_set_back(&clock->form, step, raw_ns))
    return false;
  return -step > jitter_ns(&clock->form) || clock->form.quantum_ns > 0;
}

int64_t plag_clock_step(plag_clock *clock, int64_t raw_ns, int64_t line, bool anew,
                        platelag_break *why, bool *begins) {
  const int64_t gap_ns = plag_clock_gap_ns(&clock->form);
  *begins = true;
  if (!clock->started) {
    clock->started = true;
    clock->last_raw_ns = raw_ns;
    *why = PLATELAG_BREAK_START;
    return clock->last_ns;
  }
  int64_t step = 0;
  const bool overflow = __builtin_sub_overflow(raw_ns, clock->last_raw_ns, &step);
  int64_t forward = step;
  if (anew || overflow) {
    forward = !overflow && step >= gap_ns ? step : gap_ns;
    *why = anew ? PLATELAG_BREAK_RUN : PLATELAG_BREAK_RESTART;
    clock->falls += overflow || step < 0;
    clock->last_raw_ns = raw_ns;
  } else if (step >= 0) {
    if (step == 0 && clock->form.quantum_ns == 0)
      plag_clock_add(&clock->repeated, line);
    clock->last_raw_ns = raw_ns;
  } else if (find_wrap(&clock->form, step, &forward)) {
    plag_clock_add(&clock->midnight, line);
    clock->last_raw_ns = raw_ns;
  } else if (is_set_back(&clock->form, step, raw_ns)) {
    plag_clock_add(&clock->set_back, line);
    forward = step + HOUR_NS > 0 ? step + HOUR_NS : 0;
    clock->last_raw_ns = raw_ns;
  } else if (-step <= jitter_ns(&clock->form) && clock->form.quantum_ns == 0) {
    plag_clock_add(&clock->jitter, line);
    forward = 0;
  } else {
    plag_clock_add(&clock->restart, line);
    clock->falls++;
    forward = gap_ns;
    *why = PLATELAG_BREAK_RESTART;
    clock->last_raw_ns = raw_ns;
    advance(clock, forward);
    return clock->last_ns;
  }
  if (!anew && !overflow) {
    *begins = forward > gap_ns;
    if (*begins) {
      plag_clock_add(&clock->gap, line);
      *why = PLATELAG_BREAK_GAP;
    }
  }
  advance(clock, forward);
  return clock->last_ns;
}
