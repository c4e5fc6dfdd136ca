/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The layout of a file is found from its first rows: separator, decimal mark, preamble, header
 * rows, names and units; what would be read wrong is refused. The cases follow what users of CSV
 * tools report as broken imports. */
#include "support/check.h"

#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "read/layout.h"

/* Writes a layout as text: separator, decimal, header line and rows, data line, preamble lines,
 * then "name[unit]" a column; "T" for a trailing separator. */
static void describe(const plag_layout *layout, plag_text *text) {
  plag_text_add_format(
      text, "%c%c h%lld+%d d%lld p%lld%s:", layout->separator == '\t' ? 'T' : layout->separator,
      layout->decimal, (long long)layout->header_line, layout->header_rows,
      (long long)layout->data_line, (long long)layout->preamble_lines,
      layout->trailing_separator ? " t" : "");
  for (size_t i = 0; i < layout->column_count; i++)
    plag_text_add_format(text, " %s[%s]", layout->column[i].name, layout->column[i].unit);
}

typedef struct layout_case {
  const char *what;
  const char *text;
  const char *expected; /* or the words of the refusal behind "!" */
} layout_case;

static const layout_case cases[] = {
    {"plain", "Time (s),Duty (%),Position (V)\n0.0,12.5,1.21\n0.1,12.5,1.22\n",
     ",. h1+1 d2 p0: Time[s] Duty[%] Position[V]"},
    {"1 decimal comma more regular than the semicolon",
     "Zeit;Bank;Stellung\n08/01/2016;A;-21.419,06\n08/01/2016;A;-21.420,11\n09/01/2016;B;3,07\n",
     ";, h1+1 d2 p0: Zeit[] Bank[] Stellung[]"},
    {"2 tab, a comma in every value", "Zeit\tDuty\tStellung\n0,1\t120,5\t50,3\n0,2\t121,5\t50,4\n",
     "T, h1+1 d2 p0: Zeit[] Duty[] Stellung[]"},
    {"2 semicolon, a comma in every value", "Zeit;Stellung\n0,1;50,3\n0,2;50,4\n0,3;50,5\n",
     ";, h1+1 d2 p0: Zeit[] Stellung[]"},
    {"3 text cells with commas and brackets",
     "Time,Note,Position\n0.1,\"warm, idle [a]\",1.25\n0.2,\"warm, idle (b)\",1.26\n",
     ",. h1+1 d2 p0: Time[] Note[] Position[]"},
    {"4 sep=;", "sep=;\nTime;Pos\n0.1;1.25\n0.2;1.26\n", ";. h2+1 d3 p1: Time[] Pos[]"},
    {"4 sep quoted", "\"sep=;\"\nTime;Pos\n0.1;1.25\n0.2;1.26\n", ";. h2+1 d3 p1: Time[] Pos[]"},
    {"4 sep tab", "sep=\t\nTime\tPos\n0.1\t1.25\n0.2\t1.26\n", "T. h2+1 d3 p1: Time[] Pos[]"},
    {"4 only an encoding", "UTF-8\nTime;Pos\n0.1;1.25\n0.2;1.26\n", ";. h2+1 d3 p1: Time[] Pos[]"},
    {"8 a preamble with a pair a line, then a blank line",
     "Vehicle,Shuttle 7\nTaken: "
     "2021-03-04\nOdometer,48213\n\nTime,Duty,Pos\n0.1,12,1.25\n0.2,12,1.3\n",
     ",. h5+1 d6 p4: Time[] Duty[] Pos[]"},
    {"8 a preamble as wide as a table of two",
     "Vehicle,Shuttle 7\nOdometer,48213\nTime,Pos\n0.1,1.25\n0.2,1.3\n0.3,1.3\n",
     ",. h3+1 d4 p2: Time[] Pos[]"},
    {"9 names and units", "Time,Duty,Pos\ns,%,V\n0.1,12,1.25\n0.2,12,1.3\n",
     ",. h1+2 d3 p0: Time[s] Duty[%] Pos[V]"},
    {"9 names, units, kind",
     "Time,Duty,Pos\n[s],[%],[V]\nfloat,float,float\n0.1,12,1.25\n0.2,12,1.3\n",
     ",. h1+3 d4 p0: Time[s] Duty[%] Pos[V]"},
    {"9 kind, names, units", "in,in,in\nTime,Duty,Pos\ns,%,V\n0.1,12,1.25\n0.2,12,1.3\n",
     ",. h1+3 d4 p0: Time[s] Duty[%] Pos[V]"},
    {"10 units in many styles",
     "t [ms];Duty_pct;Pos, V;Speed/rpm;Coolant (\xC2\xB0"
     "C)\n10;12;1.25;800;88\n20;12;1.3;810;88\n",
     ";. h1+1 d2 p0: t[ms] Duty[pct] Pos[V] Speed[rpm] Coolant[\xC2\xB0"
     "C]"},
    {"10 units in the cells", "Time,Duty,Pos\n0.1 s,12.5 %,1.25 V\n0.2 s,12.5 %,1.3 V\n",
     ",. h1+1 d2 p0: Time[] Duty[] Pos[]"},
    {"11 duplicate names", "Time,Position,Position,Position.1\n0.1,1,2,3\n0.2,1,2,3\n",
     ",. h1+1 d2 p0: Time[] Position[] Position[] Position.1[]"},
    {"12 trailing separator in the data", "Time,Duty,Pos\n0.1,12,1.25,\n0.2,12,1.3,\n",
     ",. h1+1 d2 p0 t: Time[] Duty[] Pos[]"},
    {"12 trailing separator in the header", "Time,Duty,Pos,\n0.1,12,1.25\n0.2,12,1.3\n",
     ",. h1+1 d2 p0 t: Time[] Duty[] Pos[]"},
    {"12 trailing separator everywhere", "Time,Duty,Pos,\n0.1,12,1.25,\n0.2,12,1.3,\n",
     ",. h1+1 d2 p0 t: Time[] Duty[] Pos[]"},
    {"12 narrower than the header", "Time,Duty,Pos,Speed\n0.1,12,1.25\n0.2,12,1.3\n",
     "!rows of 3 cells under a header of 4 columns"},
    {"12 wider than the header", "Time,Duty\n0.1,12,1.25\n0.2,12,1.3\n",
     "!rows of 3 cells under a header of 2 columns"},
    {"13 ragged", "Time,Duty,Pos\n0.1,12,1.25\n0.2,12\n0.3,12,1.3\n0.4,12,1.3,7,8\n0.5,12,1.3\n",
     ",. h1+1 d2 p0: Time[] Duty[] Pos[]"},
    {"14 a line end inside a quoted header", "Time,\"Pos\n(V)\",Duty\n0.1,1.25,12\n0.2,1.3,12\n",
     ",. h1+1 d3 p0: Time[] Pos[V] Duty[]"},
    {"16 grouped thousands", "Time;Speed;Pos\n0,1;1.234,5;1,25\n0,2;1.235,5;1,3\n",
     ";, h1+1 d2 p0: Time[] Speed[] Pos[]"},
    {"17 missing marks", "Time,Duty,Pos\n0.1,--,N/A\n0.2,12,1.3\n0.3,,1.3\n0.4,12,NaN\n",
     ",. h1+1 d2 p0: Time[] Duty[] Pos[]"},
    {"20 clock times", "Clock;Duty;Pos\n23:59:59,900;12;1,25\n00:00:00,000;12;1,3\n",
     ";, h1+1 d2 p0: Clock[] Duty[] Pos[]"},
    {"29 sparse", "Time,Duty,Pos,Speed\n0.1,12,,\n0.2,,1.25,\n0.3,,,812\n0.4,12,,\n",
     ",. h1+1 d2 p0: Time[] Duty[] Pos[] Speed[]"},
    {"32 long form",
     "Time,Channel,Value,Unit\n0.1,Runner duty,12,%\n0.1,Runner position,1.25,V\n"
     "0.2,Runner duty,12,%\n0.2,Runner position,1.25,V\n",
     ",. h1+1 d2 p0: Time[] Channel[] Value[] Unit[]"},
    {"36 empty brackets, blanks, a sign encoded twice",
     "TIME (), POS (V), TEMP (\xC3\x82\xC2\xB0"
     "C)\n0.1, 1.25, 88\n0.2, 1.3, 88\n",
     ",. h1+1 d2 p0: TIME[] POS[V] TEMP[\xC2\xB0"
     "C]"},
    {"states", "Time;Valve;Pos\n0,1;on;1,25\n0,2;off;1,3\n0,3;off;1,3\n",
     ";, h1+1 d2 p0: Time[] Valve[] Pos[]"},
    {"no header", "0.1;12;1.25\n0.2;12;1.3\n", ";. h0+0 d1 p0: [] [] []"},
    {"pipe", "Time|Duty|Pos\n0.1|12|1.25\n0.2|12|1.3\n", "|. h1+1 d2 p0: Time[] Duty[] Pos[]"},
    {"header only", "Time,Duty,Pos\n", ",. h1+1 d0 p0: Time[] Duty[] Pos[]"},
    {"header and units only", "Time,Duty,Pos\ns,%,V\n", ",. h1+2 d0 p0: Time[s] Duty[%] Pos[V]"},
    {"one row", "Time,Duty,Pos\n0.1,12,1.25\n", ",. h1+1 d2 p0: Time[] Duty[] Pos[]"},
    {"empty", "", "!empty"},
    {"blank lines", "\n\n \n", "!empty"},
    {"prose", "This is a letter, not a table.\nIt has lines,\nand no figures at all.\n",
     "!no table found, the file begins \"This is a letter, not a table.\""},
    {"one column", "Position\n1.25\n1.26\n1.27\n", "!no table found"},
};

