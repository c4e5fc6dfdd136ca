/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows come out the same however the bytes arrive, broken quoting is repaired and told, and what is
 * beyond all measure is refused where it stands. */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "core/text.h"
#include "read/rows.h"
#include "support/chunk_source.h"

/* Writes rows as text: "line[!][~]:cell|cell;" with ! after a blank line and ~ for a cut row. A
 * refusal is "line:column error". */
static void describe_rows(plag_rows *rows, plag_text *text, platelag_error *error) {
  plag_row row;
  bool more = true;
  while (plag_rows_next(rows, &row, &more, error) == PLATELAG_OK && more) {
    plag_text_add_format(text, "%lld%s%s:", (long long)row.line, row.after_blank ? "!" : "",
                         row.cut ? "~" : "");
    for (size_t i = 0; i < row.count; i++) {
      plag_text_add(text, i > 0 ? "|" : "");
      plag_text_add_bytes(text, row.cell[i].text, row.cell[i].length);
    }
    plag_text_add(text, ";");
  }
  for (size_t i = 0; i < plag_rows_note_count(rows); i++) {
    const platelag_note *note = plag_rows_note_at(rows, i);
    plag_text_add_format(text, " note %lld:%lld x%zu", (long long)note->line,
                         (long long)note->column, note->count);
  }
}

static void read_rows(plag_test_chunks chunks, char separator, bool quoting, plag_text *text) {
  platelag_error error = {0};
  const platelag_source source = plag_test_chunk_source(&chunks);
  plag_rows *rows = NULL;
  plag_text_reset(text);
  if (plag_rows_open(&source, "made.csv", &rows, &error) == PLATELAG_OK) {
    plag_rows_split(rows, separator, quoting);
    describe_rows(rows, text, &error);
  }
  if (error.status != PLATELAG_OK)
    plag_text_add_format(text, " error %lld:%lld", (long long)error.line, (long long)error.column);
  plag_text_add(text, "");
  plag_rows_destroy(rows);
}

typedef struct rows_case {
  const char *what;
  const char *bytes;
  size_t size;
  char separator;
  const char *expected;
} rows_case;

#define ROWS(what, separator, bytes, expected)                                                     \
  { what, bytes, sizeof(bytes) - 1, separator, expected }

static const rows_case cases[] = {
    ROWS("plain", ',', "a,b\n2.385,7\n", "1:a|b;2:2.385|7;"),
    ROWS("no last line end", ';', "a;b\n2,385;7", "1:a|b;2~:2,385|7;"),
    ROWS("CRLF", ',', "a,b\r\n1.5,2\r\n", "1:a|b;2:1.5|2;"),
    ROWS("CR only", ',', "a,b\r1.5,2\r\r3.5,4\r", "1:a|b;2:1.5|2;4!:3.5|4;"),
    ROWS("CR CR LF", ',', "a,b\r\r\n1.5,2\r\r\n", "1:a|b;2:1.5|2;"),
    ROWS("blank lines and blanks", ',', "\n  a , b\t\n \t \n1.5,\xC2\xA0 2 \n", "2!:a|b;4!:1.5|2;"),
    ROWS("tab, empty cells", '\t', "a\t\tc\n\t\t\n", "1:a||c;2:||;"),
    ROWS("trailing separator", ',', "a,b,\n1,2,\n", "1:a|b|;2:1|2|;"),
    ROWS("quoted", ',', "\"a \"\"x\"\"\", \"b,c\" ,d\n", "1:a \"x\"|b,c|d;"),
    ROWS("line end in a quoted header", ',', "t,\"pos\r\n(V)\",c\n1,2,3\n",
         "1:t|pos\n(V)|c;3:1|2|3;"),
    ROWS("inch mark inside cells", ',', "5\" hose,\"3\" x\",7\n1,2,3\n",
         "1:5\" hose|3\" x|7;2:1|2|3;"),
    ROWS("unbalanced quote in a table", ',', "a,b,c\n1,2,3\n4,5,6\n\"7,8,9\n1,\"2\",3\n4,5,6\n",
         "1:a|b|c;2:1|2|3;3:4|5|6;4:\"7|8|9;5:1|2|3;6:4|5|6; note 4:1 x1"),
    ROWS("two unbalanced quotes that make a pair", ',',
         "1,2,3\n4,5,6\n4,5,7\n1,\"x,2\n3,\"y,4\n8,9,1\n",
         "1:1|2|3;2:4|5|6;3:4|5|7;4:1|\"x|2;5:3|\"y|4;6:8|9|1; note 4:3 x1 note 5:3 x1"),
    ROWS("cell with line end and separators stays", ',',
         "1,2,3\n4,5,6\n4,5,7\n1,\"x,y\nz\",4\n8,9,1\n",
         "1:1|2|3;2:4|5|6;3:4|5|7;4:1|x,y\nz|4;6:8|9|1;"),
    ROWS("cut inside quotes", ',', "a,b\n1,\"x", "1:a|b;2~:1|x;"),
    ROWS("open quote some lines before the end", ',', "a,b\n\"1,2\n3,4\n",
         "1:a|b;2:\"1|2;3:3|4; note 2:1 x1"),
    ROWS("NULs at the end", ',', "a,b\n1,2\n\0\0\0\0", "1:a|b;2:1|2; note 3:0 x4"),
    ROWS("a NUL inside", ',', "a,b\n1,2\n3,\0 4\n", " error 3:0"),
    ROWS("NULs between", ',',
         "a,b\n1,2\n\0\0\0\0"
         "3,4\n",
         " error 3:0"),
    ROWS("empty", ',', "", ""),
    ROWS("only blank lines", ',', "\n\r\n\n", ""),
};

