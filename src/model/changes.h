/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The command as events in time: each change of a segment once, in order, as it is felt `delay_s`
 * after it happened. A change happens somewhere between two samples; the middle stands for it, or
 * the first row that shows it where the command is changed on the recorder's own clock. */
#ifndef PLAG_MODEL_CHANGES_H
#define PLAG_MODEL_CHANGES_H

#include "platelag/trace.h"

typedef struct plag_changes {
  const platelag_trace *trace;
  int64_t delay_ns;
  bool on_rows;
  size_t next;   /* index of the change that is felt next */
  size_t end;    /* of the segment's changes */
  int64_t at_ns; /* when it is felt; INT64_MAX when the segment has no more */
  platelag_command_change change;
} plag_changes;

/* The changes of one segment, from its first. */
void plag_changes_begin(plag_changes *changes, const platelag_trace *trace, size_t segment,
                        double delay_s, bool on_rows);

/* Goes on to the next change. */
void plag_changes_advance(plag_changes *changes);

#endif
