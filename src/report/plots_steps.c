/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The steps of the command as a table: what a mechanic would measure with a ruler. */
#include "report/plots.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_STEPS = 60 };

/* What to look at around a step. */
#define BEFORE_S 2.0
#define AFTER_S  6.0

static double size_of(const platelag_step *step) {
  return fabs(step->command_to - step->command_from);
}

static int largest_first(const void *a, const void *b) {
  const double one = *(const double *)a, other = *(const double *)b;
  return (one < other) - (one > other);
}

/* The size of the least step that is shown. */
static double least_shown(plag_document *document, const platelag_fit *fit) {
  if (fit->step_count <= MOST_STEPS)
    return 0;
  double *size = plag_plot_array(document, fit->step_count);
  if (size == NULL)
    return INFINITY;
  for (size_t i = 0; i < fit->step_count; i++)
    size[i] = size_of(&fit->step[i]);
  qsort(size, fit->step_count, sizeof *size, largest_first);
  return size[MOST_STEPS - 1];
}

static void add_way(plag_document *document, double from, double to) {
  plag_document_say_figure(document, from);
  plag_document_say(document, " to ");
  plag_document_say_figure(document, to);
  plag_document_cell_taken(document);
}

static void add_number(plag_document *document, double value, int decimals) {
  if (isnan(value))
    plag_document_say(document, "none");
  else
    plag_document_say_number(document, value, decimals);
  plag_document_cell_taken(document);
}

static double whole(double pct) {
  return isnan(pct) ? pct : round(pct);
}

static void add_step(plag_document *document, const platelag_step *step) {
  const bool stuck = step->end == PLATELAG_STEP_STUCK || step->end == PLATELAG_STEP_NO_MOVE;
  plag_block *row =
      plag_document_add(document, PLAG_BLOCK_ROW, stuck ? PLAG_TONE_BAD : PLAG_TONE_PLAIN, "", "");
  if (row == NULL)
    return;
  row->at_s = platelag_seconds(step->at_ns);
  row->from_s = row->at_s - BEFORE_S;
  row->to_s = row->at_s + AFTER_S;
  add_number(document, row->at_s, 1);
  add_way(document, step->command_from, step->command_to);
  add_way(document, whole(step->from_pct), whole(step->to_pct));
  add_number(document, step->dead_time_s, 2);
  add_number(document, step->t63_s, 2);
  add_number(document, step->t86_s, 2);
  add_number(document, step->rest_error_pct, 1);
  plag_document_cell(document, platelag_step_end_name(step->end));
}

void plag_plots_build_steps(plag_document *document, const platelag_review_valve *valve,
                            plag_document *steps) {
  static const char *const heads[] = {"at (s)",  "command", "travel (%)",     "dead time (s)",
                                      "t63 (s)", "t86 (s)", "rest error (%)", "ended"};
  const platelag_fit *fit = valve->fit;
  if (fit->step_count == 0)
    return;
  const double least = least_shown(document, fit);
  (void)plag_document_add(steps, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "Steps of the command", "");
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    plag_document_cell(steps, heads[i]);
  if (!steps->failed)
    steps->block[steps->count - 1].right = 1U | 0x78U; /* all but the ways and how it ended */
  size_t shown = 0;
  for (size_t i = 0; i < fit->step_count && shown < MOST_STEPS; i++)
    if (size_of(&fit->step[i]) >= least) {
      add_step(steps, &fit->step[i]);
      shown++;
    }
  if (shown == fit->steps_in_trace)
    return;
  plag_document_say(steps, "The largest ");
  plag_document_say_number(steps, (double)shown, 0);
  plag_document_say(steps, " of ");
  plag_document_say_count(steps, fit->steps_in_trace, "step");
  plag_document_say(steps, ".");
  const char *text = plag_document_take(steps);
  (void)plag_document_add(steps, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "", text);
}
