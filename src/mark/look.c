/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a student's recordings show to the tool, reviewed together as one case. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "core/error.h"
#include "core/text.h"
#include "mark/book.h"

/* Travel that a command must ask for before its ends can be the stops. */
#define LEAST_ASKED_PCT 20.0

/* --- what is noted --------------------------------------------------------------------------- */

/* Width of a t63 interval as a share of t63; infinite for a mere limit, NaN where nothing moved. */
static double width_of(const platelag_estimate *t63) {
  if (t63->known == PLATELAG_KNOWN_NOTHING)
    return NAN;
  if (t63->known != PLATELAG_KNOWN_VALUE || !(t63->value > 0))
    return INFINITY;
  return (t63->high - t63->low) / t63->value;
}

static double mean_width(const platelag_lag *lag) {
  const double opening = width_of(&lag->opening_t63_s);
  const double closing = width_of(&lag->closing_t63_s);
  return isnan(opening) ? closing : isnan(closing) ? opening : 0.5 * (opening + closing);
}

static void note_road(plag_shown *shown, const platelag_capture *capture,
                      const platelag_review_valve *valve) {
  const platelag_fit *fit = valve->fit;
  const platelag_reading *reading = platelag_capture_reading(capture);
  const platelag_coverage *coverage = &fit->coverage;
  const bool sound = valve->finding->kind != PLATELAG_FINDING_SIGNAL_ERRATIC;
  shown->road = true;
  shown->command = valve->trace->command != NULL;
  shown->position = valve->trace->sample_count > 0;
  shown->minutes = coverage->recorded_s / 60;
  shown->rows_per_second = reading->row_period_s > 0 ? 1 / reading->row_period_s : 0;
  shown->openings = (double)coverage->openings;
  shown->closings = (double)coverage->closings;
  shown->reversals = fmax((double)fit->friction.reversals,
                          2 * fmin((double)coverage->openings, (double)coverage->closings) - 1);
  shown->moved = coverage->position_span_pct >= 10;
  /* Plates that cannot move are no fault of the recording: what was asked for counts as well. */
  shown->visited_pct = fmax(100 * fit->travel.visited_share, fmin(coverage->command_span_pct, 100));
  /* The fit takes the command's own ends for stops; of one that hardly moved they are none. */
  const bool asked = coverage->command_span_pct >= LEAST_ASKED_PCT;
  shown->closed_asked = asked && fit->travel.closed_asked;
  shown->open_asked = asked && fit->travel.open_asked;
  shown->width_share = shown->moved ? mean_width(&fit->lag) : NAN;
  /* Where the signal itself is at fault, lost readings are what was to be recorded. */
  shown->lost_pct =
      100 * (coverage->gap_share + (sound && shown->moved ? fit->signal.void_share : 0));
  shown->figure[0] = fit->friction.stick_band_pct;
  shown->figure[1] = fit->lag.opening_t63_s;
  shown->figure[2] = fit->lag.closing_t63_s;
}

static void note_case(plag_shown *shown, const platelag_finding *finding, const char *code) {
  shown->finding = finding->kind;
  shown->family = finding->family;
  memcpy(shown->family_probability, finding->probability, sizeof shown->family_probability);
  for (size_t i = 0; i < finding->next_test_count && i < PLAG_TESTS_MOST; i++)
    shown->test[shown->test_count++] = finding->next_test[i].key;
  for (size_t i = 0; i < finding->code_count; i++)
    if (finding->code[i].stored && strcasecmp(finding->code[i].code, code) == 0) {
      shown->verdict_known = true;
      shown->verdict = finding->code[i].verdict;
    }
}

/* --- the recording for likenesses --------------------------------------------------------------
 */

/* Longer ones are as well told apart by their first part. */
enum { COMPARED_MOST = 16384 };

static platelag_status keep_series(plag_file *file, size_t index, const double *value, size_t count,
                                   platelag_error *error) {
  const size_t kept = count < COMPARED_MOST ? count : COMPARED_MOST;
  if (file->series[index] != NULL || kept == 0)
    return PLATELAG_OK;
  file->series[index] = malloc(kept * sizeof *value);
  if (file->series[index] == NULL)
    return plag_error_memory(error, "a recording");
  memcpy(file->series[index], value, kept * sizeof *value);
  file->count[index] = kept;
  return PLATELAG_OK;
}

static platelag_status keep_noise(plag_file *file, const platelag_trace *trace,
                                  platelag_error *error) {
  static const platelag_role others[PLAG_COMPARED - 1] = {
      PLATELAG_ROLE_MANIFOLD_PRESSURE, PLATELAG_ROLE_BATTERY_VOLTAGE, PLATELAG_ROLE_ENGINE_SPEED};
  const size_t count = trace->sample_count;
  platelag_status status = keep_series(file, 0, trace->level, count, error);
  if (count > 1)
    file->period_s =
        platelag_seconds(trace->time_ns[count - 1] - trace->time_ns[0]) / (double)(count - 1);
  for (size_t i = 0; i < PLAG_COMPARED - 1 && status == PLATELAG_OK; i++) {
    const platelag_channel *channel = trace->auxiliary[others[i]];
    if (channel != NULL)
      status = keep_series(file, i + 1, channel->value, channel->count, error);
  }
  return status;
}

/* --- one entry ------------------------------------------------------------------------------- */

static plag_file *file_of(plag_entry *entry, const char *path) {
  for (size_t i = 0; i < entry->file_count; i++)
    if (strcmp(entry->file[i].path, path) == 0)
      return &entry->file[i];
  return NULL;
}

