/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of figures: of one capture value, interval and limit in columns of their own; of
 * several a column each, so that before and after stand side by side. */
#include "report/compose.h"

#include <assert.h>
#include <math.h>

#include "report/words.h"

/* The captures of a table: `count` of them, with the limits of the first. */
typedef struct figures {
  plag_document *document;
  const platelag_review_valve *const *valve;
  size_t count;
} figures;

static void begin_row(const figures *of, const char *what, const char *unit, bool over) {
  (void)plag_document_add(of->document, PLAG_BLOCK_ROW, over ? PLAG_TONE_BAD : PLAG_TONE_PLAIN, "",
                          "");
  plag_document_say(of->document, what);
  if (of->count > 1 && unit[0] != '\0') {
    plag_document_say(of->document, " (");
    plag_document_say(of->document, unit);
    plag_document_say(of->document, ")");
  }
  plag_document_cell_taken(of->document);
}

static void end_row(const figures *of, double limit, const char *against) {
  if (limit > 0)
    plag_document_say_figure(of->document, limit);
  plag_document_cell_taken(of->document);
  if (of->count == 1)
    plag_document_cell(of->document, against);
}

static void add_apart(const figures *of, const platelag_estimate *estimate, const char *unit,
                      int decimals) {
  plag_words_say_value(of->document, estimate, decimals);
  plag_document_cell_taken(of->document);
  plag_document_cell(of->document, unit);
  plag_words_say_interval(of->document, estimate, decimals);
  plag_document_cell_taken(of->document);
}

/* "0.71 (0.64 to 0.78), borderline" */
static void add_together(const figures *of, const platelag_estimate *estimate, int decimals,
                         const char *against) {
  plag_document *document = of->document;
  if (estimate->known != PLATELAG_KNOWN_NOTHING) {
    plag_words_say_value(document, estimate, decimals);
    if (estimate->known == PLATELAG_KNOWN_VALUE) {
      plag_document_say(document, " (");
      plag_words_say_interval(document, estimate, decimals);
      plag_document_say(document, ")");
    }
    if (against[0] == 'o' || against[0] == 'b') { /* over or borderline */
      plag_document_say(document, ", ");
      plag_document_say(document, against);
    }
  }
  plag_document_cell_taken(document);
}

static bool add_row(const figures *of, const char *what,
                    const platelag_estimate *const estimate[PLAG_FIGURE_CAPTURES], const char *unit,
                    int decimals, double limit) {
  const char *against[PLAG_FIGURE_CAPTURES] = {0};
  bool known = false, over = false;
  for (size_t i = 0; i < of->count; i++) {
    against[i] = plag_words_against(estimate[i], limit);
    known = known || estimate[i]->known != PLATELAG_KNOWN_NOTHING;
    over = over || against[i][0] == 'o';
  }
  if (!known)
    return false;
  begin_row(of, what, unit, over);
  if (of->count == 1)
    add_apart(of, estimate[0], unit, decimals);
  for (size_t i = 0; of->count > 1 && i < of->count; i++)
    add_together(of, estimate[i], decimals, against[i]);
  end_row(of, limit, against[0]);
  return true;
}

static const platelag_estimate NOTHING = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};

/* Of plates that did not move there is neither lag nor friction to tell. Returns whether any t63 is
 * told. */
static bool add_estimates(const figures *of) {
  const platelag_estimate *opening[PLAG_FIGURE_CAPTURES], *closing[PLAG_FIGURE_CAPTURES],
      *dead[PLAG_FIGURE_CAPTURES], *band[PLAG_FIGURE_CAPTURES], *jump[PLAG_FIGURE_CAPTURES];
  for (size_t i = 0; i < of->count; i++) {
    const platelag_fit *fit = of->valve[i]->fit;
    const bool still = of->valve[i]->finding->kind == PLATELAG_FINDING_STILL;
    opening[i] = still ? &NOTHING : &fit->lag.opening_t63_s;
    closing[i] = still ? &NOTHING : &fit->lag.closing_t63_s;
    dead[i] = still ? &NOTHING : &fit->lag.dead_time_s;
    band[i] = still ? &NOTHING : &fit->friction.stick_band_pct;
    jump[i] = still ? &NOTHING : &fit->friction.slip_jump_pct;
  }
  const platelag_valve_spec *spec = &of->valve[0]->spec;
  const bool opens = add_row(of, "t63 opening", opening, "s", 2, spec->t63_limit_s);
  const bool closes = add_row(of, "t63 closing", closing, "s", 2, spec->t63_limit_s);
  (void)add_row(of, "dead time, within t63", dead, "s", 2, NAN);
  (void)add_row(of, "stick band", band, "% of travel", 1, spec->stick_band_limit_pct);
  (void)add_row(of, "slip jump", jump, "% of travel", 1, NAN);
  return opens || closes;
}

