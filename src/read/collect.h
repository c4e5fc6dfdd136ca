/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> columns with samples, segments and runs. Memory grows with the samples of the columns
 * that are kept and with nothing else. */
#ifndef PLAG_READ_COLLECT_H
#define PLAG_READ_COLLECT_H

#include "read/column.h"
#include "read/shape.h"

enum { PLAG_MOST_CHANNELS = 4096, PLAG_CODES_BYTES = 256, PLAG_MOST_RUNS = 10000 };

/* Rows of one kind that were left out, or read in spite of something. */
typedef plag_clock_count plag_row_count;

typedef struct plag_collector {
  const char *file;
  const plag_layout *layout;
  plag_shape shape;
  const platelag_read_options *options;
  plag_arena arena; /* names of channels and runs */
  plag_note_list *notes;

  plag_column *column;
  size_t column_count, column_capacity;
  struct plag_channel_index *index; /* of long form */
  plag_notation notation;           /* of its values */

  plag_clock *clock; /* one a clock of the shape */
  size_t *generation;
  size_t restarts;
  bool based;
  int64_t base_raw_ns, base_ns; /* of the clock that began, or began anew, first */
  size_t first_clock;           /* that began first */
  int64_t first_line;           /* of the row with its first stamp */
  int64_t earliest_ns;

  int64_t *time_ns; /* of the rows, where the clock is shared */
  size_t time_count, time_capacity;
  size_t group, group_rows; /* rows that share the last stamp, see spread.h */
  int64_t group_ns;
  bool group_opens; /* the group begins a segment */

  platelag_segment *segment;
  size_t segment_count, segment_capacity;
  const char **run;
  size_t run_count, run_capacity;
  size_t run_changes;
  int current_run;
  bool after_header; /* a repeated header was the last row left out */

  size_t rows;
  size_t clock_bad;
  int64_t clock_bad_line;
  char clock_bad_text[PLAG_SHOWN_BYTES];
  plag_row_count remarks, headers, broken, cut, timeless, narrow;
  size_t broken_cells;          /* of the first broken row */
  char codes[PLAG_CODES_BYTES]; /* stored codes, parted by commas */
} plag_collector;

/* Prepares to collect: columns as the layout heads them, roles by name and spec. What `collector`
 * already names (file, layout, shape, options, notes) is set by the caller; the rest is zero. */
platelag_status plag_collect_begin(plag_collector *collector, const plag_sample *sample,
                                   const plag_notation *notation, platelag_error *error);

/* Takes one row. */
platelag_status plag_collect_row(plag_collector *collector, const plag_row *row,
                                 platelag_error *error);

/* From here on columns that nothing needs are not read any more: of them the first rows say enough.
 * Never where all that is wanted is summaries. */
void plag_collect_rest_idle(plag_collector *collector);

enum { PLAG_MOST_CLOCKS = 64 };

/* What a row's stamp by one clock is good for. */
typedef enum plag_stamp_use {
  PLAG_STAMP_NONE,  /* no value of the row has a time by this clock */
  PLAG_STAMP_WAITS, /* values are kept in plag_column.waiting until the clock's next stamp */
  PLAG_STAMP_TIMES
} plag_stamp_use;

/* A row's stamps, a clock each: as read, then as times since the first. */
typedef struct plag_row_stamps {
  int64_t ns[PLAG_MOST_CLOCKS];
  plag_stamp_use use[PLAG_MOST_CLOCKS];
  plag_clock_answer answer[PLAG_MOST_CLOCKS];
} plag_row_stamps;

/* Turns what was read into times. `anew` where the row begins a recording. Where there are several
 * clocks, a stamp far off its clock's last waits for the next one: where that goes on from before,
 * it was a stray; it is counted, and the values that it stamped are left out. Otherwise the clock
 * paused or began anew. Only collect.c. */
platelag_status plag_collect_stamps(plag_collector *collector, const plag_row *row, bool anew,
                                    plag_row_stamps *stamps, platelag_error *error);

/* What waits when the file ends is taken as it stands. Only collect_end.c. */
platelag_status plag_collect_waiting(plag_collector *collector, platelag_error *error);

/* The time of a row by one clock, whose stamp is `raw_ns`, and the segments that begin with it;
 * `anew` where the row begins a recording. Only collect_stamps.c. */
platelag_status plag_collect_step_clock(plag_collector *collector, size_t which, int64_t raw_ns,
                                        int64_t line, bool anew, int64_t *ns,
                                        platelag_error *error);

/* The segment goes on to `ns`, of the first clock. Only collect.c, collect_stamps.c. */
void plag_collect_extend(plag_collector *collector, int64_t ns);

/* Gives the last rows their times. Only collect_end.c. */
void plag_collect_close(plag_collector *collector);

/* Closes what is open; refuses what cannot be used; notes what was met. */
platelag_status plag_collect_end(plag_collector *collector, platelag_error *error);

void plag_collect_clear(plag_collector *collector);

/* A new channel of long form, or the one that is there, valid until the next call; refuses too
 * many. Only collect.c and channel_index.c. */
platelag_status plag_channel_of(plag_collector *collector, plag_cell name, plag_cell unit,
                                plag_column **out, platelag_error *error);
void plag_channel_index_destroy(struct plag_channel_index *index);

#endif