static bool is_wanted(const plag_entry *entry, const char *valve) {
  return entry->key == NULL || entry->key->valve[0] == '\0' ||
         strcasecmp(entry->key->valve, valve) == 0;
}

/* The key's valve; where the recording has no such valve, the first, which is told. */
static platelag_status find_valve(plag_class_book *book, plag_entry *entry,
                                  const platelag_review_capture *capture, const char *file,
                                  const platelag_review_valve **out, platelag_error *error) {
  *out = capture->valve_count > 0 ? &capture->valve[0] : NULL;
  for (size_t i = 0; i < capture->valve_count; i++)
    if (is_wanted(entry, capture->valve[i].trace->valve)) {
      *out = &capture->valve[i];
      return PLATELAG_OK;
    }
  /* A file that names no bank has the one that it has. */
  if (*out == NULL || (capture->valve_count == 1 && strcmp((*out)->trace->valve, "valve") == 0))
    return PLATELAG_OK;
  return plag_entry_remark(entry,
                           plag_words(&book->arena,
                                      "#s: has no valve \"#s\", which the key names; \"#s\" was "
                                      "looked at",
                                      file, entry->key->valve, (*out)->trace->valve),
                           error);
}

/* The valve that the marks are for, as it was found in the recordings. */
typedef struct wanted {
  const platelag_review_valve *road; /* in the longest recording of a drive */
  const platelag_review_valve *any;
} wanted;

static void note_valve(plag_entry *entry, const platelag_review_capture *capture,
                       const platelag_review_valve *valve, wanted *to) {
  entry->shown.conditions |= 1U << capture->condition;
  if (to->any == NULL)
    to->any = valve;
  if (capture->condition != PLATELAG_CONDITION_ROAD ||
      (to->road != NULL && valve->fit->coverage.recorded_s <= to->road->fit->coverage.recorded_s))
    return;
  note_road(&entry->shown, capture->capture, valve);
  to->road = valve;
}

/* A refused file is told; the case is made of the others. */
static platelag_status note_capture(plag_class_book *book, plag_entry *entry,
                                    const platelag_review_capture *capture, wanted *to,
                                    platelag_error *error) {
  const platelag_review_valve *valve = NULL;
  plag_file *file = file_of(entry, capture->file);
  const char *name = file != NULL ? file->name : capture->file;
  if (capture->refusal.status != PLATELAG_OK)
    return plag_entry_remark(
        entry, plag_words(&book->arena, "#s: not read: #s", name, capture->refusal.message), error);
  const platelag_status status = find_valve(book, entry, capture, name, &valve, error);
  if (status != PLATELAG_OK || valve == NULL || file == NULL)
    return status;
  note_valve(entry, capture, valve, to);
  return keep_noise(file, valve->trace, error);
}

static const platelag_case *case_of(const platelag_review *review, const wanted *from) {
  const platelag_review_valve *valve = from->road != NULL ? from->road : from->any;
  return valve != NULL ? review->cases[valve->case_index] : NULL;
}

static platelag_status note_review(plag_class_book *book, plag_entry *entry,
                                   const platelag_review *review, platelag_error *error) {
  wanted valve = {NULL, NULL};
  platelag_status status = PLATELAG_OK;
  entry->shown.width_share = NAN;
  for (size_t i = 0; i < PLAG_MEASURED; i++)
    entry->shown.figure[i] = (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  for (size_t i = 0; i < review->capture_count && status == PLATELAG_OK; i++)
    status = note_capture(book, entry, &review->capture[i], &valve, error);
  const platelag_case *judged = case_of(review, &valve);
  if (status != PLATELAG_OK || judged == NULL)
    return status;
  note_case(&entry->shown, judged->finding, entry->key != NULL ? entry->key->code : "");
  entry->submission.found = entry->shown.finding;
  entry->submission.family = entry->shown.family;
  entry->submission.decidable = entry->shown.finding != PLATELAG_FINDING_UNDECIDED;
  entry->submission.sentence = plag_arena_copy_text(&book->arena, judged->finding->sentence);
  return entry->submission.sentence != NULL ? PLATELAG_OK : plag_error_memory(error, "a finding");
}

static const char *join(plag_class_book *book, const char *name) {
  return plag_words(&book->arena, "#s/#s", book->work->folder != NULL ? book->work->folder : ".",
                    name);
}

platelag_status plag_entry_look(plag_class_book *book, plag_entry *entry,
                                platelag_workspace *workspace, platelag_error *error) {
  platelag_review_file file[PLAG_FILES_MOST] = {0};
  const char *code[1] = {entry->key != NULL ? entry->key->code : ""};
  platelag_review *review = NULL;
  for (size_t i = 0; i < entry->file_count; i++) {
    file[i].path = entry->file[i].path = join(book, entry->file[i].name);
    file[i].condition = entry->file[i].condition;
    if (file[i].path == NULL)
      return plag_error_memory(error, "a path");
  }
  const platelag_review_options how = {.spec = book->work->spec,
                                       .circumstances = {.code = code,
                                                         .code_count = code[0][0] != '\0' ? 1 : 0,
                                                         .meter = PLATELAG_METER_NONE}};
  platelag_status status =
      platelag_review_build(file, entry->file_count, &how, workspace, &review, error);
  if (status == PLATELAG_OK)
    status = note_review(book, entry, review, error);
  platelag_review_destroy(review);
  return status;
}
