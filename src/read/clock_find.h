/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which columns are clocks, and of what form. */
#ifndef PLAG_READ_CLOCK_FIND_H
#define PLAG_READ_CLOCK_FIND_H

#include "read/clock.h"
#include "read/shape_columns.h"

/* Looks at one column of the sample, of which `facts` are known. `form->score` is 0 where it is no
 * clock; where it is named like one, `share`, `falling` and `resting` then still say what a clock
 * it would be. `notation` is the column's. False without memory. */
bool plag_clock_find(const plag_sample *sample, const plag_layout *layout, int column,
                     plag_notation notation, const plag_column_facts *facts, plag_clock_form *form);

/* Pairs a clock of times with a column of dates and decides again. False without memory. */
bool plag_clock_add_date(const plag_sample *sample, int date_column, plag_clock_form *form);

/* Measures period, repeats and steps back over the rows of the sample; with `channel_column` of 0
 * or more only over rows whose cell there is that of the first row (long form). False without
 * memory.
 */
bool plag_clock_measure(const plag_sample *sample, int channel_column, plag_clock_form *form);

#endif
