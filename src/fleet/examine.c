/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/examine.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/error.h"
#include "core/number.h"
#include "core/text.h"
#include "fleet/digest.h"

/* --- settings -------------------------------------------------------------------------------- */

static void add_number(plag_text *text, double value) {
  char number[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add(text, plag_number_format_json(value, 17, number));
  plag_text_add_char(text, ' ');
}

static void add_spec(plag_text *text, const platelag_valve_spec *spec) {
  const double numbers[] = {spec->closed_v,
                            spec->open_v,
                            spec->reference_v,
                            spec->tolerance_v,
                            spec->high_limit_pct,
                            spec->low_limit_pct,
                            spec->hold_time_s,
                            spec->t63_limit_s,
                            spec->stick_band_limit_pct,
                            spec->short_travel_limit_pct,
                            spec->decide_at,
                            spec->reference_given ? 1 : 0};
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    add_number(text, numbers[i]);
  plag_text_add(text, spec->command != NULL ? spec->command : "");
  plag_text_add_char(text, '\n');
  plag_text_add(text, spec->position != NULL ? spec->position : "");
  plag_text_add_char(text, '\n');
}

platelag_status plag_examine_settings(const platelag_fleet_work *work, char out[PLAG_KEY_BYTES],
                                      platelag_error *error) {
  enum { BANKS = 3 };
  plag_text text = {0};
  platelag_spec *own = NULL;
  platelag_status status = PLATELAG_OK;
  if (work->spec == NULL)
    status = platelag_spec_create(&own, error);
  if (status != PLATELAG_OK)
    return status;
  for (int bank = 0; bank < BANKS; bank++)
    add_spec(&text, platelag_spec_for_bank(own != NULL ? own : work->spec, bank));
  add_number(&text, work->rows_per_second);
  if (text.failed)
    status = plag_error_memory(error, "the settings");
  else
    plag_digest_text(text.bytes, text.length, out);
  plag_text_clear(&text);
  platelag_spec_destroy(own);
  return status;
}

/* --- what a review came to ------------------------------------------------------------------- */

static const char *copy(plag_result *result, const char *text) {
  return plag_arena_copy_text(&result->arena, text != NULL ? text : "");
}

static platelag_status take_valve(plag_result *result, const platelag_review_capture *capture,
                                  const platelag_review_valve *valve, plag_judged *out,
                                  platelag_error *error) {
  const platelag_finding *finding = valve->finding;
  out->run = (int)capture->run;
  out->run_label = copy(result, platelag_capture_run_label(capture->capture, capture->run));
  out->valve = copy(result, valve->trace->valve);
  out->finding = finding->kind;
  out->family = finding->family;
  out->finding_probability = finding->finding_probability;
  memcpy(out->probability, finding->probability, sizeof out->probability);
  out->sentence = copy(result, finding->sentence);
  out->next_test = copy(result, finding->next_test_count > 0 ? finding->next_test[0].test : "");
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    out->figure[i] = plag_figure_at(i)->measure(valve);
  return out->run_label != NULL && out->valve != NULL && out->sentence != NULL &&
                 out->next_test != NULL
             ? PLATELAG_OK
             : plag_error_memory(error, "a result");
}

/* "line 12: ..." without the file, whose name the store has already. */
static platelag_status take_refusal(plag_result *result, const platelag_error *why,
                                    platelag_error *error) {
  char text[sizeof why->message + 64];
  if (why->line > 0)
    (void)snprintf(text, sizeof text, "line %lld: %s", (long long)why->line, why->message);
  else
    (void)snprintf(text, sizeof text, "%s", why->message);
  result->why = copy(result, text);
  return result->why != NULL ? PLATELAG_OK : plag_error_memory(error, "a result");
}

/* Later dates are the work of a clock gone wrong. */
#define LATEST_UNIX_S INT64_C(4102444800) /* 2100-01-01 */

static void take_reading(plag_result *result, const platelag_capture *capture) {
  const platelag_reading *reading = platelag_capture_reading(capture);
  result->rows = (int64_t)reading->rows;
  result->duration_s = reading->duration_s;
  result->started_known = reading->started_known && reading->started_unix_s > 0 &&
                          reading->started_unix_s < LATEST_UNIX_S;
  result->started_unix_s = reading->started_unix_s;
}

static platelag_status trouble(plag_result *result, const char *why, platelag_error *error) {
  result->state = PLAG_RESULT_TROUBLED;
  result->judged_count = 0;
  result->why = copy(result, why);
  return result->why != NULL ? PLATELAG_OK : plag_error_memory(error, "a result");
}

/* Every run's valves; a run that is refused is told where the others were judged. What the machine
 * failed at may go well another time, and is no refusal. */
static platelag_status take_review(plag_result *result, const platelag_review *review,
                                   platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++)
    count += review->capture[i].valve_count;
  result->judged = plag_arena_take_array(&result->arena, count + 1, sizeof *result->judged);
  if (result->judged == NULL)
    return plag_error_memory(error, "a result");
  for (size_t i = 0; i < review->capture_count && status == PLATELAG_OK; i++) {
    const platelag_review_capture *capture = &review->capture[i];
    if (capture->capture != NULL)
      take_reading(result, capture->capture);
    if (capture->refusal.status == PLATELAG_ERROR_IO)
      return trouble(result, capture->refusal.message, error);
    if (capture->refusal.status != PLATELAG_OK)
      status = take_refusal(result, &capture->refusal, error);
    for (size_t k = 0; k < capture->valve_count && status == PLATELAG_OK; k++)
      status = take_valve(result, capture, &capture->valve[k],
                          &result->judged[result->judged_count++], error);
  }
  result->state = result->judged_count > 0 ? PLAG_RESULT_JUDGED : PLAG_RESULT_REFUSED;
  return status;
}

