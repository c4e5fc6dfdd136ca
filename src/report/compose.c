/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include "platelag/report.h"

#include <string.h>

#include "report/note.h"
#include "report/text.h"
#include "report/words.h"

enum { MOST_NOTES = 4 };

static void add_heading_drafted(plag_document *document) {
  const char *label = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_HEADING, PLAG_TONE_PLAIN, label, "");
}

static void say_file(plag_document *document, const platelag_review_capture *capture) {
  plag_document_say(document, strcmp(capture->file, "-") == 0 ? "standard input" : capture->file);
  plag_document_say(document, " (");
  plag_document_say(document, plag_words_condition(capture->condition));
  plag_document_say(document, ")");
  const char *label =
      capture->capture == NULL ? "" : platelag_capture_run_label(capture->capture, capture->run);
  if (label[0] != '\0') {
    plag_document_say(document, ", ");
    plag_document_say(document, label);
  } else if (capture->run > 0) {
    plag_document_say(document, ", recording ");
    plag_document_say_number(document, (double)capture->run + 1, 0);
  }
}

static const platelag_review_valve *valve_named(const platelag_review_capture *capture,
                                                const char *name) {
  for (size_t i = 0; i < capture->valve_count; i++)
    if (strcmp(capture->valve[i].trace->valve, name) == 0)
      return &capture->valve[i];
  return NULL;
}

static size_t captures_of(const platelag_review *review, const char *valve,
                          const platelag_review_valve **only) {
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_valve *found = valve_named(&review->capture[i], valve);
    if (found != NULL)
      *only = found;
    count += found != NULL;
  }
  return count;
}

/* Each capture's own figures; of several captures also what each alone would say. */
static void add_captures(plag_document *document, const platelag_review *review, const char *valve,
                         bool several) {
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_valve *found = valve_named(&review->capture[i], valve);
    if (found == NULL)
      continue;
    plag_document_say(document, "Figures: ");
    say_file(document, &review->capture[i]);
    add_heading_drafted(document);
    if (several && found->finding->sentence != NULL)
      (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "",
                              found->finding->sentence);
    plag_compose_figures(document, found);
  }
}

static void add_case(plag_document *document, const platelag_review *review,
                     const platelag_case *judged) {
  const platelag_review_valve *only = NULL;
  const bool several = captures_of(review, judged->valve, &only) > 1;
  plag_compose_verdict(document, judged->valve, judged->finding, judged->repair, several);
  add_captures(document, review, judged->valve, several);
  plag_compose_reasons(document, judged->finding);
  if (!several && only != NULL) {
    plag_compose_checks(document, only->finding);
    plag_compose_codes(document, only->finding);
  } else {
    plag_compose_codes(document, judged->finding);
  }
  plag_compose_next_tests(document, judged->finding);
}

static void say_reading(plag_document *document, const platelag_reading *reading) {
  plag_document_say_count(document, reading->rows, "row");
  plag_document_say(document, " over ");
  plag_document_say_number(document, reading->duration_s, 1);
  plag_document_say(document, " s, ");
  plag_document_say(document, reading->separator);
  plag_document_say(document, ", decimal ");
  plag_document_say(document, reading->decimal);
  plag_document_say(document, ", clock in ");
  plag_document_say(document, reading->clock);
  plag_document_say(document, ", ");
  plag_document_say(document, reading->encoding);
  if (reading->skipped > 0) {
    plag_document_say(document, "; ");
    plag_document_say_count(document, reading->skipped, "row");
    plag_document_say(document, " skipped");
  }
}

static void add_notes(plag_document *document, const platelag_review_capture *capture) {
  const size_t count = platelag_capture_note_count(capture->capture);
  for (size_t i = 0; i < count && i < MOST_NOTES; i++)
    plag_note_add(document, platelag_capture_note_at(capture->capture, i));
  if (count > MOST_NOTES) {
    plag_document_say_count(document, count - MOST_NOTES, "more note");
    plag_document_say(document, ": platelag columns ");
    plag_document_say(document, capture->file);
    const char *text = plag_document_take(document);
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "", text);
  }
  for (size_t i = 0; i < capture->valve_count; i++)
    for (size_t k = 0; k < capture->valve[i].trace->note_count; k++)
      (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN,
                              capture->valve[i].trace->valve, capture->valve[i].trace->note[k]);
}

static void add_reading(plag_document *document, const platelag_review *review) {
  (void)plag_document_add(document, PLAG_BLOCK_HEADING, PLAG_TONE_PLAIN, "What was read", "");
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_capture *capture = &review->capture[i];
    say_file(document, capture);
    plag_document_say(document, ": ");
    if (capture->refusal.status != PLATELAG_OK) {
      char message[1024];
      (void)platelag_error_describe(&capture->refusal, message, sizeof message);
      plag_document_say(document, "refused: ");
      plag_document_say(document, message);
    } else {
      say_reading(document, platelag_capture_reading(capture->capture));
    }
    const char *text = plag_document_take(document);
    (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "", text);
    if (capture->refusal.status == PLATELAG_OK)
      add_notes(document, capture);
  }
}

void plag_compose_review(plag_document *document, const platelag_review *review) {
  for (size_t i = 0; i < review->case_count; i++)
    add_case(document, review, review->cases[i]);
  add_reading(document, review);
  (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "",
                          "The service information of the vehicle overrides every limit used here; "
                          "follow it, local rules and licensed practice.");
}

platelag_status platelag_report_write_text(const platelag_review *review,
                                           const platelag_report_options *options,
                                           const platelag_sink *sink, platelag_error *error) {
  plag_document document = {0};
  plag_compose_review(&document, review);
  const platelag_status status = plag_text_report_write(&document, options, sink, error);
  plag_document_clear(&document);
  return status;
}
