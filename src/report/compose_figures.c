/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include <math.h>

#include "report/words.h"

static void add_row(plag_document *document, const char *what, const platelag_estimate *estimate,
                    const char *unit, int decimals, double limit) {
  if (estimate->known == PLATELAG_KNOWN_NOTHING)
    return;
  const char *against = plag_words_against(estimate, limit);
  (void)plag_document_add(document, PLAG_BLOCK_ROW,
                          against[0] == 'o' ? PLAG_TONE_BAD : PLAG_TONE_PLAIN, "", "");
  plag_document_cell(document, what);
  plag_words_say_value(document, estimate, decimals);
  plag_document_cell_taken(document);
  plag_document_cell(document, unit);
  plag_words_say_interval(document, estimate, decimals);
  plag_document_cell_taken(document);
  if (limit > 0)
    plag_document_say_figure(document, limit);
  plag_document_cell_taken(document);
  plag_document_cell(document, against);
}

/* A figure without an interval. */
static void add_plain(plag_document *document, const char *what, const char *unit) {
  const char *value = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_ROW, PLAG_TONE_PLAIN, "", "");
  plag_document_cell(document, what);
  plag_document_cell(document, value);
  plag_document_cell(document, unit);
  for (int i = 0; i < 3; i++)
    plag_document_cell(document, "");
}

static void add_range(plag_document *document, const char *what, double from, double to,
                      int decimals, const char *unit) {
  if (!isfinite(from) || !isfinite(to))
    return;
  plag_document_say_number(document, from, decimals);
  plag_document_say(document, " to ");
  plag_document_say_number(document, to, decimals);
  add_plain(document, what, unit);
}

static void add_held(plag_document *document, const platelag_fit *fit) {
  if (fit->held_count == 0)
    return;
  double longest_s = 0;
  for (size_t i = 0; i < fit->held_count; i++)
    longest_s = fmax(longest_s, platelag_seconds(fit->held[i].to_ns - fit->held[i].from_ns));
  plag_document_say_number(document, (double)fit->held_count, 0);
  add_plain(document, "held while pulled", "times");
  plag_document_say_number(document, longest_s, 1);
  add_plain(document, "longest of these", "s");
}

static void add_signal(plag_document *document, const platelag_signal *signal) {
  if (signal->void_count > 0) {
    plag_document_say_number(document, (double)signal->void_count, 0);
    add_plain(document, "readings no plate can make", "times");
  }
  if (signal->high_share > 0.0005) {
    plag_document_say_number(document, 100 * signal->high_share, 1);
    add_plain(document, "signal past its upper limit", "% of time");
  }
  if (signal->low_share > 0.0005) {
    plag_document_say_number(document, 100 * signal->low_share, 1);
    add_plain(document, "signal past its lower limit", "% of time");
  }
}

void plag_compose_figures(plag_document *document, const platelag_review_valve *valve) {
  static const char *const heads[] = {"figure", "value", "unit", "90 % interval", "limit", ""};
  plag_block *head = plag_document_add(document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "", "");
  if (head == NULL)
    return;
  head->right = 1U << 1 | 1U << 4;
  for (int i = 0; i < 6; i++)
    plag_document_cell(document, heads[i]);
  const platelag_fit *fit = valve->fit;
  const platelag_valve_spec *spec = &valve->spec;
  add_row(document, "opening, 63 % done after", &fit->lag.opening_t63_s, "s", 2, spec->t63_limit_s);
  add_row(document, "closing, 63 % done after", &fit->lag.closing_t63_s, "s", 2, spec->t63_limit_s);
  add_row(document, "dead time in these", &fit->lag.dead_time_s, "s", 2, NAN);
  add_row(document, "stick band", &fit->friction.stick_band_pct, "% of travel", 1,
          spec->stick_band_limit_pct);
  add_row(document, "slip jump", &fit->friction.slip_jump_pct, "% of travel", 1, NAN);
  add_held(document, fit);
  add_range(document, "travel seen", fit->travel.lowest_pct, fit->travel.highest_pct, 0, "%");
  add_range(document,
            fit->travel.scale == PLATELAG_SCALE_SPEC ? "stops, from the spec"
                                                     : "stops, learned from the trace",
            fit->travel.closed_v, fit->travel.open_v, 2, "V");
  add_signal(document, &fit->signal);
}
