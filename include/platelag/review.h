/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A review: the whole road, from the captures of one vehicle to a finding a valve. */
#ifndef PLATELAG_REVIEW_H
#define PLATELAG_REVIEW_H

#include "platelag/finding.h"

#ifdef __cplusplus
extern "C" {
#endif

/* One capture to review. */
typedef struct platelag_review_file {
  const char *path; /* "-": standard input */
  platelag_condition condition;
  const platelag_source *source; /* where its bytes come from, `path` being its name alone; NULL:
                                    the file at `path` */
} platelag_review_file;

typedef struct platelag_review_options {
  const platelag_spec *spec;            /* NULL: defaults */
  platelag_circumstances circumstances; /* its meter is NaN where not taken: see
                                           PLATELAG_METER_NONE */
  double rows_per_second;               /* for captures without a clock; 0: not given */
  bool without_samples; /* each capture's samples go once it is judged, for a review that is not
                           drawn: its channels and traces then have none */
} platelag_review_options;

/* One valve of one capture. */
typedef struct platelag_review_valve {
  const platelag_trace *trace;
  const platelag_fit *fit;
  const platelag_finding *finding;
  platelag_valve_spec spec; /* the limits that were used; its strings are lent by options->spec */
  size_t case_index;        /* into the review's cases: the one that this valve belongs to */
} platelag_review_valve;

/* One capture, or one run of it where a file holds several. A refused capture has `refusal.status`
 * set and no valves. */
typedef struct platelag_review_capture {
  const char *file;
  platelag_condition condition;
  size_t run;
  const platelag_capture *capture; /* NULL when refused */
  size_t valve_count;
  const platelag_review_valve *valve;
  platelag_error refusal;
} platelag_review_capture;

typedef struct platelag_review {
  size_t capture_count;
  const platelag_review_capture *capture;
  size_t case_count; /* one a valve, over all captures */
  const platelag_case *const *cases;
  struct plag_review_store *store; /* the review's own */
} platelag_review;

/* Reviews the captures in the order given. A capture that is refused is told in its place and the
 * rest is done; only a failure of the machine (memory) fails the review. `options` may be NULL. The
 * caller destroys `*out`. */
PLATELAG_API platelag_status platelag_review_build(const platelag_review_file *file, size_t count,
                                                   const platelag_review_options *options,
                                                   platelag_workspace *workspace,
                                                   platelag_review **out, platelag_error *error);
PLATELAG_API void platelag_review_destroy(platelag_review *review);

#ifdef __cplusplus
}
#endif
#endif
