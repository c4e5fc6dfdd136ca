/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where over the travel plates were held: a ridge of carbon stands out at one place, a dry shaft
 * holds everywhere. */
#include "report/plots.h"

#include <math.h>

enum { BINS = 20 };

static double sum_of(const double *seconds, size_t *highest) {
  double sum = 0;
  *highest = 0;
  for (size_t i = 0; i < BINS; i++) {
    sum += seconds[i];
    if (seconds[i] > seconds[*highest])
      *highest = i;
  }
  return sum;
}

static void say_where(plag_document *document, double sum_s, double from_pct, double to_pct) {
  if (!(sum_s > 0)) {
    plag_document_say(document, "Not held at all.");
    return;
  }
  plag_document_say(document, "Held for ");
  plag_document_say_number(document, sum_s, 1);
  plag_document_say(document, " s in all, at any pull, longest from ");
  plag_document_say_number(document, from_pct, 0);
  plag_document_say(document, " to ");
  plag_document_say_number(document, to_pct, 0);
  plag_document_say(document, " % of travel. A ridge holds at one place, a dry shaft everywhere.");
}

void plag_plot_held(plag_document *document, const platelag_review_valve *valve, plag_plot *plot) {
  const double *seconds = valve->fit->held_profile_pct;
  size_t highest = 0;
  const double sum = sum_of(seconds, &highest);
  if (!plag_plot_in_travel(valve->trace))
    return;
  plot->is_empty = !(sum > 0);
  double *x = plag_plot_array(document, BINS + 1), *y = plag_plot_array(document, BINS + 1);
  if (x == NULL || y == NULL)
    return;
  for (size_t i = 0; i <= BINS; i++) {
    x[i] = 100.0 / BINS * (double)i;
    y[i] = i < BINS ? seconds[i] : 0;
  }
  plot->title = "Where the plates were held";
  say_where(document, sum, x[highest], x[highest + 1]);
  plot->text = plag_document_take(document);
  plot->x = (plag_axis){.from = 0, .to = 100, .label = "travel (%): 0 closed, 100 open"};
  plag_plot_panel *panel = plag_plot_add_panel(plot, "time held (s)", false);
  plag_plot_line *line = plag_plot_add_line(panel, PLAG_LOOK_BARS, PLAG_STROKE_BARS, "");
  line->count = BINS + 1;
  line->x = x;
  line->y = y;
  plag_plot_fit_y(panel, 0, 0);
}