static void gives_the_same_rows_however_the_bytes_arrive(void **state) {
  (void)state;
  static const size_t pieces[] = {0, 1, 2, 7, 4096};
  plag_text text = {0};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    for (size_t k = 0; k < sizeof pieces / sizeof pieces[0]; k++) {
      const plag_test_chunks chunks = {
          .bytes = cases[i].bytes, .size = cases[i].size, .piece = pieces[k]};
      if (cases[i].size > 0 || k == 0)
        read_rows(chunks, cases[i].separator, true, &text);
      if (strcmp(text.bytes, cases[i].expected) != 0)
        fail_msg("%s, in pieces of %zu:\n%s\nexpected\n%s", cases[i].what, pieces[k], text.bytes,
                 cases[i].expected);
    }
  plag_text_clear(&text);
}

static void an_unbalanced_quote_does_not_eat_the_file(void **state) {
  (void)state;
  static const int bad_lines[] = {1, 2, 9};
  for (size_t k = 0; k < sizeof bad_lines / sizeof bad_lines[0]; k++) {
    plag_text file = {0}, text = {0}, expected = {0};
    for (int line = 1; line <= 700; line++) {
      const char *quote = line % 70 == 5 && line / 70 < bad_lines[k] ? "\"" : "";
      plag_text_add_format(&file, "%s%d.5;word\n", quote, line);
      plag_text_add_format(&expected, "%d:%s%d.5|word;", line, quote, line);
    }
    for (int i = 0; i < bad_lines[k] && i < 8; i++)
      plag_text_add_format(&expected, " note %d:1 x1", i * 70 + 5);
    read_rows((plag_test_chunks){.bytes = file.bytes, .size = file.length}, ';', true, &text);
    assert_string_equal(text.bytes, expected.bytes);
    plag_text_clear(&file);
    plag_text_clear(&text);
    plag_text_clear(&expected);
  }
}

/* Long rows, many rows: the window must move and grow in the middle of rows. */
static void rows_survive_the_window(void **state) {
  (void)state;
  plag_text file = {0};
  for (int line = 1; line <= 40; line++) {
    for (int column = 0; column < 1000; column++)
      plag_text_add_format(&file, "%s\"%d\n%0*d\"", column > 0 ? "," : "", line, line % 40, column);
    plag_text_add(&file, "\n");
  }
  const plag_test_chunks in_one = {.bytes = file.bytes, .size = file.length, .piece = 0};
  plag_test_chunks chunks = in_one;
  chunks.piece = 10007;
  platelag_error error = {0};
  const platelag_source source = plag_test_chunk_source(&chunks);
  plag_rows *rows = NULL;
  assert_int_equal(plag_rows_open(&source, "made.csv", &rows, &error), PLATELAG_OK);
  plag_rows_split(rows, ',', false);
  plag_row row;
  bool more = true;
  size_t count = 0, bytes = 0;
  while (plag_rows_next(rows, &row, &more, &error) == PLATELAG_OK && more) {
    count++;
    for (size_t i = 0; i < row.count; i++)
      bytes += row.cell[i].length;
    bytes += row.count; /* separators and the line end */
  }
  assert_int_equal(error.status, PLATELAG_OK);
  assert_int_equal(count, 40 * 1001);
  assert_int_equal(bytes, file.length);
  plag_rows_destroy(rows);
  plag_text_clear(&file);
}

