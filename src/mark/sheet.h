/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The marks as rows and columns: one table for every kind of spreadsheet. */
#ifndef PLAG_MARK_SHEET_H
#define PLAG_MARK_SHEET_H

#include "core/text.h"
#include "platelag/mark.h"

/* A text, or a number where `text` is NULL; NaN is an empty cell. */
typedef struct plag_sheet_cell {
  const char *text;
  double number;
  int decimals;
} plag_sheet_cell;

typedef void plag_take_sheet_row(void *context, const plag_sheet_cell *cell, size_t count,
                                 bool head);

/* Gives the head and then a row a submission; cells are lent for the call. */
platelag_status plag_sheet_walk(const platelag_class *marked, plag_take_sheet_row *take,
                                void *context, platelag_error *error);

/* "What is to be seen to": likenesses that touch a submission, as a sentence each, into `out`. */
void plag_sheet_add_likenesses(plag_text *out, const platelag_class *marked, size_t submission);

#endif