/* --- one file -------------------------------------------------------------------------------- */

static int64_t modified_ns(const struct stat *is) {
  return (int64_t)is->st_mtim.tv_sec * 1000000000 + is->st_mtim.tv_nsec;
}

/* Opened so that a pipe or a device cannot hold the run up. -1 with errno when it cannot be. */
static int open_plain(const char *path, struct stat *is) {
  const int handle = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (handle < 0)
    return -1;
  if (fstat(handle, is) == 0 && S_ISREG(is->st_mode))
    return handle;
  (void)close(handle);
  errno = EINVAL;
  return -1;
}

static platelag_status digest_file(plag_result *result, int handle, char out[PLAG_DIGEST_BYTES],
                                   platelag_error *error) {
  plag_digest_source digest = {0};
  platelag_status status = plag_digest_begin(&digest, handle, result->path, error);
  if (status == PLATELAG_OK)
    status = plag_digest_finish(&digest, out, error);
  result->bytes = digest.bytes;
  plag_digest_end(&digest);
  return status;
}

/* From a digest, or a key that begins with one. */
static void set_key(plag_result *result, const char *digest) {
  const bool road = result->place.condition == PLATELAG_CONDITION_ROAD;
  (void)snprintf(result->key, sizeof result->key, "%.32s%s%s", digest, road ? "" : "-",
                 road ? "" : platelag_condition_name(result->place.condition));
}

/* Whether another shard looks after this content. */
static bool is_elsewhere(const platelag_fleet_work *work, const char *digest) {
  char front[9];
  (void)snprintf(front, sizeof front, "%.8s", digest);
  return work->shards > 1 && strtoul(front, NULL, 16) % work->shards != work->shard - 1;
}

static platelag_status judge_file(const plag_examination *with, platelag_workspace *workspace,
                                  int handle, const char *digest, plag_result *result,
                                  platelag_error *error) {
  plag_digest_source source = {0};
  platelag_review *review = NULL;
  char again[PLAG_DIGEST_BYTES] = "";
  const platelag_review_options how = {.spec = with->work->spec,
                                       .circumstances = {.meter = PLATELAG_METER_NONE},
                                       .rows_per_second = with->work->rows_per_second};
  platelag_status status = plag_digest_begin(&source, handle, result->path, error);
  const platelag_review_file file = {
      .path = result->path, .condition = result->place.condition, .source = &source.source};
  if (status == PLATELAG_OK)
    status = platelag_review_build(&file, 1, &how, workspace, &review, error);
  if (status == PLATELAG_OK)
    status = take_review(result, review, error);
  if (status == PLATELAG_OK)
    status = plag_digest_finish(&source, again, error);
  if (status == PLATELAG_OK && strcmp(again, digest) != 0)
    status = trouble(result, "it changed while it was read; the next run reads it again", error);
  platelag_review_destroy(review);
  plag_digest_end(&source);
  return status;
}