static void finds_how_a_file_is_laid_out(void **state) {
  (void)state;
  plag_text text = {0};
  size_t failed = 0;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    plag_arena arena = {0};
    plag_layout layout;
    platelag_error error = {0};
    plag_text_reset(&text);
    const platelag_status status =
        plag_layout_find(cases[i].text, strlen(cases[i].text), "made.csv", &arena, &layout, &error);
    if (status == PLATELAG_OK)
      describe(&layout, &text);
    else
      plag_text_add_format(&text, "!%s", error.message);
    const bool same = cases[i].expected[0] == '!'
                          ? strstr(text.bytes, cases[i].expected + 1) != NULL
                          : strcmp(text.bytes, cases[i].expected) == 0;
    if (!same) {
      failed++;
      print_error("%s:\n  %s\n  expected\n  %s\n", cases[i].what, text.bytes, cases[i].expected);
    }
    plag_arena_clear(&arena);
  }
  plag_text_clear(&text);
  assert_int_equal(failed, 0);
}

/* A preamble of 34 lines was seen; each is kept. */
static void keeps_a_long_preamble(void **state) {
  (void)state;
  plag_text text = {0};
  for (int i = 1; i <= 34; i++)
    plag_text_add_format(&text, "Setting %d: value %d\n", i, i * 7);
  plag_text_add(&text, "Time,Duty,Pos\n");
  for (int i = 0; i < 30; i++)
    plag_text_add_format(&text, "0.%02d,12,1.%03d\n", i, i);
  plag_arena arena = {0};
  plag_layout layout;
  platelag_error error = {0};
  assert_int_equal(plag_layout_find(text.bytes, text.length, "made.csv", &arena, &layout, &error),
                   PLATELAG_OK);
  assert_int_equal(layout.header_line, 35);
  assert_int_equal(layout.preamble_lines, 34);
  assert_int_equal(layout.preamble_count, 34);
  assert_string_equal(layout.preamble[16].key, "Setting 17");
  assert_string_equal(layout.preamble[16].value, "value 119");
  assert_int_equal(layout.preamble[16].line, 17);
  plag_arena_clear(&arena);
  plag_text_clear(&text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(finds_how_a_file_is_laid_out),
      cmocka_unit_test(keeps_a_long_preamble),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