/* --- figures without an interval -------------------------------------------------------------- */

/* Drafts the figure; false when the capture has none. */
typedef bool say_plain(plag_document *document, const platelag_review_valve *valve);

static void say_range(plag_document *document, double from, double to, int decimals) {
  const double step = pow(10, -decimals);
  plag_document_say_number(document, from, decimals);
  if (fabs(to - from) < step)
    return;
  plag_document_say(document, " to ");
  plag_document_say_number(document, to, decimals);
}

static double longest_held_s(const platelag_fit *fit) {
  double longest_s = 0;
  for (size_t i = 0; i < fit->held_count; i++)
    longest_s = fmax(longest_s, platelag_seconds(fit->held[i].to_ns - fit->held[i].from_ns));
  return longest_s;
}

static bool say_held(plag_document *document, const platelag_review_valve *valve) {
  if (valve->fit->held_count == 0)
    return false;
  plag_document_say_number(document, (double)valve->fit->held_count, 0);
  return true;
}

static bool say_longest(plag_document *document, const platelag_review_valve *valve) {
  if (valve->fit->held_count == 0)
    return false;
  plag_document_say(document, "longest ");
  plag_document_say_number(document, longest_held_s(valve->fit), 1);
  plag_document_say(document, " s");
  return true;
}

/* Without stops a share of travel means nothing. */
/* Past a limit most of the time. */
static bool is_at_limit(const platelag_review_valve *valve) {
  const platelag_signal *signal = &valve->fit->signal;
  return signal->high_share > 0.5 || signal->low_share > 0.5; /* NaN: no */
}

/* Levels past a limit teach no stops, and travel by such stops says nothing. */
static bool is_taught_by_rails(const platelag_review_valve *valve) {
  return valve->fit->travel.scale == PLATELAG_SCALE_LEARNED && is_at_limit(valve);
}

static bool say_travel(plag_document *document, const platelag_review_valve *valve) {
  const platelag_travel *travel = &valve->fit->travel;
  if (is_taught_by_rails(valve) || travel->scale == PLATELAG_SCALE_NOMINAL ||
      !isfinite(travel->lowest_pct) || !isfinite(travel->highest_pct))
    return false;
  say_range(document, travel->lowest_pct, travel->highest_pct, 0);
  return true;
}

/* Instead, then: volts. */
static bool say_level(plag_document *document, const platelag_review_valve *valve) {
  const platelag_travel *travel = &valve->fit->travel;
  const double span_v = travel->open_v - travel->closed_v;
  const double from = travel->closed_v + span_v * travel->lowest_pct / 100;
  const double to = travel->closed_v + span_v * travel->highest_pct / 100;
  if (travel->scale != PLATELAG_SCALE_NOMINAL || !isfinite(from) || !isfinite(to))
    return false;
  say_range(document, from, to, 2);
  return true;
}

static bool say_stops(plag_document *document, const platelag_review_valve *valve) {
  const platelag_travel *travel = &valve->fit->travel;
  if (is_taught_by_rails(valve) || travel->scale == PLATELAG_SCALE_NOMINAL ||
      !isfinite(travel->closed_v) || !isfinite(travel->open_v))
    return false;
  say_range(document, travel->closed_v, travel->open_v, 2);
  return true;
}

