/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/scale.h"

#include <math.h>

#include "line_up/behaviour.h"
#include "line_up/rest.h"

/* A span of the stops below this share of the unit's range is not learned: plates that do not move
 * would be scaled up to full travel. */
static const double LEAST_SPAN_SHARE = 0.10;
/* A learned span below this share is told: no move may have been a full one. */
static const double SMALL_SPAN_SHARE = 0.30;
/* A position in % that stays this far from both ends although both were asked for is no % open. */
static const double BOTH_ENDS_OFF_PCT = 12.0;
/* A correlation of command and level that tells which way the sensor counts. */
static const double CLEAR_CORRELATION = 0.4;

/* The unit's own range, or without a unit that of the values. */
static double range_of(const platelag_trace *trace) {
  switch (trace->level_unit) {
  case PLATELAG_LEVEL_VOLT:
    return trace->reference_v;
  case PLATELAG_LEVEL_PCT_REFERENCE:
  case PLATELAG_LEVEL_PCT_OPEN:
    return 100.0;
  case PLATELAG_LEVEL_UNKNOWN:
    break;
  }
  return trace->position->highest - trace->position->lowest;
}

/* What lies past the spec's limits is not learned from. */
static plag_believable believable(const platelag_trace *trace, const platelag_valve_spec *spec) {
  if (isnan(trace->volts_per_level))
    return (plag_believable){-INFINITY, INFINITY};
  const double level_per_pct = trace->reference_v / trace->volts_per_level / 100.0;
  return (plag_believable){spec->low_limit_pct * level_per_pct,
                           spec->high_limit_pct * level_per_pct};
}

/* "1.20 V" */
static void add_level(plag_text *text, const platelag_trace *trace, double level) {
  plag_text_add_number(text, level, trace->level_unit == PLATELAG_LEVEL_VOLT ? 2 : 1);
  plag_text_add(text, plag_unit_text(trace->level_unit));
}

