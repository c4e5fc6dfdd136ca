/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a recorder makes of the world: rows of samples, polled one channel after another under one
 * stamp a row. Every layout writes the same record. */
#ifndef PLAG_PRACTICE_RECORD_H
#define PLAG_PRACTICE_RECORD_H

#include "platelag/status.h"
#include "practice/world.h"

typedef enum plag_quantity {
  PLAG_QUANTITY_SPEED,
  PLAG_QUANTITY_THROTTLE,
  PLAG_QUANTITY_LOAD,
  PLAG_QUANTITY_COOLANT,
  PLAG_QUANTITY_DUTY,
  PLAG_QUANTITY_SWITCH, /* the command in words */
  PLAG_QUANTITY_DESIRED,
  PLAG_QUANTITY_POSITION,
  PLAG_QUANTITY_PRESSURE,
  PLAG_QUANTITY_BATTERY,
  PLAG_QUANTITY_CURRENT,
  PLAG_QUANTITY_REFERENCE,
  PLAG_QUANTITY_FILLER /* what the valve has nothing to do with */
} plag_quantity;

typedef enum plag_position_unit {
  PLAG_POSITION_VOLT,
  PLAG_POSITION_REFERENCE, /* % of the reference */
  PLAG_POSITION_OPEN       /* % open, scaled and clipped by the controller */
} plag_position_unit;

typedef struct plag_record_channel {
  plag_quantity quantity;
  plag_position_unit unit; /* of position and desired position */
  size_t valve;
  size_t index; /* of a filler, from 0 */
  int bank;     /* 1 or 2 to be named; 0: the only valve */
  int decimals;
} plag_record_channel;

typedef struct plag_record {
  unsigned vehicle; /* its number in the fleet, 0..99 */
  size_t channel_count;
  plag_record_channel *channel;
  size_t row_count;
  int64_t *stamp_ms; /* from the first row; whole milliseconds, so that no clock format rounds */
  double *value;     /* row by row; NaN is missing; rounded to the channel's decimals */
  size_t lost[PLAG_MOST_VALVES]; /* recorded positions that had nothing to do with the shaft */
} plag_record;

/* The recorder lets the world settle this long before its first row. */
#define PLAG_RECORD_SETTLE_S 1.0

typedef struct plag_record_order {
  const plag_setting *setting;
  double duration_s, rows_per_second;
  bool few_channels; /* speed, command and position alone */
  plag_position_unit unit;
  size_t extra_channels;
  unsigned vehicle;
  uint64_t seed, part;
} plag_record_order;

/* Records `world`, which must stand at 0 and is driven on. The caller clears `*out`. */
platelag_status plag_record_make(const plag_record_order *order, plag_world *world,
                                 plag_record *out, platelag_error *error);
void plag_record_clear(plag_record *record);

#endif
