/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/misfit.h"

#include <math.h>

#include "core/statistics.h"
#include "model/onset.h"

#define FROM_TAUS   0.6 /* readings between these times after the onset speak of t63 */
#define TO_TAUS     1.5
#define LEAST_STEPS 5
#define SURE_SDS    3.0

/* Mean over a window's readings about t63 of how late they are; false without any. */
static bool lateness_of(const plag_windows *windows, size_t index, double tau_s, double dead_time_s,
                        bool on_rows, double *later_s) {
  const plag_window *w = &windows->window[index];
  double residual_pct[PLAG_WINDOW_POINTS];
  double onset_s;
  const size_t count =
      plag_onset_residuals(windows, index, tau_s, dead_time_s, on_rows, residual_pct, &onset_s);
  const double speed = (w->after.pct - w->before.pct) / tau_s;
  double sum = 0.0;
  double used = 0.0;
  for (size_t i = 0; i < count; i++) {
    const double taus = (windows->time_s[w->first + i] - onset_s) / tau_s;
    if (taus < FROM_TAUS || taus > TO_TAUS)
      continue;
    sum -= residual_pct[i] / (speed * exp(-taus));
    used += 1.0;
  }
  *later_s = sum / used;
  return used > 0.0 && speed != 0.0;
}

plag_misfit plag_misfit_at_t63(const plag_windows *windows, bool opening, double tau_s,
                               double dead_time_s, bool on_rows) {
  double later_s[PLAG_WINDOWS];
  double copy[PLAG_WINDOWS];
  size_t count = 0;
  plag_misfit misfit = {0.0, 0.0};
  for (size_t k = 0; k < windows->count; k++)
    if (windows->window[k].opening == opening &&
        lateness_of(windows, k, tau_s, dead_time_s, on_rows, &later_s[count])) {
      copy[count] = later_s[count];
      count++;
    }
  if (count < LEAST_STEPS)
    return misfit;
  const double median_s = plag_median(later_s, count);
  /* A median of n normal values has sqrt(pi / 2) times the error of their mean. */
  const double error_s = sqrt(0.5 * M_PI / (double)count) * plag_median_deviation(copy, count);
  if (fabs(median_s) > SURE_SDS * error_s)
    misfit = (plag_misfit){median_s, error_s};
  return misfit;
}