/* A hand may turn the sensor past the stops, and so past limits that hold for the plates. */
static bool is_by_hand(const platelag_review_valve *valve) {
  return valve->trace->condition == PLATELAG_CONDITION_HAND_SWEEP;
}

/* Where a signal stands at a limit most of the time, that is told instead. */
static bool say_void(plag_document *document, const platelag_review_valve *valve) {
  const bool tells = !is_by_hand(valve) && !is_at_limit(valve);
  const size_t count = tells ? valve->fit->signal.void_count : 0;
  if (count > 0)
    plag_document_say_number(document, (double)count, 0);
  return count > 0;
}

static bool say_share(plag_document *document, const platelag_review_valve *valve, double share) {
  const bool seen = share > 0.0005 && !is_by_hand(valve);
  if (seen)
    plag_document_say_number(document, 100 * share, 1);
  return seen;
}

static bool say_high(plag_document *document, const platelag_review_valve *valve) {
  return say_share(document, valve, valve->fit->signal.high_share);
}

static bool say_low(plag_document *document, const platelag_review_valve *valve) {
  return say_share(document, valve, valve->fit->signal.low_share);
}

/* `aside`, or NULL, stands where other rows have the interval. */
static void add_plain(const figures *of, const char *what, const char *unit, say_plain *say,
                      say_plain *aside) {
  const char *text[PLAG_FIGURE_CAPTURES] = {0};
  bool any = false;
  for (size_t i = 0; i < of->count; i++) {
    const bool said = say(of->document, of->valve[i]);
    if (said && of->count > 1 && aside != NULL) {
      plag_document_say(of->document, ", ");
      (void)aside(of->document, of->valve[i]);
    }
    any = any || said;
    text[i] = plag_document_take(of->document);
  }
  if (!any)
    return;
  begin_row(of, what, unit, false);
  for (size_t i = 0; i < of->count; i++)
    plag_document_cell(of->document, text[i]);
  if (of->count == 1) {
    plag_document_cell(of->document, unit);
    if (aside != NULL)
      (void)aside(of->document, of->valve[0]);
    plag_document_cell_taken(of->document);
  }
  end_row(of, NAN, "");
}

static const char *stops_from(const figures *of) {
  for (size_t i = 0; i < of->count; i++)
    if (of->valve[i]->fit->travel.scale != PLATELAG_SCALE_SPEC)
      return "stops, learned";
  return "stops, by the spec";
}

static bool add_head(const figures *of, const char *const *title) {
  plag_block *head =
      plag_document_add(of->document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "Figures", "");
  if (head == NULL)
    return false;
  head->right = of->count == 1 ? 1U << 1 | 1U << 4 : 1U << (1 + of->count);
  plag_document_cell(of->document, "");
  for (size_t i = 0; i < of->count; i++)
    plag_document_cell(of->document, of->count > 1 ? title[i] : "value");
  if (of->count == 1) {
    plag_document_cell(of->document, "");
    plag_document_cell(of->document, "90 % interval");
  }
  plag_document_cell(of->document, "limit");
  return true;
}

bool plag_compose_figures(plag_document *document, const platelag_review_valve *const *valve,
                          const char *const *title, size_t count) {
  assert(count > 0 && count <= PLAG_FIGURE_CAPTURES);
  const figures of = {document, valve, count};
  if (!add_head(&of, title))
    return false;
  const bool told = add_estimates(&of);
  add_plain(&of, "held, any pull", "times", say_held, say_longest);
  add_plain(&of, "travel seen", "%", say_travel, NULL);
  add_plain(&of, "reading seen", "V", say_level, NULL);
  add_plain(&of, stops_from(&of), "V", say_stops, NULL);
  add_plain(&of, "lost or jumping readings", "times", say_void, NULL);
  add_plain(&of, "signal past its upper limit", "% of time", say_high, NULL);
  add_plain(&of, "signal past its lower limit", "% of time", say_low, NULL);
  plag_block *last = document->count > 0 ? &document->block[document->count - 1] : NULL;
  if (last == NULL || last->kind != PLAG_BLOCK_TABLE)
    return told;
  last->cell_count = 0; /* a head of nothing */
  (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "", "none can be given");
  return false;
}
