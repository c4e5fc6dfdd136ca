/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/repair.h"

#include <math.h>

#include "judge/facts.h"
#include "judge/words.h"

/* How bad a finding is, where the kind changed: a valve that moves again is better. */
static int rank(platelag_finding_kind kind) {
  static const int bad[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = 0,           [PLATELAG_FINDING_SLOW] = 1,
      [PLATELAG_FINDING_SHORT_TRAVEL] = 2,   [PLATELAG_FINDING_STICKING] = 2,
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = 2, [PLATELAG_FINDING_SIGNAL_ERRATIC] = 3,
      [PLATELAG_FINDING_STILL] = 4,          [PLATELAG_FINDING_SIGNAL_HIGH] = 4,
      [PLATELAG_FINDING_SIGNAL_LOW] = 4,
  };
  return bad[kind];
}

static const platelag_estimate nothing = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};

/* A rate with the interval of a Poisson count: half a count either side of the square-root
 * transform, which is near enough to 90 % from one count up (F. J. Anscombe, Biometrika 35 (1948)
 * 246-254). */
static platelag_estimate rate(double count, double minutes) {
  if (!(minutes > 0))
    return nothing;
  const double root = sqrt(count + 0.375);
  const double low = fmax(root - 0.5 * 1.6448536269514722, 0);
  const double high = root + 0.5 * 1.6448536269514722;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, count / minutes,
                             fmax(low * low - 0.375, 0) / minutes, (high * high - 0.375) / minutes};
}

/* Settled ends are read to about this, % of travel. */
#define END_ERROR_PCT 2.0

static platelag_estimate about(double value) {
  if (!isfinite(value))
    return nothing;
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, value, value - END_ERROR_PCT,
                             value + END_ERROR_PCT};
}

static double shortest_end_pct(const platelag_travel *travel) {
  return fmax(travel->rest_closed_pct, 100 - travel->rest_open_pct); /* skips NaN */
}

static platelag_estimate slower_t63(const platelag_fit *fit) {
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  return slower == NULL ? nothing : *slower;
}

/* The figure that measures a fault; nothing where the fault has no degree. */
static platelag_estimate figure_of(platelag_finding_kind kind, const platelag_fit *fit) {
  switch (kind) {
  case PLATELAG_FINDING_SLOW:
    return slower_t63(fit);
  case PLATELAG_FINDING_STICKING:
    if (fit->friction.stick_band_pct.known != PLATELAG_KNOWN_NOTHING)
      return fit->friction.stick_band_pct;
    return rate((double)fit->held_count, fit->coverage.recorded_s / 60);
  case PLATELAG_FINDING_SHORT_TRAVEL:
    return about(shortest_end_pct(&fit->travel));
  case PLATELAG_FINDING_SIGNAL_SHIFTED:
    return about(fmax(fabs(fit->travel.rest_closed_pct), fabs(fit->travel.rest_open_pct - 100)));
  case PLATELAG_FINDING_SIGNAL_ERRATIC:
    return rate((double)fit->signal.void_count, fit->coverage.recorded_s / 60);
  default:
    return nothing;
  }
}

static platelag_repair by_figure(const platelag_estimate *before, const platelag_estimate *after) {
  if (before->known == PLATELAG_KNOWN_NOTHING || after->known == PLATELAG_KNOWN_NOTHING)
    return PLATELAG_REPAIR_CANNOT_TELL;
  if (after->high < before->low)
    return PLATELAG_REPAIR_BETTER;
  if (after->low > before->high)
    return PLATELAG_REPAIR_WORSE;
  return PLATELAG_REPAIR_UNCHANGED;
}

platelag_repair plag_repair_judge(const platelag_case_input *before,
                                  const platelag_case_input *after) {
  const platelag_finding_kind was = before->finding->kind;
  const platelag_finding_kind is = after->finding->kind;
  if (was == PLATELAG_FINDING_UNDECIDED || is == PLATELAG_FINDING_UNDECIDED)
    return PLATELAG_REPAIR_CANNOT_TELL;
  if (is == PLATELAG_FINDING_FREE)
    return was == PLATELAG_FINDING_FREE ? PLATELAG_REPAIR_UNCHANGED : PLATELAG_REPAIR_REPAIRED;
  if (rank(is) != rank(was))
    return rank(is) < rank(was) ? PLATELAG_REPAIR_BETTER : PLATELAG_REPAIR_WORSE;
  if (is != was)
    return PLATELAG_REPAIR_CANNOT_TELL;
  if (rank(is) == 4) /* no movement, or a rail: these have no degree */
    return PLATELAG_REPAIR_UNCHANGED;
  const platelag_estimate old = figure_of(was, before->fit);
  const platelag_estimate new = figure_of(is, after->fit);
  return by_figure(&old, &new);
}

