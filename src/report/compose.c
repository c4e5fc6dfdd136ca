/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include "platelag/report.h"

#include <string.h>

#include "report/note.h"
#include "report/text.h"
#include "report/words.h"

enum { MOST_NOTES = 3 };

/* "road", "road 2" where there are several, with the label of the run. */
void plag_compose_say_title(plag_document *document, const platelag_review *review, size_t index) {
  const platelag_review_capture *capture = &review->capture[index];
  size_t same = 0, before = 0;
  for (size_t i = 0; i < review->capture_count; i++) {
    same += review->capture[i].condition == capture->condition;
    before += i < index && review->capture[i].condition == capture->condition;
  }
  plag_document_say(document, plag_words_condition(capture->condition));
  if (same > 1) {
    plag_document_say(document, " ");
    plag_document_say_number(document, (double)before + 1, 0);
  }
  const char *label =
      capture->capture == NULL ? "" : platelag_capture_run_label(capture->capture, capture->run);
  if (label[0] != '\0') {
    plag_document_say(document, ", ");
    plag_document_say(document, label);
  }
}

/* A capture's valve of one case. By its index: files name a valve differently, or not at all. */
static const platelag_review_valve *valve_of(const platelag_review_capture *capture,
                                             size_t case_index) {
  for (size_t i = 0; i < capture->valve_count; i++)
    if (capture->valve[i].case_index == case_index)
      return &capture->valve[i];
  return NULL;
}

static size_t captures_of(const platelag_review *review, size_t case_index,
                          const platelag_review_valve **first) {
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_valve *found = valve_of(&review->capture[i], case_index);
    if (found != NULL && count++ == 0)
      *first = found;
  }
  return count;
}

/* What each capture would say alone. */
static void add_sentences(plag_document *document, const platelag_review *review,
                          size_t case_index) {
  (void)plag_document_add(document, PLAG_BLOCK_HEADING, PLAG_TONE_PLAIN, "Each capture by itself",
                          "");
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_valve *found = valve_of(&review->capture[i], case_index);
    if (found == NULL)
      continue;
    plag_compose_say_title(document, review, i);
    const char *title = plag_document_take(document);
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, title,
                            found->finding->sentence != NULL
                                ? found->finding->sentence
                                : plag_words_meaning(found->finding->kind));
  }
}

/* The captures' figures, as many side by side as a table holds. */
static void add_figures(plag_document *document, const platelag_review *review, size_t case_index) {
  const platelag_review_valve *shown[PLAG_FIGURE_CAPTURES];
  const char *title[PLAG_FIGURE_CAPTURES];
  bool timed = false;
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_valve *found = valve_of(&review->capture[i], case_index);
    if (found != NULL) {
      plag_compose_say_title(document, review, i);
      title[count] = plag_document_take(document);
      shown[count++] = found;
    }
    if (count == PLAG_FIGURE_CAPTURES || (count > 0 && i + 1 == review->capture_count)) {
      timed |= plag_compose_figures(document, shown, title, count);
      count = 0;
    }
  }
  plag_document_say(document,
                    timed ? "t63: time until 63 % of a move is done, dead time included. " : "");
  plag_document_say(document, "The vehicle's service information overrides every limit.");
  plag_document_add_taken(document, PLAG_BLOCK_PARAGRAPH, "");
}

void plag_compose_case(plag_document *document, const platelag_review *review, size_t case_index) {
  const platelag_case *judged = review->cases[case_index];
  const platelag_review_valve *first = NULL;
  const bool several = captures_of(review, case_index, &first) > 1;
  plag_compose_verdict(document, judged);
  plag_compose_families(document, judged->finding);
  if (!several && first != NULL)
    plag_compose_checks(document, first->finding);
  if (several)
    add_sentences(document, review, case_index);
  (void)plag_document_add(document, PLAG_BLOCK_PICTURES, PLAG_TONE_PLAIN, "", "");
  add_figures(document, review, case_index);
  plag_compose_reasons(document, judged->finding);
  plag_compose_next_tests(document, judged);
  plag_compose_codes(document, !several && first != NULL ? first->finding : judged->finding);
}

