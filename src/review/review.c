/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole story: read, line up, fit, judge, and then all captures of a valve together. */
#include "platelag/review.h"

#include <stdlib.h>

#include "core/error.h"
#include "review/cases.h"
#include "review/store.h"

/* What stays the same from capture to capture. */
typedef struct journey {
  const platelag_spec *spec;
  const platelag_review_options *options;
  platelag_workspace *workspace;
  plag_review_store *store;
} journey;

/* One valve: its trace, fitted and judged. What was made before a failure stays in `valve`, for the
 * review to give back. */
static platelag_status review_valve(const journey *story, const platelag_capture *capture,
                                    const platelag_review_capture *entry, size_t index,
                                    platelag_review_valve *valve, platelag_error *error) {
  platelag_trace *trace = NULL;
  platelag_fit *fit = NULL;
  platelag_finding *finding = NULL;
  platelag_status status = platelag_trace_build(capture, entry->run, index, story->spec,
                                                entry->condition, &trace, error);
  if (status == PLATELAG_OK) {
    valve->spec = *platelag_spec_for_bank(story->spec, trace->bank);
    status = platelag_fit_build(trace, &valve->spec, story->workspace, &fit, error);
  }
  if (status == PLATELAG_OK)
    status = platelag_finding_judge(fit, trace, &valve->spec, &story->options->circumstances,
                                    &finding, error);
  valve->trace = trace;
  valve->fit = fit;
  valve->finding = finding;
  return status;
}

/* All valves of one run. */
static platelag_status review_run(const journey *story, const platelag_capture *capture,
                                  platelag_review_capture *entry, platelag_error *error) {
  size_t count = 0;
  platelag_status status = platelag_trace_count_valves(capture, entry->run, story->spec,
                                                       entry->condition, &count, error);
  if (status != PLATELAG_OK)
    return status;
  platelag_review_valve *valve = plag_arena_take_array(&story->store->arena, count, sizeof *valve);
  if (valve == NULL)
    return plag_error_memory(error, "the valves of a capture");
  entry->valve = valve;
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++) {
    entry->valve_count++;
    status = review_valve(story, capture, entry, i, &valve[i], error);
  }
  return status;
}

/* A capture that is refused stands in its place with the reason; the valves done so far go. */
static void refuse(platelag_review_capture *entry, const platelag_error *why) {
  plag_review_drop_valves(entry);
  entry->capture = NULL;
  entry->refusal = *why;
}

/* Ends the work on one entry: done, refused, or the machine failed. */
static platelag_status finish_entry(const journey *story, platelag_review_capture *entry,
                                    platelag_status status, const platelag_error *why,
                                    platelag_error *error) {
  if (status != PLATELAG_OK)
    refuse(entry, why);
  if (!plag_review_add_entry(story->store, entry)) {
    plag_review_drop_valves(entry);
    return plag_error_memory(error, "the list of captures");
  }
  if (status == PLATELAG_ERROR_MEMORY)
    return plag_error_set(error, status, why->file, why->line, why->column, "%s", why->message);
  return PLATELAG_OK;
}

/* Traces lend the samples of their capture. A valve that failed may have none. */
static void forget_samples(const platelag_review_capture *entry) {
  for (size_t i = 0; i < entry->valve_count; i++) {
    platelag_trace *trace = (platelag_trace *)entry->valve[i].trace; /* the review's own */
    if (trace == NULL)
      continue;
    trace->time_ns = NULL;
    trace->level = NULL;
    trace->sample_count = trace->change_count = trace->segment_count = 0;
  }
}

/* One file: every run of it. */
static platelag_status review_file(const journey *story, const platelag_review_file *file,
                                   platelag_error *error) {
  platelag_review_capture entry = {.condition = file->condition};
  entry.file = plag_arena_copy_text(&story->store->arena, file->path);
  if (entry.file == NULL)
    return plag_error_memory(error, "the name of a capture");
  const platelag_read_options reading = {.spec = story->spec,
                                         .rows_per_second = story->options->rows_per_second,
                                         .display_name = file->source ? file->path : NULL};
  platelag_capture *capture = NULL;
  platelag_error why = {0};
  platelag_status status =
      file->source != NULL ? platelag_capture_read_source(file->source, &reading, &capture, &why)
                           : platelag_capture_read(file->path, &reading, &capture, &why);
  if (status != PLATELAG_OK)
    return finish_entry(story, &entry, status, &why, error);
  if (!plag_review_keep_capture(story->store, capture)) {
    platelag_capture_destroy(capture);
    return plag_error_memory(error, "the list of captures");
  }
  const size_t runs = platelag_capture_run_count(capture);
  for (size_t run = 0; run < runs && status == PLATELAG_OK; run++) {
    platelag_review_capture one = entry;
    one.capture = capture;
    one.run = run;
    why = (platelag_error){0};
    const platelag_status found = review_run(story, capture, &one, &why);
    if (story->options->without_samples)
      forget_samples(&one);
    status = finish_entry(story, &one, found, &why, error);
  }
  if (story->options->without_samples)
    platelag_capture_forget_samples(capture);
  return status;
}

platelag_status platelag_review_build(const platelag_review_file *file, size_t count,
                                      const platelag_review_options *options,
                                      platelag_workspace *workspace, platelag_review **out,
                                      platelag_error *error) {
  static const platelag_review_options DEFAULTS = {.circumstances.meter = PLATELAG_METER_NONE};
  *out = NULL;
  plag_review_store *store = calloc(1, sizeof *store);
  if (store == NULL)
    return plag_error_memory(error, "a review");
  store->review.store = store;
  journey story = {
      .options = options != NULL ? options : &DEFAULTS, .workspace = workspace, .store = store};
  platelag_status status = PLATELAG_OK;
  if (story.options->spec == NULL)
    status = platelag_spec_create(&store->own_spec, error);
  story.spec = story.options->spec != NULL ? story.options->spec : store->own_spec;
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++)
    status = review_file(&story, &file[i], error);
  if (status == PLATELAG_OK)
    status = plag_review_judge_cases(store, story.spec, &story.options->circumstances, error);
  if (status == PLATELAG_OK)
    *out = &store->review;
  else
    platelag_review_destroy(&store->review);
  return status;
}
