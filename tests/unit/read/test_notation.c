/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which mark a column takes for the decimal one: by its own cells, else as the other columns write,
 * else by whether the mark stands in every number; and what is told of the last two. */
#include "support/check.h"

#include <string.h>

#include "read/column.h"

enum { MOST_PARTS = 4, COLUMNS = 2 };

typedef struct part {
  size_t count;
  const char *text;
} part;

typedef struct story {
  const char *what;
  part part[MOST_PARTS]; /* of the first column, in the order of the rows */
  const char *other;     /* each cell of the second */
  char layout, decimal;  /* what the file is taken for, what the column is */
  const char *note;      /* words of it; NULL: none */
} story;

static const story stories[] = {
    {"points", {{173, "12.5"}}, "", ',', '.', NULL},
    {"commas", {{173, "12,5"}}, "", '.', ',', NULL},
    {"more points than commas", {{31, "12,5"}, {37, "0.75"}}, "", ',', '.', NULL},
    {"as many", {{31, "12,5"}, {31, "0.75"}}, "", ',', ',', NULL},
    {"as many, the other way", {{31, "0.75"}, {31, "12,5"}}, "", '.', '.', NULL},
    {"commas that are more, though points come first",
     {{100, "0.75"}, {307, "12,5"}},
     "",
     '.',
     ',',
     NULL},
    {"points that are more, though commas come first",
     {{100, "12,5"}, {307, "0.75"}},
     "",
     '.',
     '.',
     NULL},
    {"more commas, points between them",
     {{1, "0,5"}, {151, "0.75"}, {307, "12,5"}},
     "",
     '.',
     ',',
     NULL},
    {"more points, commas between them",
     {{1, "0.5"}, {151, "12,5"}, {307, "0.75"}},
     "",
     ',',
     '.',
     NULL},
    {"both marks in each number", {{41, "1.234,5"}}, "", '.', ',', NULL},
    {"open, the others write commas", {{41, "1.234"}}, "0,5", '.', ',', "as the other columns"},
    {"open, the others write points", {{41, "1,234"}}, "0.5", ',', '.', "as the other columns"},
    {"open, the others write so too", {{41, "1.234"}}, "0.5", ',', '.', NULL},
    {"smaller numbers without it", {{41, "1.234"}, {3, "87"}}, "", '.', ',', "smaller numbers"},
    {"the same with commas", {{41, "1,234"}, {3, "87"}}, "", ',', '.', "smaller numbers"},
    {"in every number", {{41, "1.234"}}, "", ',', '.', "in every number"},
    {"a comma in every number", {{41, "1,234"}}, "", '.', ',', "in every number"},
    {"open both ways", {{41, "1,234"}, {41, "1.234"}}, "", ',', ',', NULL},
    {"no number at all", {{41, "on"}}, "", ',', ',', NULL},
};

static void check(const story *s) {
  static plag_cell cell[PLAG_SAMPLE_ROWS][COLUMNS];
  static plag_row row[PLAG_SAMPLE_ROWS];
  plag_sample sample = {.row = row};
  for (size_t k = 0; k < MOST_PARTS; k++)
    for (size_t i = 0; i < s->part[k].count; i++) {
      const size_t at = sample.count++;
      cell[at][0] = (plag_cell){s->part[k].text, strlen(s->part[k].text)};
      cell[at][1] = (plag_cell){s->other, strlen(s->other)};
      row[at] = (plag_row){.line = (int64_t)at + 2, .count = COLUMNS, .cell = cell[at]};
    }
  const plag_column_head heads[COLUMNS] = {{"flap", "flap (V)", "V"}, {"other", "other", ""}};
  const plag_layout layout = {
      .decimal = s->layout, .data_line = 2, .column_count = COLUMNS, .column = heads};
  plag_notation notation[COLUMNS];
  plag_note_list notes = {0};
  plag_notation_decide(&sample, &layout, notation, &notes);
  if (notation[0].decimal != s->decimal || notation[0].group != (s->decimal == '.' ? ',' : '.'))
    fail_msg("%s: decimal '%c', thousands '%c'", s->what, notation[0].decimal, notation[0].group);
  if (notes.count != (s->note != NULL) ||
      (s->note != NULL && (strstr(notes.note[0].text, s->note) == NULL || notes.note[0].line != 2 ||
                           notes.note[0].column != 1)))
    fail_msg("%s: %zu notes, the first \"%s\"", s->what, notes.count,
             notes.count > 0 ? notes.note[0].text : "");
  plag_note_list_clear(&notes);
}

static void columns_are_read_as_they_are_written(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof stories / sizeof stories[0]; i++)
    check(&stories[i]);
}

/* A long column of points against two short ones of commas: by all cells it would win. */
static void a_long_column_does_not_outvote_two(void **state) {
  (void)state;
  enum { VOTERS = 4, ROWS = 299 };
  static const part column[VOTERS] = {{41, "1,234"}, {ROWS, "0.333"}, {61, "0,5"}, {59, "17,3"}};
  static plag_cell cell[ROWS][VOTERS];
  static plag_row row[ROWS];
  for (size_t i = 0; i < ROWS; i++) {
    for (size_t k = 0; k < VOTERS; k++) {
      const char *text = i < column[k].count ? column[k].text : "";
      cell[i][k] = (plag_cell){text, strlen(text)};
    }
    row[i] = (plag_row){.line = (int64_t)i + 2, .count = VOTERS, .cell = cell[i]};
  }
  const plag_sample sample = {.row = row, .count = ROWS};
  const plag_column_head heads[VOTERS] = {
      {"flap", "flap (V)", "V"}, {"a", "a", ""}, {"b", "b", ""}, {"c", "c", ""}};
  const plag_layout layout = {
      .decimal = '.', .data_line = 2, .column_count = VOTERS, .column = heads};
  plag_notation notation[VOTERS];
  plag_note_list notes = {0};
  plag_notation_decide(&sample, &layout, notation, &notes);
  assert_int_equal(notes.count, 0);
  static const char decimal[VOTERS] = {',', '.', ',', ','};
  for (size_t k = 0; k < VOTERS; k++)
    assert_int_equal(notation[k].decimal, decimal[k]);
  plag_note_list_clear(&notes);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(columns_are_read_as_they_are_written),
      cmocka_unit_test(a_long_column_does_not_outvote_two),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
