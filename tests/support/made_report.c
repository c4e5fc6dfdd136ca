/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_report.h"

#include <string.h>

#include "support/check.h"
#include "support/memory_source.h"

static const char *const files[PLAG_TEST_CAPTURES] = {"before.csv", "after.csv"};

void plag_test_report_prepare(plag_test_report *made) {
  memset(made, 0, sizeof *made);
  made->position = (platelag_channel){.name = "Runner position", .unit_text = "V"};
  for (size_t i = 0; i < PLAG_TEST_CAPTURES; i++) {
    plag_test_make_healthy(&made->record[i]);
    made->record[i].trace.position = &made->position;
  }
  made->record[1].trace.condition = PLATELAG_CONDITION_AFTER;
  const char *rows = "Time (s),Runner duty (%),Runner position (V)\n"
                     "0.0,7.3,1.21\n0.1,7.3,1.21\n0.2,88.1,1.22\n0.3,88.1,3.64\n";
  assert_int_equal(plag_test_read_bytes(rows, 0, NULL, &made->capture, NULL), PLATELAG_OK);
}

void plag_test_report_judge(plag_test_report *made, size_t count) {
  platelag_case_input input[PLAG_TEST_CAPTURES] = {0};
  for (size_t i = 0; i < count; i++) {
    plag_test_record *record = &made->record[i];
    assert_int_equal(platelag_finding_judge(&record->fit, &record->trace, &record->spec, NULL,
                                            &made->finding[i], NULL),
                     PLATELAG_OK);
    input[i] = (platelag_case_input){record->trace.condition, &record->fit, made->finding[i]};
    made->valve[i] =
        (platelag_review_valve){&record->trace, &record->fit, made->finding[i], record->spec, 0};
    made->captures[i] = (platelag_review_capture){.file = files[i],
                                                  .condition = record->trace.condition,
                                                  .capture = made->capture,
                                                  .valve_count = 1,
                                                  .valve = &made->valve[i]};
  }
  assert_int_equal(
      platelag_case_judge("bank 1", input, count, &made->record[0].spec, NULL, &made->judged, NULL),
      PLATELAG_OK);
  made->cases[0] = made->judged;
  made->review = (platelag_review){
      .capture_count = count, .capture = made->captures, .case_count = 1, .cases = made->cases};
}

void plag_test_report_clear(plag_test_report *made) {
  platelag_case_destroy(made->judged);
  for (size_t i = 0; i < PLAG_TEST_CAPTURES; i++)
    platelag_finding_destroy(made->finding[i]);
  platelag_capture_destroy(made->capture);
}

static platelag_status add(void *context, const char *bytes, size_t size, platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

platelag_sink plag_test_text_sink(plag_text *out) {
  return (platelag_sink){.context = out, .write = add};
}

static platelag_status refuse(void *context, const char *bytes, size_t size,
                              platelag_error *error) {
  (void)context;
  (void)bytes;
  (void)size;
  *error = (platelag_error){.status = PLATELAG_ERROR_IO, .message = "the disk is full"};
  return PLATELAG_ERROR_IO;
}

platelag_sink plag_test_full_sink(void) {
  return (platelag_sink){.write = refuse};
}

static platelag_status swallow(void *context, const char *bytes, size_t size,
                               platelag_error *error) {
  (void)context;
  (void)bytes;
  (void)size;
  (void)error;
  return PLATELAG_OK;
}

platelag_sink plag_test_swallowing_sink(void) {
  return (platelag_sink){.write = swallow};
}

void plag_test_report_text(const plag_test_report *made, const platelag_report_options *options,
                           plag_text *out) {
  const platelag_sink sink = plag_test_text_sink(out);
  plag_text_reset(out);
  assert_int_equal(platelag_report_write_text(&made->review, options, &sink, NULL), PLATELAG_OK);
}

void plag_test_report_json(const plag_test_report *made, plag_text *out) {
  const platelag_sink sink = plag_test_text_sink(out);
  plag_text_reset(out);
  assert_int_equal(platelag_report_write_json(&made->review, &sink, NULL), PLATELAG_OK);
}
