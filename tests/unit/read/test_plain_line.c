/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines without quotes are split in place as libcsv splits them: random lines and hostile ones, cut
 * where the room for cells ends; and as one byte after the other splits them, at every length. */
#include "support/check.h"

#include <csv.h>
#include <stdlib.h>
#include <string.h>

#include "read/plain_line.h"
#include "support/made_random.h"

enum { MOST_BYTES = 4096, MOST_CELLS = 4096, LINES = 60000 };

typedef struct cell_list {
  char text[MOST_BYTES + 1];
  size_t used;
  plag_cell cell[MOST_CELLS];
  size_t count;
} cell_list;

static void take_cell(void *bytes, size_t length, void *context) {
  cell_list *list = context;
  plag_cell cell = {bytes, length};
  plag_cell_trim(&cell); /* libcsv knows no no-break space */
  memcpy(list->text + list->used, cell.text, cell.length);
  list->cell[list->count++] = (plag_cell){list->text + list->used, cell.length};
  list->used += cell.length;
}

static void take_end(int terminator, void *context) {
  (void)terminator;
  (void)context;
}

static void split_by_libcsv(const char *line, size_t length, char separator, cell_list *out) {
  struct csv_parser parser;
  out->used = out->count = 0;
  assert_int_equal(csv_init(&parser, CSV_REPALL_NL), 0);
  csv_set_delim(&parser, (unsigned char)separator);
  csv_set_quote(&parser, '\0');
  assert_int_equal(csv_parse(&parser, line, length, take_cell, take_end, out), length);
  csv_free(&parser);
}

/* `line` ends with its line end. A line of blanks is no cell for libcsv and an empty one here:
 * rows.c makes a blank line of it. */
static void compare(const char *line, size_t length, char separator) {
  static cell_list expected;
  static plag_cell cell[MOST_CELLS];
  const char *const end = line + length - 1;
  const char *rest = NULL;
  split_by_libcsv(line, length, separator, &expected);
  size_t count = plag_plain_line_split(line, end, separator, cell, MOST_CELLS, &rest);
  assert_ptr_equal(rest, end + 1);
  if (expected.count == 0) {
    assert_int_equal(count, 1);
    assert_int_equal(cell[0].length, 0);
    return;
  }
  assert_int_equal(count, expected.count);
  for (size_t i = 0; i < count; i++) {
    assert_int_equal(cell[i].length, expected.cell[i].length);
    assert_memory_equal(cell[i].text, expected.cell[i].text, cell[i].length);
  }
  const size_t room = count / 2;
  assert_int_equal(plag_plain_line_split(line, end, separator, cell, room, &rest), room);
  count = room + plag_plain_line_split(rest, end, separator, cell + room, MOST_CELLS - room, &rest);
  assert_int_equal(count, expected.count);
  for (size_t i = 0; i < count; i++)
    assert_memory_equal(cell[i].text, expected.cell[i].text, cell[i].length);
}

static const char separators[] = {',', ';', '\t', '|'};

static void hostile_lines(void **state) {
  (void)state;
  static const char *const lines[] = {
      "\n",
      " \t \n",
      ",\n",
      ",,,,,,,,,,,,,,,,,\n",
      "a\n",
      "1234567\n",
      "12345678\n",
      "123456789\n",
      "1234567,\n",
      "12345678,\n",
      ",12345678\n",
      "  1.5 ,\t2 , 3\t\n",
      "\xC2\xA0 1.5\xC2\xA0,\xC2\xA0,2\n",
      "-,\xAC,\x2B,\xAD,\xBB,\x3A,\x7B\n", /* bits about those of the separators */
      "\x01,\x7F,\x80,\xFF,\x81\n",
      "=cmd|' /C calc'!A0;1,2\t3\n",
      "\"a\",b \"c\" d,\"\n",
  };
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
    for (size_t k = 0; k < sizeof separators; k++)
      compare(lines[i], strlen(lines[i]), separators[k]);
}

/* Few different bytes, so that separators, blanks and numbers meet in all ways. */
static void random_lines(void **state) {
  (void)state;
  static const char bytes[] = ",,,;;\t|  0123456789..-eV%\xC2\xA0\"=\x80\xFF";
  plag_test_random random = {0x11e5};
  for (int i = 0; i < LINES; i++) {
    char line[80];
    const size_t length = (size_t)plag_test_random_uniform(&random, 0, sizeof line - 1);
    for (size_t k = 0; k < length; k++)
      line[k] = i % 2 ? bytes[plag_test_random_bits(&random) % (sizeof bytes - 1)]
                      : (char)(1 + plag_test_random_bits(&random) % 255);
    for (size_t k = 0; k < length; k++)
      if (line[k] == '\n' || line[k] == '\r')
        line[k] = ',';
    line[length] = '\n';
    compare(line, length + 1, separators[i % 4]);
  }
}

static void a_long_line(void **state) {
  (void)state;
  static char line[MOST_BYTES];
  plag_test_random random = {0x1019};
  for (size_t i = 0; i + 1 < sizeof line; i++)
    line[i] = plag_test_random_bits(&random) % 3 == 0 ? ',' : '7';
  line[sizeof line - 1] = '\n';
  compare(line, sizeof line, ',');
}

/* The next cell of a line, one byte after the other; where the one behind it begins. */
static const char *take_one_cell(const char *from, const char *end, char separator,
                                 plag_cell *out) {
  const char *stop = from;
  while (stop < end && *stop != separator)
    stop++;
  const char *last = stop;
  while (from < last && strchr(" \t", *from) != NULL)
    from++;
  while (last > from && strchr(" \t", last[-1]) != NULL)
    last--;
  *out = (plag_cell){from, (size_t)(last - from)};
  return stop + 1;
}

static void compare_by_bytes(const char *line, size_t length, char separator) {
  const char *const end = line + length;
  plag_cell cell[64];
  const char *rest = NULL;
  const size_t count = plag_plain_line_split(line, end, separator, cell, 64, &rest);
  assert_ptr_equal(rest, end + 1);
  const char *from = line;
  for (size_t i = 0; i < count; i++) {
    plag_cell expected;
    assert_true(from <= end);
    from = take_one_cell(from, end, separator, &expected);
    assert_int_equal(cell[i].length, expected.length);
    if (expected.length > 0)
      assert_ptr_equal(cell[i].text, expected.text);
  }
  assert_ptr_equal(from, end + 1);
}

/* Lines end anywhere against the eight bytes that are looked at together, and so do their cells:
 * all lengths, all pairs of places of two bytes, whose neighbours look like what they are not. */
static void every_length_and_place(void **state) {
  (void)state;
  enum { LONGEST = 40 };
  static const char special[] = ",;\t| ";
  char line[LONGEST + 1];
  for (size_t length = 1; length <= LONGEST; length++)
    for (size_t one = 0; one < length; one++)
      for (size_t other = 0; other < length; other++) {
        memset(line, '!', length); /* next to the blank: a borrow must not count */
        line[one] = special[(one + other + length) % (sizeof special - 1)];
        line[other] = special[(3 * one + other) % (sizeof special - 1)];
        line[length] = '\n';
        for (size_t k = 0; k < sizeof separators; k++)
          compare_by_bytes(line, length, separators[k]);
      }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(hostile_lines),
      cmocka_unit_test(random_lines),
      cmocka_unit_test(a_long_line),
      cmocka_unit_test(every_length_and_place),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
