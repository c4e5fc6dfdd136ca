/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The review as one JSON document. Keys are written in the order of the schema beside this file,
 * which says what each means; a key added here is added there. */
#include "platelag/report.h"

#include <jansson.h>
#include <math.h>

#include "core/calendar.h"
#include "core/error.h"
#include "core/escape.h"
#include "core/text.h"

/* Six significant digits are more than any figure here is known to, and the same on every machine
 * where seventeen are not. Anything but ASCII is escaped, so that no name can steer a terminal. */
#define OUTPUT_FLAGS (JSON_INDENT(2) | JSON_REAL_PRECISION(6) | JSON_ENSURE_ASCII)

/* Builds values; where memory runs out `failed` sticks. */
typedef struct builder {
  bool failed;
  plag_text scratch;
} builder;

static void put(builder *b, json_t *object, const char *key, json_t *value) {
  if (json_object_set_new_nocheck(object, key, value) != 0)
    b->failed = true;
}

static void append(builder *b, json_t *array, json_t *value) {
  if (json_array_append_new(array, value) != 0)
    b->failed = true;
}

/* null for what is not known; zero has no sign. */
static json_t *real(double value) {
  return isfinite(value) ? json_real(value == 0 ? 0 : value) : json_null();
}

static json_t *whole(size_t value) {
  return json_integer((json_int_t)value);
}

static json_t *string(builder *b, const char *text) {
  plag_text_reset(&b->scratch);
  plag_escape_add_utf8(&b->scratch, text);
  b->failed = b->failed || b->scratch.failed;
  return json_stringn(b->scratch.length > 0 ? b->scratch.bytes : "", b->scratch.length);
}

static json_t *estimate(builder *b, const platelag_estimate *known) {
  if (known->known == PLATELAG_KNOWN_NOTHING)
    return json_null();
  json_t *object = json_object();
  put(b, object, "value", known->known == PLATELAG_KNOWN_VALUE ? real(known->value) : json_null());
  put(b, object, "low", real(known->low));
  put(b, object, "high", real(known->high));
  return object;
}

static json_t *probability_of(builder *b, const platelag_finding *finding) {
  json_t *object = json_object();
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    put(b, object, platelag_family_name((platelag_family)i), real(finding->probability[i]));
  return object;
}

static json_t *lag_of(builder *b, const platelag_lag *lag) {
  json_t *object = json_object();
  put(b, object, "dead_time_s", estimate(b, &lag->dead_time_s));
  put(b, object, "opening_t63_s", estimate(b, &lag->opening_t63_s));
  put(b, object, "closing_t63_s", estimate(b, &lag->closing_t63_s));
  put(b, object, "opening_tau_s", estimate(b, &lag->opening_tau_s));
  put(b, object, "closing_tau_s", estimate(b, &lag->closing_tau_s));
  put(b, object, "rate_pct_per_s", estimate(b, &lag->rate_pct_per_s));
  put(b, object, "apart", json_boolean(lag->apart));
  put(b, object, "skew_bound_s", real(lag->skew_bound_s));
  return object;
}

static json_t *friction_of(builder *b, const platelag_friction *friction) {
  json_t *object = json_object();
  put(b, object, "stick_band_pct", estimate(b, &friction->stick_band_pct));
  put(b, object, "slip_jump_pct", estimate(b, &friction->slip_jump_pct));
  return object;
}

static json_t *travel_of(builder *b, const platelag_travel *travel) {
  static const char *const scales[] = {[PLATELAG_SCALE_SPEC] = "spec",
                                       [PLATELAG_SCALE_LEARNED] = "learned",
                                       [PLATELAG_SCALE_NOMINAL] = "nominal"};
  json_t *object = json_object();
  put(b, object, "closed_v", real(travel->closed_v));
  put(b, object, "open_v", real(travel->open_v));
  put(b, object, "lowest_pct", real(travel->lowest_pct));
  put(b, object, "highest_pct", real(travel->highest_pct));
  put(b, object, "scale", string(b, scales[travel->scale]));
  put(b, object, "closed_level", real(travel->closed_level));
  put(b, object, "open_level", real(travel->open_level));
  return object;
}

