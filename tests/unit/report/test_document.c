/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A document's texts: figures with three digits and no idle zeros, plurals, harmless names, and a
 * failed allocation that sticks. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "report/document.h"
#include "support/failing_memory.h"

static const struct {
  double value;
  const char *text;
} figures[] = {
    {0.7, "0.7"},      {0.70049, "0.7"},  {0.2387, "0.239"}, {0.0004, "0"},   {1.2, "1.2"},
    {2.387, "2.39"},   {9.994, "9.99"},   {9.996, "10"},     {23.87, "23.9"}, {99.94, "99.9"},
    {99.96, "100"},    {238.7, "239"},    {12000, "12000"},  {0, "0"},        {-0.0, "0"},
    {-2.387, "-2.39"}, {100.4999, "100"}, {30, "30"},        {NAN, "-"},
};

static void figures_have_three_digits(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
    plag_document document = {0};
    plag_document_say_figure(&document, figures[i].value);
    assert_string_equal(plag_document_take(&document), figures[i].text);
    assert_string_equal(plag_document_take(&document), "");
    plag_document_clear(&document);
  }
}

static void counts_have_their_plural(void **state) {
  (void)state;
  static const struct {
    size_t count;
    const char *text;
  } rows[] = {{0, "0 openings"}, {1, "1 opening"}, {17, "17 openings"}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    plag_document document = {0};
    plag_document_say_count(&document, rows[i].count, "opening");
    assert_string_equal(plag_document_take(&document), rows[i].text);
    plag_document_clear(&document);
  }
}

static void names_are_harmless_wherever_they_stand(void **state) {
  (void)state;
  const char *name = "Stellung\033[31m\n2";
  plag_document document = {0};
  (void)plag_document_add(&document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, name, name);
  plag_document_cell(&document, name);
  plag_document_say(&document, name);
  plag_document_cell_taken(&document);
  const plag_block *block = &document.block[0];
  const char *shown[] = {block->label, block->text, block->cell[0], block->cell[1]};
  for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
    assert_string_equal(shown[i], "Stellung\xef\xbf\xbd[31m 2");
  plag_document_clear(&document);
}

static void build(plag_document *document) {
  for (int i = 0; i < 40; i++) {
    (void)plag_document_add(document, PLAG_BLOCK_ROW, PLAG_TONE_PLAIN, "slip jump", "");
    plag_document_say_number(document, 2.385 * i, 2);
    plag_document_cell_taken(document);
  }
}

static void a_failed_allocation_sticks(void **state) {
  (void)state;
  enum { MOST_ALLOCATIONS = 300 };
  size_t nth = 1;
  for (bool reached = true; reached && nth < MOST_ALLOCATIONS; nth++) {
    plag_document document = {0};
    plag_test_fail_allocation(nth);
    build(&document);
    reached = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(document.failed, reached);
    plag_document_clear(&document);
  }
  assert_true(nth > 3 && nth < MOST_ALLOCATIONS);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_have_three_digits),
      cmocka_unit_test(counts_have_their_plural),
      cmocka_unit_test(names_are_harmless_wherever_they_stand),
      cmocka_unit_test(a_failed_allocation_sticks),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
