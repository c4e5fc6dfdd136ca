/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/describe_capture.h"

#include <math.h>
#include <string.h>

#include "core/number.h"

enum { MOST_SAMPLES = 6, DIGITS = 10 };

static void add_number(plag_text *text, double value) {
  char number[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add(text, isnan(value) ? "-" : plag_number_format_json(value, DIGITS, number));
}

static void describe_channel(const platelag_channel *channel, plag_text *text) {
  plag_text_add_format(text, "; %s", platelag_role_name(channel->role));
  if (channel->bank > 0)
    plag_text_add_format(text, "/%d", channel->bank);
  plag_text_add_format(text, " %s [%s]", channel->name, channel->unit_text);
  for (size_t i = 0; i < channel->count && i < MOST_SAMPLES; i++) {
    plag_text_add(text, " ");
    add_number(text, (double)channel->time_ns[i] * 1e-9);
    plag_text_add(text, "=");
    add_number(text, channel->value[i]);
  }
  if (channel->count > MOST_SAMPLES)
    plag_text_add(text, " ..");
}

void plag_test_describe_capture(const platelag_capture *capture, plag_text *text) {
  static const char *const breaks[] = {"start", "gap", "restart", "run"};
  const platelag_reading *reading = platelag_capture_reading(capture);
  plag_text_add_format(text, "%s %s, %s, %s, %zu rows", reading->separator, reading->decimal,
                       reading->shape, reading->clock, reading->rows);
  if (reading->skipped > 0)
    plag_text_add_format(text, ", %zu left out", reading->skipped);
  for (size_t i = 0; i < platelag_capture_channel_count(capture); i++)
    if (platelag_capture_channel_at(capture, i)->kept)
      describe_channel(platelag_capture_channel_at(capture, i), text);
  for (size_t i = 1; i < platelag_capture_segment_count(capture); i++) {
    const platelag_segment *segment = platelag_capture_segment_at(capture, i);
    plag_text_add_format(text, "; %s at ", breaks[segment->why]);
    add_number(text, (double)segment->from_ns * 1e-9);
  }
}

const platelag_note *plag_test_find_note(const platelag_capture *capture, const char *words) {
  for (size_t i = 0; i < platelag_capture_note_count(capture); i++)
    if (strstr(platelag_capture_note_at(capture, i)->text, words) != NULL)
      return platelag_capture_note_at(capture, i);
  return NULL;
}
