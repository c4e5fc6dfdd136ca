/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/refresh.h"

#include <math.h>
#include <string.h>

#include "core/statistics.h"

enum { FEWEST_CHANGES = 8, FEWEST_UNEVEN = 20, MOST_POLLED = 16 };

static void note_level(plag_refresh *refresh, double value) {
  for (int i = 0; i < refresh->levels; i++)
    if (refresh->level[i] == value)
      return;
  if (refresh->levels < PLAG_REFRESH_LEVELS)
    refresh->level[refresh->levels++] = value;
}

void plag_refresh_change(plag_refresh *refresh, double value) {
  if (refresh->started && refresh->changed && refresh->since < PLAG_REFRESH_ROWS)
    refresh->interval[refresh->since]++;
  refresh->changed = refresh->started;
  refresh->started = true;
  refresh->since = 0;
  refresh->last = value;
  if (refresh->levels < PLAG_REFRESH_LEVELS)
    note_level(refresh, value);
}

void plag_refresh_break(plag_refresh *refresh) {
  refresh->changed = false;
  refresh->started = false;
}

void plag_refresh_step(plag_refresh *refresh, double step_s) {
  if (refresh->stride == 0)
    refresh->stride = 1;
  if (refresh->seen++ % refresh->stride != 0)
    return;
  if (refresh->steps == PLAG_REFRESH_STEPS) { /* keep every other, and take half as many */
    for (size_t i = 0; i < PLAG_REFRESH_STEPS / 2; i++)
      refresh->step_s[i] = refresh->step_s[2 * i];
    refresh->steps = PLAG_REFRESH_STEPS / 2;
    refresh->stride *= 2;
  }
  refresh->step_s[refresh->steps++] = step_s;
}

static double rows_between(const plag_refresh *refresh, uint32_t total) {
  for (uint32_t rows = MOST_POLLED; rows >= 2; rows--) {
    uint32_t fits = 0;
    for (uint32_t i = rows; i < PLAG_REFRESH_ROWS; i += rows)
      fits += refresh->interval[i];
    if (fits >= FEWEST_CHANGES && 20 * (uint64_t)fits >= 19 * (uint64_t)total)
      return rows;
  }
  /* No whole number of rows: an update that comes now after n, now after n + 1 rows. */
  uint32_t below = 0, least = 1;
  while (least + 2 < PLAG_REFRESH_ROWS &&
         33 * (uint64_t)(below + refresh->interval[least]) < (uint64_t)total)
    below += refresh->interval[least++];
  if (least < 2 || total < FEWEST_UNEVEN)
    return 1;
  const double one = refresh->interval[least], next = refresh->interval[least + 1];
  if (one + next < 0.5 * (double)total)
    return 1;
  return (one * least + next * (least + 1)) / (one + next);
}

double plag_refresh_rows(const plag_refresh *refresh, double polled, bool stepped) {
  uint32_t total = 0;
  for (uint32_t i = 1; i < PLAG_REFRESH_ROWS; i++)
    total += refresh->interval[i];
  if (total < FEWEST_CHANGES)
    return polled;
  const double rows = rows_between(refresh, total);
  if (rows > 1 && (stepped || refresh->levels < PLAG_REFRESH_LEVELS)) {
    const double times = polled > 0 ? rows / polled : 0.5;
    return polled > 1 && fabs(times - round(times)) < 0.01 ? polled : 1;
  }
  return rows;
}

double plag_refresh_step_s(const plag_refresh *refresh) {
  double step_s[PLAG_REFRESH_STEPS];
  if (refresh->steps == 0)
    return 0;
  memcpy(step_s, refresh->step_s, (size_t)refresh->steps * sizeof *step_s);
  return plag_median(step_s, (size_t)refresh->steps);
}