/* Quotes are looked for through the whole window at once: what was found, or not, must not outlive
 * it, nor a row that was read again. */
static void quotes_are_found_wherever_they_stand(void **state) {
  (void)state;
  static const struct {
    int first, every, unbalanced; /* lines with quotes; the one with a single one */
  } files[] = {{30011, 9973, 0}, {7, 13, 0}, {1, 1, 0}, {211, 613, 20011}, {50021, 50021, 211}};
  static const size_t pieces[] = {0, 10007};
  plag_text file = {0}, text = {0}, expected = {0};
  for (size_t k = 0; k < sizeof files / sizeof files[0]; k++) {
    plag_text_reset(&file);
    plag_text_reset(&expected);
    for (int line = 1; line <= 60000; line++) {
      const bool quoted = line >= files[k].first && (line - files[k].first) % files[k].every == 0;
      const char *odd = line == files[k].unbalanced ? "\"" : "";
      plag_text_add_format(&file, quoted ? "%d.5;\"w;%s%d\"\n" : "%d.5;%sw%d\n", line, odd,
                           line % 7);
      plag_text_add_format(&expected, quoted ? "%d:%d.5|w;%s%d;" : "%d:%d.5|%sw%d;", line, line,
                           odd, line % 7);
    }
    if (files[k].unbalanced > 0)
      plag_text_add_format(&expected, " note %d:%d x1", files[k].unbalanced,
                           files[k].unbalanced > 9999 ? 9 : 7);
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
      read_rows((plag_test_chunks){.bytes = file.bytes, .size = file.length, .piece = pieces[i]},
                ';', true, &text);
      if (strcmp(text.bytes, expected.bytes) != 0)
        fail_msg("quotes from line %d on, in pieces of %zu", files[k].first, pieces[i]);
    }
  }
  plag_text_clear(&file);
  plag_text_clear(&text);
  plag_text_clear(&expected);
}

static void what_is_beyond_measure_is_refused(void **state) {
  (void)state;
  static const struct {
    const char *what;
    const char *pattern;
    uint64_t bytes;
    bool quoting;
    const char *expected;
  } table[] = {
      {"a line of 200 MB", "no separator here ", 200000000, true, " error 1:0"},
      {"a line of 200 MB in quotes", "\"x\"\"", 200000000, true, " error 1:0"},
      {"a million columns", "0,", 2000000, true, " error 1:0"},
      {"a cell of 100 kB", "abcdefghij", 100000, true, " error 1:1"},
      {"a quoted cell of 100 kB", "\"abcdefghi", 100000, true, " note 1:1 x1 error 1:1"},
  };
  plag_text text = {0};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    const plag_test_chunks chunks = {
        .bytes = table[i].pattern, .size = strlen(table[i].pattern), .repeat = table[i].bytes};
    read_rows(chunks, ',', table[i].quoting, &text);
    if (strcmp(text.bytes, table[i].expected) != 0)
      fail_msg("%s:\n%s\nexpected\n%s", table[i].what, text.bytes, table[i].expected);
  }
  plag_text_clear(&text);
  struct rusage usage;
  assert_int_equal(getrusage(RUSAGE_SELF, &usage), 0);
  assert_true(usage.ru_maxrss < 200 * 1024);
}

static void the_head_is_whole_lines(void **state) {
  (void)state;
  static const char line[] = "0.125;3.5;on\r\n";
  plag_test_chunks chunks = {.bytes = line, .size = sizeof line - 1, .repeat = 14 * 100000};
  platelag_error error = {0};
  const platelag_source source = plag_test_chunk_source(&chunks);
  plag_rows *rows = NULL;
  assert_int_equal(plag_rows_open(&source, "made.csv", &rows, &error), PLATELAG_OK);
  size_t length = 0;
  const char *head = plag_rows_head(rows, &length);
  assert_between((double)length, 200000, 262144);
  assert_int_equal(length % 13, 0);
  assert_memory_equal(head, "0.125;3.5;on\n0.125", 18);
  plag_rows_destroy(rows);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(gives_the_same_rows_however_the_bytes_arrive),
      cmocka_unit_test(an_unbalanced_quote_does_not_eat_the_file),
      cmocka_unit_test(rows_survive_the_window),
      cmocka_unit_test(quotes_are_found_wherever_they_stand),
      cmocka_unit_test(what_is_beyond_measure_is_refused),
      cmocka_unit_test(the_head_is_whole_lines),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