/* The levels only where the trace holds them in no volts that a report could show. */
static void note_stops(const platelag_trace *trace, const char *how, const char *but,
                       plag_notes *notes) {
  plag_text text = {0};
  plag_text_add_format(&text, "travel is scaled %s", how);
  if (isnan(trace->volts_per_level)) {
    plag_text_add(&text, ": closed ");
    add_level(&text, trace, trace->closed_level);
    plag_text_add(&text, ", open ");
    add_level(&text, trace, trace->open_level);
  }
  plag_text_add(&text, but);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

static void note(plag_notes *notes, const char *sentence) {
  plag_text text = {0};
  plag_text_add(&text, sentence);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

static void set_stops(platelag_trace *trace, platelag_scale scale, double closed, double open) {
  trace->scale = scale;
  trace->closed_level = closed;
  trace->open_level = open;
  trace->inverted = closed > open;
}

static void set_nominal(platelag_trace *trace, plag_notes *notes) {
  double lowest = 0.0;
  double highest = range_of(trace);
  if (trace->level_unit == PLATELAG_LEVEL_UNKNOWN) {
    lowest = trace->position->lowest;
    highest = trace->position->highest > lowest ? trace->position->highest : lowest + 1.0;
  }
  set_stops(trace, PLATELAG_SCALE_NOMINAL, lowest, highest);
  if (trace->level_unit == PLATELAG_LEVEL_PCT_OPEN)
    note_stops(trace, "as recorded", "", notes);
  else
    note_stops(trace, "by the sensor's whole range",
               "; the plates' stops could not be learned "
               "from this capture: give the stops' readings of the service information",
               notes);
}

/* The level falls as the command rises. With words for open and closed the sensor is turned; with a
 * number it may as well be a drive that closes with more of it. */
static void note_inverted(const platelag_trace *trace, plag_notes *notes) {
  if (trace->command == NULL)
    return;
  note(notes, "the position reads less the more is commanded: taken as a sensor that counts down "
              "as the plates open; if more command closes this valve, give the stops' readings of "
              "the service information");
}

/* Which way the sensor counts where rest levels cannot say: how level and command go together. */
static bool counts_down(const platelag_trace *trace) {
  if (trace->command == NULL || trace->sample_count == 0)
    return false;
  const plag_rows_range rows = plag_recording_rows(trace->position, trace->time_ns[0],
                                                   trace->time_ns[trace->sample_count - 1]);
  return plag_behaviour_follows(trace->command, trace->position, rows) < -CLEAR_CORRELATION;
}

/* The stops as the trace shows them, closed first. */
static plag_rest learn(const platelag_trace *trace, const platelag_valve_spec *spec) {
  const double least = LEAST_SPAN_SHARE * range_of(trace);
  const plag_believable sane = believable(trace, spec);
  plag_rest rest = plag_rest_learn(trace, sane);
  if (!rest.found && (trace->command == NULL || trace->command_highest > trace->command_lowest)) {
    rest = plag_rest_range(trace, sane);
    if (rest.found && counts_down(trace))
      rest = (plag_rest){.found = true, .at_low = rest.at_high, .at_high = rest.at_low};
  }
  rest.found = rest.found && fabs(rest.at_high - rest.at_low) >= least && least > 0.0;
  return rest;
}

/* A controller's own % open is scaled to its stops; a valve that misses both by much is not likely,
 * a sensor in % of its reference is. */
static bool is_reference_after_all(const platelag_trace *trace, const plag_rest *rest) {
  const double lower = fmin(rest->at_low, rest->at_high);
  const double upper = fmax(rest->at_low, rest->at_high);
  return trace->level_unit == PLATELAG_LEVEL_PCT_OPEN && rest->found &&
         lower >= BOTH_ENDS_OFF_PCT && upper <= 100.0 - BOTH_ENDS_OFF_PCT;
}

static void set_learned(platelag_trace *trace, const plag_rest *rest, bool one_given,
                        plag_notes *notes) {
  set_stops(trace, PLATELAG_SCALE_LEARNED, rest->at_low, rest->at_high);
  const bool small = fabs(rest->at_high - rest->at_low) < SMALL_SPAN_SHARE * range_of(trace);
  note_stops(trace,
             one_given                ? "by one stop of the spec and the other learned from this "
                                        "capture"
             : trace->command != NULL ? "by the rest levels learned from this capture"
                                      : "by the range visited, learned from this capture",
             small ? ", a small span: plates that never moved fully look like this too; give "
                     "the stops' readings of the service information"
                   : "; plates that always stop short of an end are seen only with the stops' "
                     "readings of the service information",
             notes);
  if (trace->inverted)
    note_inverted(trace, notes);
}

/* Whether the spec's stops are volts although the position is in %: no valve's whole travel lies
 * within the first few % of its reading. */
static bool stops_are_volts(const platelag_trace *trace, const platelag_valve_spec *spec) {
  const bool percent = trace->level_unit == PLATELAG_LEVEL_PCT_REFERENCE ||
                       trace->level_unit == PLATELAG_LEVEL_PCT_OPEN;
  return percent && !(fmax(spec->closed_v, spec->open_v) > trace->reference_v);
}

/* The spec's stops in the unit recorded; NaN where not given, or where the controller's own scale
 * hides the volts. */
static plag_rest stops_of(const platelag_trace *trace, const platelag_valve_spec *spec) {
  double level_per_unit = 1.0;
  if (stops_are_volts(trace, spec))
    level_per_unit = 1.0 / trace->volts_per_level; /* NaN for % open */
  const plag_rest stops = {.at_low = spec->closed_v * level_per_unit,
                           .at_high = spec->open_v * level_per_unit};
  return (plag_rest){.found = !isnan(stops.at_low) && !isnan(stops.at_high) &&
                              stops.at_low != stops.at_high,
                     .at_low = stops.at_low,
                     .at_high = stops.at_high};
}

static bool set_by_spec(platelag_trace *trace, const platelag_valve_spec *spec) {
  const plag_rest stops = stops_of(trace, spec);
  if (!stops.found)
    return false;
  set_stops(trace, PLATELAG_SCALE_SPEC, stops.at_low, stops.at_high);
  return true;
}

/* Where the spec gives one stop, the other is the learned level that lies farther from it,
 * whichever way the sensor counts. False where it gives none, or nothing was learned. */
static bool take_given_stop(const platelag_trace *trace, const platelag_valve_spec *spec,
                            plag_rest *rest) {
  const plag_rest stops = stops_of(trace, spec);
  const bool closed = !isnan(stops.at_low);
  if (!rest->found || closed == !isnan(stops.at_high))
    return false;
  const double given = closed ? stops.at_low : stops.at_high;
  const double other =
      fabs(rest->at_low - given) > fabs(rest->at_high - given) ? rest->at_low : rest->at_high;
  *rest = (plag_rest){
      .found = true, .at_low = closed ? given : other, .at_high = closed ? other : given};
  return true;
}

void plag_scale_set(platelag_trace *trace, const platelag_valve_spec *spec, plag_notes *notes) {
  if (set_by_spec(trace, spec))
    return;
  plag_rest rest = learn(trace, spec);
  if (is_reference_after_all(trace, &rest)) {
    trace->level_unit = PLATELAG_LEVEL_PCT_REFERENCE;
    plag_unit_set_volts(trace);
    note(notes, "the position stays well inside 0..100 % although both ends are commanded: taken "
                "as % of the sensor's reference; if it is \"% open\", give 0 and 100 as the "
                "readings of the "
                "closed and the open stop");
    if (set_by_spec(trace, spec))
      return;
    rest = learn(trace, spec);
  }
  const bool one_given = take_given_stop(trace, spec, &rest);
  if (rest.found && trace->level_unit != PLATELAG_LEVEL_PCT_OPEN)
    set_learned(trace, &rest, one_given, notes);
  else
    set_nominal(trace, notes);
}
