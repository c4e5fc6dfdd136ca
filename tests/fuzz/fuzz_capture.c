/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes -> a capture, of whatever layout. How many bytes a read gives changes nothing. */
#include "fuzz.h"

#include <math.h>
#include <string.h>

/* What was read, or why it was refused; all that a report or a later stage could see. */
typedef struct outcome {
  platelag_capture *capture;
  platelag_error error;
} outcome;

static outcome read_in_steps(const uint8_t *data, size_t size, size_t step, bool keep_none,
                             double rows_per_second) {
  fuzz_bytes bytes = {data, size, step};
  const platelag_source source = fuzz_source(&bytes);
  const platelag_read_options how = {
      .display_name = "fuzz", .keep_none = keep_none, .rows_per_second = rows_per_second};
  outcome out = {0};
  const platelag_status status =
      platelag_capture_read_source(&source, &how, &out.capture, &out.error);
  fuzz_check_error(status, &out.error);
  FUZZ_CHECK((out.capture != NULL) == (status == PLATELAG_OK));
  return out;
}

static void check_channel(const platelag_channel *channel) {
  FUZZ_CHECK(channel->name != NULL && channel->unit_text != NULL && channel->role_reason != NULL);
  FUZZ_CHECK(channel->kept || channel->count == 0);
  FUZZ_CHECK(channel->role_score >= 0 && channel->role_score <= 1);
  FUZZ_CHECK(channel->refresh_s >= 0 && isfinite(channel->refresh_s));
  for (size_t i = 0; i < channel->count; i++) {
    FUZZ_CHECK(!isinf(channel->value[i]));
    FUZZ_CHECK(channel->time_ns[i] >= (i > 0 ? channel->time_ns[i - 1] : 0));
  }
}

static void check_capture(const platelag_capture *capture) {
  const platelag_reading *reading = platelag_capture_reading(capture);
  const size_t runs = platelag_capture_run_count(capture);
  FUZZ_CHECK(runs > 0);
  FUZZ_CHECK(isfinite(reading->row_period_s) && isfinite(reading->duration_s));
  for (size_t i = 0; i < runs; i++)
    FUZZ_CHECK(platelag_capture_run_label(capture, i) != NULL);
  for (size_t i = 0; i < platelag_capture_channel_count(capture); i++)
    check_channel(platelag_capture_channel_at(capture, i));
  for (size_t i = 0; i < platelag_capture_segment_count(capture); i++) {
    const platelag_segment *segment = platelag_capture_segment_at(capture, i);
    FUZZ_CHECK(segment->from_ns <= segment->to_ns);
    FUZZ_CHECK(segment->run >= 0 && (size_t)segment->run < runs);
  }
  for (size_t i = 0; i < platelag_capture_note_count(capture); i++)
    FUZZ_CHECK(platelag_capture_note_at(capture, i)->text[0] != '\0');
}

static bool same_double(double one, double other) {
  return one == other || (isnan(one) && isnan(other));
}

static void check_same_channel(const platelag_channel *one, const platelag_channel *other) {
  FUZZ_CHECK(strcmp(one->name, other->name) == 0);
  FUZZ_CHECK(one->count == other->count && one->role == other->role && one->kind == other->kind);
  for (size_t i = 0; i < one->count; i++)
    FUZZ_CHECK(one->time_ns[i] == other->time_ns[i] && same_double(one->value[i], other->value[i]));
}

static void check_same(const outcome *one, const outcome *other) {
  FUZZ_CHECK(one->error.status == other->error.status);
  FUZZ_CHECK(strcmp(one->error.message, other->error.message) == 0);
  FUZZ_CHECK(one->error.line == other->error.line);
  if (one->capture == NULL)
    return;
  const size_t channels = platelag_capture_channel_count(one->capture);
  FUZZ_CHECK(channels == platelag_capture_channel_count(other->capture));
  FUZZ_CHECK(platelag_capture_segment_count(one->capture) ==
             platelag_capture_segment_count(other->capture));
  FUZZ_CHECK(platelag_capture_note_count(one->capture) ==
             platelag_capture_note_count(other->capture));
  for (size_t i = 0; i < channels; i++)
    check_same_channel(platelag_capture_channel_at(one->capture, i),
                       platelag_capture_channel_at(other->capture, i));
}

static void write_columns(const platelag_capture *capture) {
  plag_text text = {0};
  platelag_error error = {0};
  const platelag_sink sink = fuzz_sink(&text);
  FUZZ_CHECK(platelag_report_write_columns(capture, NULL, &sink, &error) == PLATELAG_OK);
  fuzz_check_output(&text);
  plag_text_clear(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  platelag_library_start();
  const size_t step = size > 0 ? 1 + data[size - 1] % 61U : 1;
  const double rate = size % 2 == 0 ? 0 : 10; /* rows a second, for files without a clock */
  const bool summary = size % 5 == 0;
  const outcome whole = read_in_steps(data, size, 0, false, rate);
  const outcome pieces = read_in_steps(data, size, step, summary, rate);
  if (!summary)
    check_same(&whole, &pieces);
  if (whole.capture != NULL)
    check_capture(whole.capture);
  if (pieces.capture != NULL)
    write_columns(pieces.capture);
  platelag_capture_destroy(whole.capture);
  platelag_capture_destroy(pieces.capture);
  return 0;
}
