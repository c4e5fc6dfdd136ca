/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a file was understood: each guess stands where its reader can doubt it. */
#include "platelag/report.h"

#include <math.h>
#include <string.h>

#include "core/calendar.h"
#include "report/document.h"
#include "report/note.h"
#include "report/text.h"

static void add_fact(plag_document *document, const char *label) {
  const char *text = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_ROW, PLAG_TONE_PLAIN, "", "");
  plag_document_cell(document, label);
  plag_document_cell(document, text);
}

static void add_words(plag_document *document, const char *label, const char *text) {
  plag_document_say(document, text);
  add_fact(document, label);
}

static void say_started(plag_document *document, const platelag_reading *reading) {
  char text[PLAG_CALENDAR_BYTES];
  plag_calendar_format(reading->started_unix_s, ' ', text);
  plag_document_say(document, text);
  if (reading->started_zoned)
    plag_document_say(document, " UTC");
}

static void say_header(plag_document *document, const platelag_reading *reading) {
  if (reading->header_line == 0) {
    plag_document_say(document, "none; a column is named by its number, such as #3");
    return;
  }
  plag_document_say(document, "line ");
  plag_document_say_number(document, (double)reading->header_line, 0);
  if (reading->header_rows > 1) {
    plag_document_say(document, ", ");
    plag_document_say_count(document, (size_t)reading->header_rows, "row");
  }
  if (reading->preamble_lines > 0) {
    plag_document_say(document, ", after ");
    plag_document_say_count(document, (size_t)reading->preamble_lines, "line");
    plag_document_say(document, " of preamble");
  }
}

static void say_rows(plag_document *document, const platelag_reading *reading) {
  plag_document_say_count(document, reading->rows, "row");
  plag_document_say(document, " over ");
  plag_document_say_number(document, reading->duration_s, 1);
  plag_document_say(document, " s");
  if (reading->row_period_s > 0) {
    plag_document_say(document, ", one every ");
    plag_document_say_number(document, reading->row_period_s, 3);
    plag_document_say(document, " s (median)");
  }
}

static void say_skipped(plag_document *document, const platelag_reading *reading) {
  plag_document_say_count(document, reading->skipped, "row");
  plag_document_say(document, " left out, ");
  plag_document_say_count(document, reading->unparsed, "cell");
  plag_document_say(document, " that hold no value; where: see below");
}

static void add_layout(plag_document *document, const platelag_capture *capture) {
  const platelag_reading *reading = platelag_capture_reading(capture);
  (void)plag_document_add(document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "", "");
  plag_document_cell(document, "file");
  plag_document_cell(document, platelag_capture_name(capture));
  if (strcmp(reading->compression, "none") != 0)
    add_words(document, "compression", reading->compression);
  add_words(document, "encoding", reading->encoding);
  add_words(document, "separator", reading->separator);
  plag_document_say(document, "decimal ");
  add_words(document, "numbers", reading->decimal);
  add_words(document, "shape", reading->shape);
  add_words(document, "clock", reading->clock);
  if (reading->started_known) {
    say_started(document, reading);
    add_fact(document, "begun");
  }
  say_header(document, reading);
  add_fact(document, "header");
  say_rows(document, reading);
  add_fact(document, "rows");
  if (reading->skipped > 0 || reading->unparsed > 0) {
    say_skipped(document, reading);
    add_fact(document, "skipped");
  }
  if (reading->stored_codes[0] != '\0')
    add_words(document, "stored codes", reading->stored_codes);
}

static const char *kind_name(platelag_value_kind kind) {
  static const char *const names[] = {[PLATELAG_VALUE_EMPTY] = "no values",
                                      [PLATELAG_VALUE_NUMBER] = "numbers",
                                      [PLATELAG_VALUE_STATE] = "on/off",
                                      [PLATELAG_VALUE_WORDS] = "words"};
  return names[kind];
}

static void say_range(plag_document *document, const platelag_channel *channel) {
  if (channel->kind != PLATELAG_VALUE_NUMBER || !isfinite(channel->lowest)) {
    plag_document_say(document, kind_name(channel->kind));
    return;
  }
  plag_document_say_figure(document, channel->lowest);
  plag_document_say(document, " to ");
  plag_document_say_figure(document, channel->highest);
}

static void say_role(plag_document *document, const platelag_channel *channel) {
  if (channel->role == PLATELAG_ROLE_NONE) {
    plag_document_say(document, "-");
    return;
  }
  plag_document_say(document, platelag_role_name(channel->role));
  if (channel->bank > 0) {
    plag_document_say(document, ", bank ");
    plag_document_say_number(document, channel->bank, 0);
  }
  if (channel->role_reason[0] == '\0')
    return;
  plag_document_say(document, " (");
  plag_document_say(document, channel->role_reason);
  if (channel->role_score < 1) {
    plag_document_say(document, "; ");
    plag_document_say_number(document, 100 * channel->role_score, 0);
    plag_document_say(document, " % sure");
  }
  plag_document_say(document, ")");
}

