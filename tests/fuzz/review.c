/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz_review.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"

static void check_estimate(const platelag_estimate *of) {
  FUZZ_CHECK(!isinf(of->value));
  FUZZ_CHECK(isnan(of->low) || isnan(of->high) || of->low <= of->high);
}

static void check_finding(const platelag_finding *finding) {
  double sum = 0;
  for (size_t i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    FUZZ_CHECK(finding->probability[i] >= 0 && finding->probability[i] <= 1);
    sum += finding->probability[i];
  }
  FUZZ_CHECK(fabs(sum - 1) < 1e-9);
  FUZZ_CHECK(finding->finding_probability >= 0 && finding->finding_probability <= 1);
  FUZZ_CHECK(finding->kind < PLATELAG_FINDING_COUNT && finding->sentence[0] != '\0');
  for (size_t i = 0; i < finding->evidence_count; i++)
    FUZZ_CHECK(finding->evidence[i].weight >= 0);
}

static void check_valve(const platelag_review_valve *valve) {
  check_estimate(&valve->fit->lag.opening_t63_s);
  check_estimate(&valve->fit->lag.closing_t63_s);
  check_estimate(&valve->fit->friction.stick_band_pct);
  check_finding(valve->finding);
}

static void check_review(const platelag_review *review, size_t files) {
  FUZZ_CHECK(review->capture_count >= files);
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_capture *capture = &review->capture[i];
    fuzz_check_error(capture->refusal.status, &capture->refusal);
    for (size_t k = 0; k < capture->valve_count; k++)
      check_valve(&capture->valve[k]);
  }
  for (size_t i = 0; i < review->case_count; i++)
    check_finding(review->cases[i]->finding);
}

/* Read back by another program's eyes. */
static void check_json(const plag_text *text) {
  json_error_t where;
  json_t *read = json_loadb(text->bytes, text->length, JSON_REJECT_DUPLICATES, &where);
  FUZZ_CHECK(read != NULL);
  json_decref(read);
}

/* What a page may hold beside its own: no element but those that it is made of begins anywhere, so
 * none that a capture brought. */
static void check_page(const plag_text *text) {
  size_t scripts = 0;
  for (const char *at = text->bytes; (at = strstr(at, "<script")) != NULL; at++)
    scripts++;
  FUZZ_CHECK(scripts <= 2);
  FUZZ_CHECK(strstr(text->bytes, "<img") == NULL && strstr(text->bytes, "<iframe") == NULL);
}

static void write_reports(const platelag_review *review) {
  platelag_error error = {0};
  plag_text text = {0};
  const platelag_sink sink = fuzz_sink(&text);
  FUZZ_CHECK(platelag_report_write_text(review, NULL, &sink, &error) == PLATELAG_OK);
  fuzz_check_output(&text);
  plag_text_reset(&text);
  FUZZ_CHECK(platelag_report_write_json(review, &sink, &error) == PLATELAG_OK);
  fuzz_check_output(&text);
  check_json(&text);
  plag_text_reset(&text);
  FUZZ_CHECK(platelag_report_write_html(review, &sink, &error) == PLATELAG_OK);
  check_page(&text);
  plag_text_clear(&text);
}

void fuzz_review(const platelag_review_file *file, size_t count,
                 const platelag_review_options *options) {
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  platelag_error error = {0};
  FUZZ_CHECK(platelag_workspace_create(&workspace, &error) == PLATELAG_OK);
  FUZZ_CHECK(platelag_review_build(file, count, options, workspace, &review, &error) ==
             PLATELAG_OK);
  check_review(review, count);
  write_reports(review);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
}