static json_t *stuck_of(builder *b, const platelag_fit *fit) {
  json_t *array = json_array();
  for (size_t i = 0; i < fit->held_count; i++) {
    const platelag_held *held = &fit->held[i];
    json_t *object = json_object();
    put(b, object, "from_s", real(platelag_seconds(held->from_ns)));
    put(b, object, "to_s", real(platelag_seconds(held->to_ns)));
    put(b, object, "position_pct", real(held->position_pct));
    put(b, object, "command_pct", real(held->command_pct));
    put(b, object, "pull_pct", real(held->pull_pct));
    put(b, object, "release_jump_pct", real(held->release_jump_pct));
    append(b, array, object);
  }
  return array;
}

static json_t *checks_of(builder *b, const platelag_finding *finding, bool figures) {
  json_t *object = json_object();
  for (int i = 0; i < PLATELAG_CHECK_COUNT; i++) {
    const platelag_check_result *check = &finding->check[i];
    const char *figure = check->figure != NULL ? check->figure : "";
    put(b, object, platelag_check_kind_name((platelag_check_kind)i),
        string(b, figures ? figure : platelag_check_name(check->result)));
  }
  return object;
}

static json_t *signal_of(builder *b, const platelag_signal *signal) {
  json_t *object = json_object();
  put(b, object, "high_share", real(signal->high_share));
  put(b, object, "low_share", real(signal->low_share));
  put(b, object, "void_count", whole(signal->void_count));
  put(b, object, "longest_high_s", real(signal->longest_high_s));
  put(b, object, "longest_low_s", real(signal->longest_low_s));
  put(b, object, "void_share", real(signal->void_share));
  put(b, object, "dropout_count", whole(signal->dropout_count));
  put(b, object, "high_level_pct", real(signal->high_level_pct));
  put(b, object, "low_level_pct", real(signal->low_level_pct));
  put(b, object, "noise_pct", real(signal->noise_pct));
  put(b, object, "rails_visible", json_boolean(signal->rails_visible));
  return object;
}

static json_t *codes_of(builder *b, const platelag_finding *finding) {
  json_t *array = json_array();
  for (size_t i = 0; i < finding->code_count; i++) {
    const platelag_code *code = &finding->code[i];
    json_t *object = json_object();
    put(b, object, "code", string(b, code->code));
    put(b, object, "at_s", real(code->at_s));
    put(b, object, "basis", string(b, code->basis != NULL ? code->basis : ""));
    put(b, object, "name", string(b, code->name != NULL ? code->name : ""));
    put(b, object, "stored", json_boolean(code->stored));
    put(b, object, "supported", json_boolean(code->verdict == PLATELAG_CODE_SUPPORTED));
    put(b, object, "verdict", string(b, platelag_code_verdict_name(code->verdict)));
    put(b, object, "value", real(code->value));
    put(b, object, "limit", real(code->limit));
    put(b, object, "unit", string(b, code->unit));
    append(b, array, object);
  }
  return array;
}

static json_t *evidence_of(builder *b, const platelag_finding *finding) {
  json_t *array = json_array();
  for (size_t i = 0; i < finding->evidence_count; i++) {
    const platelag_evidence *evidence = &finding->evidence[i];
    json_t *object = json_object();
    put(b, object, "what", string(b, evidence->what));
    put(b, object, "value", real(evidence->value));
    put(b, object, "limit", real(evidence->limit));
    put(b, object, "unit", string(b, evidence->unit != NULL ? evidence->unit : ""));
    put(b, object, "speaks_for", string(b, platelag_family_name(evidence->speaks_for)));
    put(b, object, "weight", real(evidence->weight));
    append(b, array, object);
  }
  return array;
}

static json_t *next_tests_of(builder *b, const platelag_finding *finding) {
  json_t *array = json_array();
  for (size_t i = 0; i < finding->next_test_count; i++) {
    const platelag_next_test *test = &finding->next_test[i];
    json_t *object = json_object();
    json_t *expect = json_object();
    for (int k = 0; k < PLATELAG_FAMILY_COUNT; k++)
      if (test->expect[k] != NULL)
        put(b, expect, platelag_family_name((platelag_family)k), string(b, test->expect[k]));
    put(b, object, "test", string(b, test->test));
    put(b, object, "expect", expect);
    put(b, object, "caution", string(b, test->caution != NULL ? test->caution : ""));
    put(b, object, "minutes", real(test->minutes));
    put(b, object, "gain", real(test->gain));
    append(b, array, object);
  }
  return array;
}

