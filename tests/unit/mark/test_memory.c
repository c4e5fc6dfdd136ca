/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whichever allocation fails while a class of two is marked and written, memory is what is named,
 * nothing is half made, and the next class is as if nothing had been. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/made_class.h"

#include "platelag/platelag.h"

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
  for (size_t i = 0; i < marked->submission_count && status == PLATELAG_OK; i++)
    status = platelag_class_write_student(marked, i, &sink, error);
  if (status == PLATELAG_OK)
    status = platelag_class_write_xlsx(marked, workbook, error);
  return status;
}

static bool expect(platelag_status status, const platelag_error *error, size_t nth) {
  const bool failed = plag_test_allocation_failed();
  plag_test_fail_allocation(0);
  if (status != (failed ? PLATELAG_ERROR_MEMORY : PLATELAG_OK) || error->status != status)
    fail_msg("allocation %zu %s: status %d, \"%s\"", nth, failed ? "failed" : "was not reached",
             (int)status, error->message);
  return failed;
}

/* Marks with each new allocation failing in turn; returns how many there are, and the class. */
static size_t fail_marking(const plag_test_class *of, platelag_class **marked) {
  platelag_error error = {0};
  plag_test_watch_allocations();
  assert_int_equal(platelag_class_build(&of->work, marked, &error), PLATELAG_OK);
  const size_t count = plag_test_allocation_count();
  platelag_class_destroy(*marked);
  for (size_t nth = 1; nth <= count; nth++) {
    if (!plag_test_allocation_is_new(nth))
      continue;
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = platelag_class_build(&of->work, marked, &error);
    assert_true(expect(status, &error, nth));
    assert_null(*marked);
  }
  assert_int_equal(platelag_class_build(&of->work, marked, &error), PLATELAG_OK);
  return count;
}

/* The same of writing; `out` is what was written at last. */
static size_t fail_writing(const platelag_class *marked, const char *workbook, plag_text *out) {
  platelag_error error = {0};
  plag_test_watch_allocations();
  assert_int_equal(write_all(marked, workbook, out, &error), PLATELAG_OK);
  const size_t count = plag_test_allocation_count();
  for (size_t nth = 1; nth <= count; nth++) {
    if (!plag_test_allocation_is_new(nth))
      continue;
    error = (platelag_error){0};
    plag_test_fail_allocation(nth);
    const platelag_status status = write_all(marked, workbook, out, &error);
    assert_true(expect(status, &error, nth));
  }
  plag_test_fail_allocation(0);
  assert_int_equal(write_all(marked, workbook, out, &error), PLATELAG_OK);
  return count;
}

static void a_failed_allocation_is_told(void **state) {
  (void)state;
  plag_test_class made = {0};
  plag_text whole = {0};
  plag_text after = {0};
  char workbook[PLAG_TEST_PATH_BYTES];
  platelag_error error = {0};
  record(&made, "a.csv", 0.45, 3);
  record(&made, "b.csv", 0.35, 5);
  /* The same file twice for a likeness, one that is missing and an odd answer for remarks. */
  if (plag_test_class_build(&made, "vehicle,finding,code\ncart 1,free,P2015\n",
                            "student,vehicle,file,finding,probability,opening_t63_s\n"
                            "A,cart 1,a.csv,free,0.83,0.2\nA,cart 1,b.csv,slow,,\n"
                            "B,cart 1,a.csv,quite free,,\nB,cart 1,gone.csv,,,\n",
                            NULL, &error) != PLATELAG_OK)
    fail_msg("%s", error.message);
  assert_int_equal(made.marked->likeness_count, 1);
  (void)plag_test_scratch_path(&made.scratch, "marks.xlsx", workbook);
  assert_int_equal(write_all(made.marked, workbook, &whole, &error), PLATELAG_OK);
  platelag_class *marked = NULL;
  const size_t marking = fail_marking(&made, &marked);
  const size_t writing = fail_writing(marked, workbook, &after);
  assert_true(marking > 250 && writing > 250);
  assert_string_equal(after.bytes, whole.bytes);
  print_message("%zu and %zu allocations, each new one failed\n", marking, writing);
  platelag_class_destroy(marked);
  plag_text_clear(&whole);
  plag_text_clear(&after);
  plag_test_class_clear(&made);
}

int main(void) {
  platelag_library_start();
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_failed_allocation_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
