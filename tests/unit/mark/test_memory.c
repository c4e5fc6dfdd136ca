/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails while a class of two is marked and written, memory is what is named,
 * nothing is half made, and the next class is as if nothing had been. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_class.h"

#include "platelag/platelag.h"

/* Of so many allocations at most each one fails, else evenly spread ones. */
enum { MOST_FAILURES = 500 };

static const double STEPS_PCT[] = {5, 95, 45, 95, 5, 60};

static void record(plag_test_class *of, const char *name, double minutes, unsigned noise) {
  plag_text csv = {0};
  const plag_test_drive drive = {.minutes = minutes,
                                 .row_s = 0.1,
                                 .step_s = 4,
                                 .t63_s = 0.2,
                                 .duty_pct = STEPS_PCT,
                                 .level_count = 6,
                                 .noise = noise};
  plag_test_drive_write(&drive, &csv);
  plag_test_class_record(of, name, csv.bytes);
  plag_text_clear(&csv);
}

static platelag_status add_text(void *context, const char *bytes, size_t size,
                                platelag_error *error) {
  plag_text *text = context;
  plag_text_add_bytes(text, bytes, size);
  if (text->failed)
    *error = (platelag_error){.status = PLATELAG_ERROR_MEMORY};
  return text->failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK;
}

/* All that is written of a class, into `out`. */
static platelag_status write_all(const platelag_class *marked, const char *workbook, plag_text *out,
                                 platelag_error *error) {
  const platelag_sink sink = {out, add_text};
  plag_text_reset(out);
  platelag_status status = platelag_class_write_text(marked, NULL, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_class_write_csv(marked, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_class_write_html(marked, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_class_write_xlsx(marked, workbook, error);
  return status;
}

/* Marks with the `nth` allocation failing; `report` is what was written when it does not. Returns
 * the count of allocations. */
static size_t walk(const plag_test_class *of, const char *workbook, size_t nth, plag_text *report) {
  platelag_class *marked = NULL;
  platelag_error error = {0};
  plag_test_fail_allocation(nth);
  platelag_status status = platelag_class_build(&of->work, &marked, &error);
  assert_int_equal(marked != NULL, status == PLATELAG_OK);
  if (status == PLATELAG_OK)
    status = write_all(marked, workbook, report, &error);
  const size_t count = plag_test_allocation_count();
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK) || error.status != status)
    fail_msg("allocation %zu %s: status %d, \"%s\"", nth, failed ? "failed" : "was not reached",
             (int)status, error.message);
  platelag_class_destroy(marked);
  return count;
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  plag_test_class made = {0};
  plag_text whole = {0};
  plag_text after = {0};
  char workbook[PLAG_TEST_PATH_BYTES];
  platelag_error error = {0};
  record(&made, "a.csv", 0.7, 3);
  record(&made, "b.csv", 0.6, 5);
  /* The same file twice for a likeness, one that is missing and an odd answer for remarks. */
  if (plag_test_class_build(&made, "vehicle,finding,code\ncart 1,free,P2015\n",
                            "student,vehicle,file,finding,probability,opening_t63_s\n"
                            "A,cart 1,a.csv,free,0.83,0.2\nA,cart 1,b.csv,slow,,\n"
                            "B,cart 1,a.csv,quite free,,\nB,cart 1,gone.csv,,,\n",
                            NULL, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(made.marked->likeness_count, 1);
  (void)plag_test_scratch_path(&made.scratch, "marks.xlsx", workbook);
  const size_t count = walk(&made, workbook, 0, &whole);
  assert_true(count > 500);
  const size_t stride = 1 + count / MOST_FAILURES;
  for (size_t nth = 1; nth <= count; nth += nth < 100 ? 1 : stride)
    (void)walk(&made, workbook, nth, &after);
  (void)walk(&made, workbook, 0, &after);
  assert_string_equal(after.bytes, whole.bytes);
  plag_text_clear(&whole);
  plag_text_clear(&after);
  plag_test_class_clear(&made);
}

int main(void) {
  platelag_library_start();
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_failed_allocation_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
