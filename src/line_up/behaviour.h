/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a column behaves, whatever its name: does it vary, how often, does another column follow it.
 * Looks at a bounded number of rows, spread over the capture. */
#ifndef PLAG_LINE_UP_BEHAVIOUR_H
#define PLAG_LINE_UP_BEHAVIOUR_H

#include "line_up/recording.h"

typedef struct plag_behaviour {
  size_t present; /* values looked at */
  double lowest;  /* of those; NaN for none */
  double highest;
  double change_share; /* of pairs of neighbours that differ */
} plag_behaviour;

plag_behaviour plag_behaviour_of(const platelag_channel *channel, plag_rows_range rows);

/* How strongly `follower`, in its `rows`, follows `leader`: the correlation, -1..1, at the best of
 * a few lags from 0 to 1.5 s, later meaning the follower. 0 when either never varies. */
double plag_behaviour_follows(const platelag_channel *leader, const platelag_channel *follower,
                              plag_rows_range rows);

/* Whether two channels hold the same samples. */
bool plag_behaviour_same(const platelag_channel *a, const platelag_channel *b);

#endif