static json_t *hypotheses_of(builder *b, const platelag_finding *finding) {
  json_t *array = json_array();
  for (size_t i = 0; i < finding->hypothesis_count; i++) {
    const platelag_hypothesis_result *hypothesis = &finding->hypothesis[i];
    json_t *object = json_object();
    put(b, object, "name", string(b, hypothesis->name));
    put(b, object, "family", string(b, platelag_family_name(hypothesis->family)));
    put(b, object, "finding", string(b, platelag_finding_name(hypothesis->finding)));
    put(b, object, "probability", real(hypothesis->probability));
    append(b, array, object);
  }
  return array;
}

static json_t *words_of(builder *b, const char *const *word, size_t count) {
  json_t *array = json_array();
  for (size_t i = 0; i < count; i++)
    append(b, array, string(b, word[i]));
  return array;
}

/* What is found and who is to blame, the same for a capture's valve and for a case. */
static void put_finding(builder *b, json_t *object, const char *valve,
                        const platelag_finding *finding) {
  put(b, object, "valve", string(b, valve));
  put(b, object, "finding", string(b, platelag_finding_name(finding->kind)));
  put(b, object, "family", string(b, platelag_family_name(finding->family)));
  put(b, object, "probability", probability_of(b, finding));
}

static void put_sentences(builder *b, json_t *object, const platelag_finding *finding) {
  put(b, object, "sentence", string(b, finding->sentence != NULL ? finding->sentence : ""));
  put(b, object, "lacking", words_of(b, finding->lacking, finding->lacking_count));
  put(b, object, "finding_probability", real(finding->finding_probability));
}

static json_t *channel_name(builder *b, const platelag_channel *channel) {
  return channel != NULL ? string(b, channel->name) : json_null();
}

static json_t *valve_of(builder *b, const platelag_review_valve *valve) {
  const platelag_finding *finding = valve->finding;
  json_t *object = json_object();
  put_finding(b, object, valve->trace->valve, finding);
  put(b, object, "lag", lag_of(b, &valve->fit->lag));
  put(b, object, "friction", friction_of(b, &valve->fit->friction));
  put(b, object, "travel", travel_of(b, &valve->fit->travel));
  put(b, object, "stuck", stuck_of(b, valve->fit));
  put(b, object, "checks", checks_of(b, finding, false));
  put(b, object, "signal", signal_of(b, &valve->fit->signal));
  put(b, object, "codes", codes_of(b, finding));
  put(b, object, "evidence", evidence_of(b, finding));
  put(b, object, "next_tests", next_tests_of(b, finding));
  put_sentences(b, object, finding);
  put(b, object, "check_figures", checks_of(b, finding, true));
  put(b, object, "hypotheses", hypotheses_of(b, finding));
  put(b, object, "command", channel_name(b, valve->trace->command));
  put(b, object, "position", channel_name(b, valve->trace->position));
  put(b, object, "notes", words_of(b, valve->trace->note, valve->trace->note_count));
  return object;
}

static json_t *notes_of(builder *b, const platelag_capture *capture) {
  json_t *array = json_array();
  for (size_t i = 0; i < platelag_capture_note_count(capture); i++) {
    const platelag_note *note = platelag_capture_note_at(capture, i);
    json_t *object = json_object();
    put(b, object, "line", json_integer((json_int_t)note->line));
    put(b, object, "column", json_integer((json_int_t)note->column));
    put(b, object, "count", whole(note->count));
    put(b, object, "text", string(b, note->text));
    append(b, array, object);
  }
  return array;
}

/* ISO 8601; the Z says that it is UTC. */
static json_t *started_of(builder *b, const platelag_reading *reading) {
  char text[PLAG_CALENDAR_BYTES];
  if (!reading->started_known)
    return json_null();
  plag_calendar_format(reading->started_unix_s, 'T', text);
  json_t *value = json_sprintf("%s%s", text, reading->started_zoned ? "Z" : "");
  b->failed = b->failed || value == NULL;
  return value;
}

