/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page says all that the text says, lets no text become markup, asks for nothing from outside,
 * is the same to the byte, and tells when memory or the sink gives out. */
#include "support/check.h"

#include <string.h>

#include "core/html_text.h"
#include "report/compose.h"
#include "support/failing_memory.h"
#include "support/made_report.h"

static const struct {
  const char *text;
  const char *content;   /* of an element */
  const char *attribute; /* where it differs; NULL */
} escapes[] = {
    {"Runner duty (%)", "Runner duty (%)", NULL},
    {"<script>alert(1)</script>", "&lt;script&gt;alert(1)&lt;/script&gt;", NULL},
    {"a\"b'c&amp;", "a&quot;b&#39;c&amp;amp;", NULL},
    {"--><!--]]>", "--&gt;&lt;!--]]&gt;", NULL},
    {"Klappe \xc3\xb6"
     "ffnen 23,85 \xc2\xb0",
     "Klappe \xc3\xb6"
     "ffnen 23,85 \xc2\xb0",
     NULL},
    {"a \xd7\x90\xd7\x91 23 \xd7\x92 b", "a <bdi>\xd7\x90\xd7\x91 23 \xd7\x92</bdi> b",
     "a \xd7\x90\xd7\x91 23 \xd7\x92 b"},
    {"\xd8\xa7<\xd8\xa8", "<bdi>\xd8\xa7&lt;\xd8\xa8</bdi>", "\xd8\xa7&lt;\xd8\xa8"},
    {"\xd7\x90 x \xd7\x90", "<bdi>\xd7\x90</bdi> x <bdi>\xd7\x90</bdi>", "\xd7\x90 x \xd7\x90"},
    {"", "", NULL},
};

static void no_text_becomes_markup(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof escapes / sizeof escapes[0]; i++) {
    plag_text out = {0};
    plag_text_add(&out, "");
    plag_html_prose_add(&out, escapes[i].text);
    assert_string_equal(out.bytes, escapes[i].content);
    plag_text_reset(&out);
    plag_text_add(&out, "");
    plag_html_text_add(&out, escapes[i].text);
    assert_string_equal(out.bytes,
                        escapes[i].attribute != NULL ? escapes[i].attribute : escapes[i].content);
    plag_text_clear(&out);
  }
}

enum { SAMPLES = 600 };

/* The record of a valve that opens and closes every ten seconds, late by a fixed share. */
typedef struct recorded {
  int64_t time_ns[SAMPLES];
  double level[SAMPLES];
  double duty[SAMPLES];
  uint32_t change_row[SAMPLES];
  platelag_channel command;
  platelag_trace_segment segment;
} recorded;

static void record(recorded *kept, platelag_trace *trace) {
  double level = 1.21;
  trace->change_count = 0;
  for (size_t i = 0; i < SAMPLES; i++) {
    kept->time_ns[i] = (int64_t)i * 100000000;
    kept->duty[i] = i / 100 % 2 == 1 ? 88.1 : 7.3;
    level += 0.3 * ((kept->duty[i] > 50 ? 3.71 : 1.21) - level);
    kept->level[i] = level;
    if (i > 0 && kept->duty[i] != kept->duty[i - 1])
      kept->change_row[trace->change_count++] = (uint32_t)i;
  }
  kept->command = (platelag_channel){.name = "<b>duty</b>",
                                     .unit_text = "%",
                                     .kind = PLATELAG_VALUE_NUMBER,
                                     .count = SAMPLES,
                                     .time_ns = kept->time_ns,
                                     .value = kept->duty};
  kept->segment = (platelag_trace_segment){.to_ns = kept->time_ns[SAMPLES - 1],
                                           .sample_count = SAMPLES,
                                           .change_count = trace->change_count,
                                           .command_at_start = 7.3};
  trace->command = &kept->command;
  trace->change_row = kept->change_row;
  trace->time_ns = kept->time_ns;
  trace->level = kept->level;
  trace->sample_count = SAMPLES;
  trace->segment = &kept->segment;
  trace->segment_count = 1;
}

static recorded kept[PLAG_TEST_CAPTURES];

