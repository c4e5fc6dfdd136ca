/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The response: tau x' + x = r(u(t - L)), tau_open where the plates have to open, tau_close where
 * they have to close. Two ways to the same parameters: from steps that stand alone, each with its
 * onset marginalised over the bracket of its command change; and, where steps do not stand alone,
 * from whole stretches of the record. */
#ifndef PLAG_MODEL_RESPONSE_H
#define PLAG_MODEL_RESPONSE_H

#include "model/intervals.h"
#include "model/normal.h"
#include "model/stretches.h"
#include "model/windows.h"

#define PLAG_TAU_LEAST_S 0.01 /* no plates are quicker: common practice, no source */

/* What either way finds. Index 1 is opening, 0 closing. */
typedef struct plag_response {
  platelag_convergence convergence;
  bool has[2];
  double dead_time_s; /* the likeliest */
  double tau_s[2];
  bool on_rows;
  bool apart;
  platelag_estimate dead_time, tau[2], t63[2];
} plag_response;

/* Half width of what polling inside a row leaves open; 0 where channels have stamps of their own.
 */
double plag_response_skew_s(const platelag_trace *trace);

/* From windows; NO_DATA without any. */
void plag_response_from_steps(const platelag_trace *trace, plag_windows *windows,
                              plag_response *out);

/* What decides between a value and a limit. */
typedef struct plag_response_view {
  double period_s; /* of position updates */
  double skew_s;
  size_t steps;
} plag_response_view;

/* A tau that the sampling resolves, else its upper limit `most_s`. */
platelag_estimate plag_response_tau(const platelag_estimate *tau, double most_s, double period_s,
                                    size_t steps);

/* A time that cannot be negative: an upper limit when its interval reaches zero. */
platelag_estimate plag_response_delay(const plag_cloud *cloud);

/* The longest t63 that the record allows under a job whose best model leaves tau unresolved: from
 * the profile of its cost over tau and the dead time, 90 % one-sided. `independent_share`: of the
 * readings, autocorrelation taken off. NaN where any lag fits. */
double plag_response_t63_limit_s(const plag_normal_job *j, const plag_walk_model *best,
                                 double independent_share);

/* From stretches of the record. Sets the knots of `map` when it converged. */
void plag_response_from_record(const plag_stretches *stretches, double noise_pct,
                               const plag_response_view *view, plag_response *out,
                               platelag_fit *map);

/* Shares what both directions have in common. Sets `apart` by BIC, given mean and variance of the
 * logarithm of tau each way; unless they are apart both taus get one value, and each keeps an
 * interval that holds its own and the common value. */
void plag_response_tie(plag_response *response, const double *log_mean, const double *log_variance,
                       double samples);

#endif