/* "1.24 (1.10 to 1.39)", "at most 0.4", "-". */
static const char *with_interval(const platelag_estimate *figure, plag_arena *arena) {
  switch (figure->known) {
  case PLATELAG_KNOWN_VALUE:
    return plag_words(arena, "#2 (#2 to #2)", figure->value, figure->low, figure->high);
  case PLATELAG_KNOWN_UPPER_LIMIT:
    return plag_words(arena, "at most #2", figure->high);
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return plag_words(arena, "at least #2", figure->low);
  case PLATELAG_KNOWN_BRACKET:
    return plag_words(arena, "between #2 and #2", figure->low, figure->high);
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return "not measured";
}

static double middle(const platelag_estimate *figure) {
  switch (figure->known) {
  case PLATELAG_KNOWN_VALUE:
    return figure->value;
  case PLATELAG_KNOWN_UPPER_LIMIT:
    return figure->high;
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return figure->low;
  case PLATELAG_KNOWN_BRACKET:
    return 0.5 * (figure->low + figure->high);
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return NAN;
}

/* How much the figure after the repair says that it is within its limit, or that it is not. */
static double weight_of(const platelag_estimate *figure, double limit) {
  const double above = fmin(fmax(plag_facts_above(figure, limit), 0.007), 0.993);
  return fabs(log(above / (1 - above)));
}

bool plag_repair_tell(const platelag_case_input *before, const platelag_case_input *after,
                      const platelag_valve_spec *spec, plag_arena *arena, platelag_evidence *row,
                      size_t *count) {
  const struct {
    const char *what, *unit;
    platelag_estimate old, new;
    double limit;
  } figure[PLAG_REPAIR_FIGURES] = {
      {"slower t63 after the repair", "s", slower_t63(before->fit), slower_t63(after->fit),
       spec->t63_limit_s},
      {"stick band after the repair", "% of travel", before->fit->friction.stick_band_pct,
       after->fit->friction.stick_band_pct, spec->stick_band_limit_pct},
      {"end furthest short of its stop after the repair", "% of travel",
       about(shortest_end_pct(&before->fit->travel)), about(shortest_end_pct(&after->fit->travel)),
       spec->short_travel_limit_pct},
      {"void readings a minute after the repair", "1/min",
       rate((double)before->fit->signal.void_count, before->fit->coverage.recorded_s / 60),
       rate((double)after->fit->signal.void_count, after->fit->coverage.recorded_s / 60), 1.0},
  };
  *count = 0;
  for (size_t i = 0; i < PLAG_REPAIR_FIGURES; i++) {
    if (figure[i].new.known == PLATELAG_KNOWN_NOTHING)
      continue;
    const char *old = with_interval(&figure[i].old, arena);
    const char *new = with_interval(&figure[i].new, arena);
    const char *what = old == NULL || new == NULL
                           ? NULL
                           : plag_words(arena, "#s: #s, before #s", figure[i].what, new, old);
    if (what == NULL)
      return false;
    const bool within = plag_facts_above(&figure[i].new, figure[i].limit) < 0.5;
    const platelag_family blamed = after->finding->family == PLATELAG_FAMILY_UNDECIDED
                                       ? PLATELAG_FAMILY_MECHANICAL
                                       : after->finding->family;
    row[(*count)++] = (platelag_evidence){.what = what,
                                          .value = middle(&figure[i].new),
                                          .limit = figure[i].limit,
                                          .unit = figure[i].unit,
                                          .speaks_for = within ? PLATELAG_FAMILY_FREE : blamed,
                                          .weight = weight_of(&figure[i].new, figure[i].limit),
                                          .source = PLATELAG_EVIDENCE_REPAIR};
  }
  return true;
}