static json_t *reading_of(builder *b, const platelag_capture *capture) {
  const platelag_reading *reading = platelag_capture_reading(capture);
  json_t *object = json_object();
  put(b, object, "encoding", string(b, reading->encoding));
  put(b, object, "separator", string(b, reading->separator));
  put(b, object, "clock", string(b, reading->clock));
  put(b, object, "skipped", whole(reading->skipped));
  put(b, object, "notes", notes_of(b, capture));
  put(b, object, "compression", string(b, reading->compression));
  put(b, object, "decimal", string(b, reading->decimal));
  put(b, object, "shape", string(b, reading->shape));
  put(b, object, "header_line", json_integer((json_int_t)reading->header_line));
  put(b, object, "row_period_s", real(reading->row_period_s));
  put(b, object, "unparsed", whole(reading->unparsed));
  put(b, object, "segments", whole(platelag_capture_segment_count(capture)));
  put(b, object, "started", started_of(b, reading));
  return object;
}

static json_t *refusal_of(builder *b, const platelag_error *refusal) {
  json_t *object = json_object();
  put(b, object, "line", json_integer((json_int_t)refusal->line));
  put(b, object, "column", json_integer((json_int_t)refusal->column));
  put(b, object, "message", string(b, refusal->message));
  return object;
}

static json_t *capture_of(builder *b, const platelag_review_capture *capture) {
  const platelag_reading *reading =
      capture->capture != NULL ? platelag_capture_reading(capture->capture) : NULL;
  json_t *object = json_object();
  put(b, object, "file", string(b, capture->file));
  put(b, object, "condition", string(b, platelag_condition_name(capture->condition)));
  put(b, object, "rows", whole(reading != NULL ? reading->rows : 0));
  put(b, object, "duration_s", real(reading != NULL ? reading->duration_s : 0));
  put(b, object, "reading", reading != NULL ? reading_of(b, capture->capture) : json_null());
  json_t *valves = json_array();
  for (size_t i = 0; i < capture->valve_count; i++)
    append(b, valves, valve_of(b, &capture->valve[i]));
  put(b, object, "valves", valves);
  put(b, object, "run", whole(capture->run));
  if (capture->refusal.status != PLATELAG_OK)
    put(b, object, "refused", refusal_of(b, &capture->refusal));
  return object;
}

static json_t *case_of(builder *b, const platelag_case *judged) {
  json_t *object = json_object();
  put_finding(b, object, judged->valve, judged->finding);
  put(b, object, "repair",
      judged->repair == PLATELAG_REPAIR_NONE ? json_null()
                                             : string(b, platelag_repair_name(judged->repair)));
  put(b, object, "evidence", evidence_of(b, judged->finding));
  put(b, object, "next_tests", next_tests_of(b, judged->finding));
  put_sentences(b, object, judged->finding);
  return object;
}

static json_t *document_of(builder *b, const platelag_review *review) {
  json_t *document = json_object();
  json_t *captures = json_array();
  json_t *cases = json_array();
  for (size_t i = 0; i < review->capture_count; i++)
    append(b, captures, capture_of(b, &review->capture[i]));
  for (size_t i = 0; i < review->case_count; i++)
    append(b, cases, case_of(b, review->cases[i]));
  put(b, document, "schema", string(b, "platelag.review/1"));
  put(b, document, "version", string(b, platelag_version()));
  put(b, document, "captures", captures);
  put(b, document, "case", cases);
  return document;
}

static int collect(const char *bytes, size_t size, void *context) {
  plag_text *out = context;
  plag_escape_add_json(out, bytes, size); /* a piece holds whole characters */
  return out->failed ? -1 : 0;
}

platelag_status platelag_report_write_json(const platelag_review *review, const platelag_sink *sink,
                                           platelag_error *error) {
  builder b = {0};
  plag_text out = {0};
  platelag_status status = PLATELAG_OK;
  json_t *document = document_of(&b, review);
  if (b.failed || json_dump_callback(document, collect, &out, OUTPUT_FLAGS) != 0) {
    status = plag_error_memory(error, "the report");
    goto done;
  }
  plag_text_add_char(&out, '\n');
  status = out.failed ? plag_error_memory(error, "the report")
                      : sink->write(sink->context, out.bytes, out.length, error);
done:
  json_decref(document);
  plag_text_clear(&b.scratch);
  plag_text_clear(&out);
  return status;
}