static void prepare(plag_test_report *made) {
  plag_test_report_prepare(made);
  for (size_t i = 0; i < PLAG_TEST_CAPTURES; i++)
    record(&kept[i], &made->record[i].trace);
}

static void make_page(const plag_test_report *made, plag_text *out) {
  const platelag_sink sink = plag_test_text_sink(out);
  plag_text_reset(out);
  assert_int_equal(platelag_report_write_html(&made->review, &sink, NULL), PLATELAG_OK);
}

/* In their order, each beginning where the one before ended. */
static const char *find_next(const char *page, const char *text) {
  plag_text wanted = {0};
  plag_text_add(&wanted, "");
  plag_html_prose_add(&wanted, text);
  const char *found = strstr(page, wanted.bytes);
  if (found == NULL)
    fail_msg("\"%s\" is not in its place in the page", wanted.bytes);
  found += wanted.length;
  plag_text_clear(&wanted);
  return found;
}

static void all_that_is_said_stands_in_the_page(void **state) {
  (void)state;
  for (size_t count = 1; count <= 2; count++) {
    plag_test_report made;
    plag_text out = {0};
    plag_document document = {0};
    prepare(&made);
    plag_test_hold(&made.record[0], 14, 47.3, 61);
    plag_test_report_judge(&made, count);
    make_page(&made, &out);
    plag_compose_review(&document, &made.review);
    const char *at = strstr(out.bytes, "<main>");
    for (size_t i = 0; i < document.count; i++) {
      at = find_next(at, document.block[i].label);
      at = find_next(at, document.block[i].text);
      for (int k = 0; k < document.block[i].cell_count; k++)
        at = find_next(at, document.block[i].cell[k]);
    }
    plag_document_clear(&document);
    plag_text_clear(&out);
    plag_test_report_clear(&made);
  }
}

static void names_stay_text_and_nothing_is_asked_for(void **state) {
  (void)state;
  static const char *const outside[] = {"src=",    "href=", "url(h", "url(/",
                                        "@import", "<link", "<img"};
  plag_test_report made;
  plag_text out = {0}, again = {0};
  prepare(&made);
  plag_test_report_judge(&made, 1);
  made.captures[0].file = "\"'><script>alert(1)</script>\xe2\x80\xaegnp\033[31m.csv";
  make_page(&made, &out);
  make_page(&made, &again);
  assert_string_equal(out.bytes, again.bytes);
  assert_null(strstr(out.bytes, "<script>alert"));
  assert_null(strstr(out.bytes, "<b>duty"));
  assert_non_null(strstr(out.bytes, "&lt;b&gt;duty&lt;/b&gt; (%)"));
  assert_non_null(
      strstr(out.bytes, "&lt;script&gt;alert(1)&lt;/script&gt;\xef\xbf\xbdgnp\xef\xbf\xbd[31m"));
  assert_non_null(strstr(out.bytes, "content=\"default-src 'none';"));
  assert_null(strstr(out.bytes, "unsafe"));
  for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++)
    assert_null(strstr(out.bytes, outside[i]));
  plag_text_clear(&out);
  plag_text_clear(&again);
  plag_test_report_clear(&made);
}

static void what_gives_out_is_told(void **state) {
  (void)state;
  const platelag_sink swallowing = plag_test_swallowing_sink();
  const platelag_sink full = plag_test_full_sink();
  enum { MOST_ALLOCATIONS = 5000 };
  plag_test_report made;
  prepare(&made);
  plag_test_report_judge(&made, 2);
  platelag_error error = {0};
  assert_int_equal(platelag_report_write_html(&made.review, &full, &error), PLATELAG_ERROR_IO);
  assert_int_equal(error.status, PLATELAG_ERROR_IO);
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = platelag_report_write_html(&made.review, &swallowing, &error);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(status, reached ? PLATELAG_ERROR_MEMORY : PLATELAG_OK);
    assert_int_equal(error.status, status);
  }
  assert_true(nth > 5 && nth < MOST_ALLOCATIONS);
  plag_test_report_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_text_becomes_markup),
      cmocka_unit_test(all_that_is_said_stands_in_the_page),
      cmocka_unit_test(names_stay_text_and_nothing_is_asked_for),
      cmocka_unit_test(what_gives_out_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