/* What could not be done with this file is the file's trouble, not the run's; memory is. */
static platelag_status absorb(plag_result *result, platelag_status status,
                              const platelag_error *why, platelag_error *error) {
  if (status == PLATELAG_OK)
    return PLATELAG_OK;
  if (status != PLATELAG_ERROR_MEMORY)
    return trouble(result, why->message, error);
  if (error != NULL)
    *error = *why;
  return status;
}

static platelag_status read_file(const plag_examination *with, platelag_workspace *workspace,
                                 int handle, plag_result *result, bool *outdated,
                                 platelag_error *error) {
  char digest[PLAG_DIGEST_BYTES] = "";
  plag_content content = {0};
  platelag_error why = {0};
  platelag_status status = digest_file(result, handle, digest, &why);
  if (status != PLATELAG_OK)
    return absorb(result, status, &why, error);
  set_key(result, digest);
  result->state = PLAG_RESULT_ELSEWHERE;
  if (is_elsewhere(with->work, digest))
    return PLATELAG_OK;
  status = plag_store_find_content(with->store, result->key, with->settings, &content, error);
  if (status == PLATELAG_OK && content.found)
    status = plag_store_find_gone(with->store, result, error);
  if (status != PLATELAG_OK)
    return status;
  if (content.found && (content.current || !with->work->redo)) {
    result->state = PLAG_RESULT_KNOWN;
    result->place_is_new = true;
    *outdated = !content.current;
    return PLATELAG_OK;
  }
  return absorb(result, judge_file(with, workspace, handle, digest, result, &why), &why, error);
}

/* A file that the store saw before, unchanged by size and time, need not be read. */
static platelag_status is_known(const plag_examination *with, plag_result *result,
                                const struct stat *is, bool *known, bool *outdated,
                                platelag_error *error) {
  plag_seen seen;
  plag_content content = {0};
  platelag_status status =
      plag_store_find_seen(with->store, result->path, &result->place, &seen, error);
  *known = false;
  if (status != PLATELAG_OK || with->work->reread || !seen.found ||
      seen.bytes != (int64_t)is->st_size || seen.modified_ns != modified_ns(is))
    return status;
  set_key(result, seen.key);
  status = plag_store_find_content(with->store, result->key, with->settings, &content, error);
  *known = status == PLATELAG_OK && content.found && (content.current || !with->work->redo);
  *outdated = *known && !content.current;
  result->state = PLAG_RESULT_KNOWN;
  result->bytes = seen.bytes;
  result->place_is_new = !seen.same_place || seen.troubled;
  return status;
}

static platelag_status examine(const plag_examination *with, platelag_workspace *workspace,
                               plag_result *result, bool *outdated, platelag_error *error) {
  struct stat is;
  bool known = false;
  platelag_status status = plag_place_find(with->manifest, with->pattern, result->path,
                                           &result->arena, &result->place, error);
  if (status != PLATELAG_OK)
    return status;
  const int handle = open_plain(result->path, &is);
  if (handle < 0)
    return trouble(result, errno == EINVAL ? "no plain file" : strerror(errno), error);
  result->modified_ns = modified_ns(&is);
  status = is_known(with, result, &is, &known, outdated, error);
  if (status == PLATELAG_OK && !known)
    status = read_file(with, workspace, handle, result, outdated, error);
  (void)close(handle);
  return status;
}

platelag_status plag_examine(const plag_examination *with, platelag_workspace *workspace,
                             const char *path, plag_result **out, bool *outdated,
                             platelag_error *error) {
  *outdated = false;
  *out = plag_result_create(path);
  if (*out == NULL)
    return plag_error_memory(error, "a result");
  (*out)->settings = with->settings;
  const platelag_status status = examine(with, workspace, *out, outdated, error);
  if (status != PLATELAG_OK) {
    plag_result_destroy(*out);
    *out = NULL;
  }
  return status;
}
