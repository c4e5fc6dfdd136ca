/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the rows of a file hold channels: decided on the first rows. */
#ifndef PLAG_READ_SHAPE_H
#define PLAG_READ_SHAPE_H

#include "read/clock_find.h"
#include "read/note_list.h"

typedef enum plag_shape_kind {
  PLAG_SHAPE_ONE_CLOCK,
  PLAG_SHAPE_CLOCK_PER_CHANNEL,
  PLAG_SHAPE_LONG,  /* time, channel, value, unit */
  PLAG_SHAPE_SPARSE /* one clock; each row fills the channel just polled */
} plag_shape_kind;

typedef struct plag_shape {
  plag_shape_kind kind;
  const plag_column_facts *facts; /* a column: of the sample */
  plag_clock_form *clock;         /* held by the arena given */
  size_t clock_count;
  int *clock_of;   /* a column: its clock's index; -1: the column is none of a channel */
  bool *is_clock;  /* a column: whether it is a chosen clock or its dates */
  bool *on_change; /* a column: whether its empty cells mean "as before" */
  int run_column;  /* tells vehicles or runs apart; -1: none */
  int name_column; /* of long form; -1 otherwise */
  int value_column;
  int unit_column; /* -1: none */
} plag_shape;

/* Decides; refuses where no clock is found and no rate is given, or where the only clock stands
 * still or runs backward. `notation` is each column's. */
platelag_status plag_shape_find(const plag_sample *sample, const plag_layout *layout,
                                const plag_notation *notation, double rows_per_second,
                                const char *file, plag_arena *arena, plag_note_list *notes,
                                plag_shape *out, platelag_error *error);

/* "one clock", "clock per channel", "long", "sparse rows"; static. */
const char *plag_shape_name(plag_shape_kind kind);

#endif
