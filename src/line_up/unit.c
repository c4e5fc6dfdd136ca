/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/scale.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "core/statistics.h"

/* A position without a unit whose values lie in here reads volts: the supply of such sensors is
 * 5 V (common practice, no source). */
static const double VOLTS_LOWEST = -0.1;
static const double VOLTS_HIGHEST = 5.5;
/* The same for percents. */
static const double PERCENT_LOWEST = -10.0;
static const double PERCENT_HIGHEST = 110.0;

/* References that a sensor of this kind may have; a reading outside is a fault, not a reference. */
static const double REFERENCE_LOWEST_V = 2.5;
static const double REFERENCE_HIGHEST_V = 12.5;

enum { MOST_LOOKED_AT = 2048 };

/* Whole words of names and units that say the % are of the reference and not of the travel; lower
 * case. */
static const char *const REFERENCE_WORDS[] = {
    "ref", "reference", "referenz", "referencia", "vref", "raw", "vcc", "r\u00e9f\u00e9rence"};

static bool is_letter(char sign) {
  return isalnum((unsigned char)sign) || (sign & 0x80) != 0;
}

/* Whether `word` stands in `text` with no letter beside it. */
static bool contains_word(const char *text, const char *word) {
  const size_t length = strlen(word);
  for (const char *start = text; *start != '\0'; start++) {
    size_t i = 0;
    while (i < length && tolower((unsigned char)start[i]) == (unsigned char)word[i])
      i++;
    const bool begins = start == text || !is_letter(start[-1]);
    if (i == length && begins && !is_letter(start[length]))
      return true;
  }
  return false;
}

static bool says_reference(const platelag_channel *position) {
  for (size_t i = 0; i < sizeof REFERENCE_WORDS / sizeof REFERENCE_WORDS[0]; i++)
    if (contains_word(position->name, REFERENCE_WORDS[i]) ||
        contains_word(position->unit_text, REFERENCE_WORDS[i]))
      return true;
  return false;
}

static double median_of(const platelag_channel *channel) {
  double value[MOST_LOOKED_AT];
  size_t count = 0;
  const size_t stride = 1 + channel->count / MOST_LOOKED_AT;
  for (size_t i = 0; i < channel->count && count < MOST_LOOKED_AT; i += stride)
    if (!isnan(channel->value[i]))
      value[count++] = channel->value[i];
  return plag_median(value, count);
}

static void set_reference(platelag_trace *trace, const platelag_valve_spec *spec) {
  trace->reference_v = spec->reference_v;
  const platelag_channel *channel = trace->auxiliary[PLATELAG_ROLE_SENSOR_REFERENCE];
  if (spec->reference_given || channel == NULL || channel->unit != PLATELAG_UNIT_VOLT)
    return;
  const double recorded_v = median_of(channel);
  if (recorded_v >= REFERENCE_LOWEST_V && recorded_v <= REFERENCE_HIGHEST_V)
    trace->reference_v = recorded_v;
}

static bool values_within(const platelag_channel *position, double lowest, double highest) {
  return position->lowest >= lowest && position->highest <= highest;
}

static void note_guess(const platelag_channel *position, const char *unit, const char *other,
                       plag_notes *notes) {
  plag_text text = {0};
  plag_text_add_format(&text, "\"%s\" has no unit; its values, ", position->name);
  plag_text_add_number(&text, position->lowest, 2);
  plag_text_add(&text, " to ");
  plag_text_add_number(&text, position->highest, 2);
  plag_text_add_format(&text, ", were taken as %s%s", unit, other);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

static void note_hidden(plag_notes *notes) {
  plag_text text = {0};
  plag_text_add(&text, "the position is in % open: the controller has scaled it already, so a "
                       "signal at a rail of the sensor cannot be told from plates at a stop");
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

void plag_unit_set_volts(platelag_trace *trace) {
  trace->volts_per_level = NAN;
  if (trace->level_unit == PLATELAG_LEVEL_VOLT)
    trace->volts_per_level = 1.0;
  if (trace->level_unit == PLATELAG_LEVEL_PCT_REFERENCE)
    trace->volts_per_level = trace->reference_v / 100.0;
}

const char *plag_unit_text(platelag_level_unit unit) {
  switch (unit) {
  case PLATELAG_LEVEL_VOLT:
    return " V";
  case PLATELAG_LEVEL_PCT_REFERENCE:
    return " % of reference";
  case PLATELAG_LEVEL_PCT_OPEN:
    return " %";
  case PLATELAG_LEVEL_UNKNOWN:
    break;
  }
  return "";
}

void plag_unit_decide(platelag_trace *trace, const platelag_valve_spec *spec, plag_notes *notes) {
  const platelag_channel *position = trace->position;
  set_reference(trace, spec);
  trace->level_unit = PLATELAG_LEVEL_UNKNOWN;
  if (position->unit == PLATELAG_UNIT_VOLT) {
    trace->level_unit = PLATELAG_LEVEL_VOLT;
  } else if (position->unit == PLATELAG_UNIT_PERCENT) {
    trace->level_unit =
        says_reference(position) ? PLATELAG_LEVEL_PCT_REFERENCE : PLATELAG_LEVEL_PCT_OPEN;
  } else if (position->unit == PLATELAG_UNIT_UNKNOWN && position->kind == PLATELAG_VALUE_NUMBER) {
    if (values_within(position, VOLTS_LOWEST, VOLTS_HIGHEST)) {
      trace->level_unit = PLATELAG_LEVEL_VOLT;
      note_guess(position, "volts", "", notes);
    } else if (values_within(position, PERCENT_LOWEST, PERCENT_HIGHEST)) {
      const bool reference = says_reference(position);
      trace->level_unit = reference ? PLATELAG_LEVEL_PCT_REFERENCE : PLATELAG_LEVEL_PCT_OPEN;
      note_guess(position, reference ? "% of reference" : "% open",
                 "; a unit in the header says otherwise", notes);
    }
  }
  plag_unit_set_volts(trace);
  if (trace->level_unit == PLATELAG_LEVEL_PCT_OPEN)
    note_hidden(notes);
}