static void add_channel(plag_document *document, const platelag_channel *channel) {
  const bool has_role = channel->role == PLATELAG_ROLE_COMMAND ||
                        channel->role == PLATELAG_ROLE_DESIRED ||
                        channel->role == PLATELAG_ROLE_POSITION;
  (void)plag_document_add(document, PLAG_BLOCK_ROW, has_role ? PLAG_TONE_GOOD : PLAG_TONE_PLAIN, "",
                          "");
  plag_document_say(document, "#"); /* as the command and the position may be named */
  plag_document_say_number(document, channel->column, 0);
  plag_document_cell_taken(document);
  plag_document_cell(document, channel->name);
  plag_document_cell(document, channel->unit_text);
  plag_document_say_number(document, (double)channel->present, 0);
  if (channel->missing + channel->unparsed > 0) {
    plag_document_say(document, " of ");
    plag_document_say_number(document,
                             (double)(channel->present + channel->missing + channel->unparsed), 0);
  }
  plag_document_cell_taken(document);
  say_range(document, channel);
  plag_document_cell_taken(document);
  if (channel->refresh_s > 0)
    plag_document_say_number(document, channel->refresh_s, 3);
  plag_document_cell_taken(document);
  say_role(document, channel);
  plag_document_cell_taken(document);
}

static void add_channels(plag_document *document, const platelag_capture *capture) {
  static const char *const head[] = {"column", "name",      "unit", "values",
                                     "range",  "refresh s", "role"};
  const size_t columns = sizeof head / sizeof head[0];
  plag_document_head(document, "Channels");
  plag_block *table = plag_document_add(document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "", "");
  if (table != NULL)
    table->right = 1U << 0 | 1U << 3 | 1U << 5;
  for (size_t i = 0; i < columns; i++)
    plag_document_cell(document, head[i]);
  for (size_t i = 0; i < platelag_capture_channel_count(capture); i++)
    add_channel(document, platelag_capture_channel_at(capture, i));
}

static void add_segments(plag_document *document, const platelag_capture *capture) {
  static const char *const reasons[] = {[PLATELAG_BREAK_START] = "start of the capture",
                                        [PLATELAG_BREAK_GAP] = "after a gap",
                                        [PLATELAG_BREAK_RESTART] = "the clock began anew",
                                        [PLATELAG_BREAK_RUN] = "another run"};
  const size_t count = platelag_capture_segment_count(capture);
  enum { SHOWN = 12 };
  if (count < 2)
    return;
  plag_document_head(document, "Segments (nothing is carried from one to the next)");
  for (size_t i = 0; i < count && i < SHOWN; i++) {
    const platelag_segment *segment = platelag_capture_segment_at(capture, i);
    plag_document_say_number(document, platelag_seconds(segment->from_ns), 1);
    plag_document_say(document, " to ");
    plag_document_say_number(document, platelag_seconds(segment->to_ns), 1);
    plag_document_say(document, " s: ");
    plag_document_say(document, reasons[segment->why]);
    if (segment->why == PLATELAG_BREAK_RUN) {
      plag_document_say(document, " ");
      plag_document_say(document, platelag_capture_run_label(capture, (size_t)segment->run));
    }
    plag_document_add_taken(document, PLAG_BLOCK_POINT, "");
  }
  if (count > SHOWN) {
    plag_document_say_count(document, count - SHOWN, "more segment");
    plag_document_add_taken(document, PLAG_BLOCK_POINT, "");
  }
}

void plag_note_add(plag_document *document, const platelag_note *note) {
  if (note->line > 0) {
    plag_document_say(document, "line ");
    plag_document_say_number(document, (double)note->line, 0);
  }
  if (note->line > 0 && note->column > 0) {
    plag_document_say(document, ", column ");
    plag_document_say_number(document, (double)note->column, 0);
  }
  if (note->count > 1) {
    plag_document_say(document, note->line > 0 ? " and others, " : "");
    plag_document_say_count(document, note->count, "time");
  }
  const char *place = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, place, note->text);
}

static void add_notes(plag_document *document, const platelag_capture *capture) {
  const size_t count = platelag_capture_note_count(capture);
  if (count == 0)
    return;
  plag_document_head(document, "Notes");
  for (size_t i = 0; i < count; i++) {
    const platelag_note *note = platelag_capture_note_at(capture, i);
    plag_note_add(document, note);
  }
}

platelag_status platelag_report_write_columns(const platelag_capture *capture,
                                              const platelag_report_options *options,
                                              const platelag_sink *sink, platelag_error *error) {
  plag_document document = {0};
  add_layout(&document, capture);
  add_channels(&document, capture);
  add_segments(&document, capture);
  add_notes(&document, capture);
  return plag_text_report_finish(&document, options, sink, error);
}