static void say_reading(plag_document *document, const platelag_reading *reading) {
  plag_document_say_count(document, reading->rows, "row");
  plag_document_say(document, " over ");
  plag_document_say_number(document, reading->duration_s, 1);
  plag_document_say(document, " s");
  if (reading->skipped > 0) {
    plag_document_say(document, ", ");
    plag_document_say_number(document, (double)reading->skipped, 0);
    plag_document_say(document, " skipped");
  }
  plag_document_say(document, "; ");
  plag_document_say(document, reading->encoding);
  plag_document_say(document, ", ");
  plag_document_say(document, reading->separator);
  plag_document_say(document, ", decimal ");
  plag_document_say(document, reading->decimal);
  plag_document_say(document, ", clock: ");
  plag_document_say(document, reading->clock);
}

/* Whether an earlier note says the same of the same line: of another channel with its own clock. */
static bool stands_before(const platelag_capture *capture, size_t index) {
  const platelag_note *note = platelag_capture_note_at(capture, index);
  for (size_t i = 0; i < index; i++) {
    const platelag_note *before = platelag_capture_note_at(capture, i);
    if (before->line == note->line && strcmp(before->text, note->text) == 0)
      return true;
  }
  return false;
}

static void add_notes(plag_document *document, const platelag_review_capture *capture) {
  const size_t count = platelag_capture_note_count(capture->capture);
  size_t told = 0;
  for (size_t i = 0; i < count; i++)
    if (!stands_before(capture->capture, i) && told++ < MOST_NOTES)
      plag_note_add(document, platelag_capture_note_at(capture->capture, i));
  if (told > MOST_NOTES) {
    plag_document_say_count(document, told - MOST_NOTES, "more note");
    plag_document_say(document, ", see: platelag columns ");
    plag_document_say(document, capture->file);
    plag_document_add_taken(document, PLAG_BLOCK_POINT, "");
  }
  for (size_t i = 0; i < capture->valve_count; i++)
    for (size_t k = 0; k < capture->valve[i].trace->note_count; k++)
      (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN,
                              capture->valve[i].trace->valve, capture->valve[i].trace->note[k]);
}

/* The file's name stands before it already. */
static void say_refusal(plag_document *document, const platelag_error *refusal) {
  plag_document_say(document, "refused");
  if (refusal->line > 0) {
    plag_document_say(document, ", line ");
    plag_document_say_number(document, (double)refusal->line, 0);
  }
  if (refusal->column > 0) {
    plag_document_say(document, ", column ");
    plag_document_say_number(document, (double)refusal->column, 0);
  }
  plag_document_say(document, ": ");
  plag_document_say(document, refusal->message);
}

void plag_compose_reading(plag_document *document, const platelag_review *review) {
  plag_document_head(document, "What was read");
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_capture *capture = &review->capture[i];
    plag_document_say(document, strcmp(capture->file, "-") == 0 ? "standard input" : capture->file);
    plag_document_say(document, " (");
    plag_compose_say_title(document, review, i);
    plag_document_say(document, "): ");
    if (capture->refusal.status != PLATELAG_OK) {
      say_refusal(document, &capture->refusal);
    } else {
      say_reading(document, platelag_capture_reading(capture->capture));
    }
    plag_document_add_taken(document, PLAG_BLOCK_PARAGRAPH, "");
    if (capture->refusal.status == PLATELAG_OK)
      add_notes(document, capture);
  }
}

void plag_compose_review(plag_document *document, const platelag_review *review) {
  for (size_t i = 0; i < review->case_count; i++)
    plag_compose_case(document, review, i);
  plag_compose_reading(document, review);
}

platelag_status platelag_report_write_text(const platelag_review *review,
                                           const platelag_report_options *options,
                                           const platelag_sink *sink, platelag_error *error) {
  plag_document document = {0};
  plag_compose_review(&document, review);
  return plag_text_report_finish(&document, options, sink, error);
}
