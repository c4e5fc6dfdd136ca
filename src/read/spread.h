/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stamps coarser than the rows: `count` rows share one stamp and are spread evenly over it. */
#ifndef PLAG_READ_SPREAD_H
#define PLAG_READ_SPREAD_H

#include <stddef.h>
#include <stdint.h>

/* Where a group of rows stands. */
typedef enum plag_spread_place {
  PLAG_SPREAD_FIRST, /* the recording began inside the stamp: its rows end with it */
  PLAG_SPREAD_INNER,
  PLAG_SPREAD_LAST /* the recording ended inside it: its rows begin with it */
} plag_spread_place;

/* The time of row `index` of `count` that share the stamp `stamp_ns` of `quantum_ns`; `usual` rows
 * share one as a rule. */
static inline int64_t plag_spread_at(int64_t stamp_ns, int64_t quantum_ns, size_t index,
                                     size_t count, double usual, plag_spread_place place) {
  const double quantum = (double)quantum_ns;
  if (place == PLAG_SPREAD_INNER || (double)count >= 0.8 * usual)
    return stamp_ns + (int64_t)(quantum * (double)index / (double)count);
  if (place == PLAG_SPREAD_LAST)
    return stamp_ns + (int64_t)(quantum * (double)index / usual);
  return stamp_ns + (int64_t)(quantum * (1 - (double)(count - index) / usual));
}

#endif
