/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Answers as people hand them in: whatever is odd in them is told to the instructor in the
 * submission that it belongs to, and nothing is lost. */
#include "support/check.h"
#include "support/made_class.h"

#include <math.h>
#include <string.h>

#include "mark/book.h"

static const double STEPS_PCT[] = {5, 95, 45, 95, 5, 60};
static const plag_test_drive DRIVE = {
    .minutes = 1, .row_s = 0.1, .step_s = 4, .t63_s = 0.2, .duty_pct = STEPS_PCT, .level_count = 6};

static const char KEY[] = "vehicle,finding,family\ncart 1,free,free\n\"cart, 2\",sticking,\n";

static void add_drive(plag_test_class *of, const char *name, unsigned noise) {
  plag_text csv = {0};
  plag_test_drive drive = DRIVE;
  drive.noise = noise;
  plag_test_drive_write(&drive, &csv);
  plag_test_class_record(of, name, csv.bytes);
  plag_text_clear(&csv);
}

static void build(plag_test_class *of, const char *answers) {
  platelag_error error = {0};
  if (plag_test_class_build(of, KEY, answers, NULL, &error) != PLATELAG_OK)
    fail_msg("line %lld: %s", (long long)error.line, error.message);
}

static const plag_entry *entry_of(const plag_test_class *of, const char *student) {
  return &of->marked->book->entry[plag_test_class_of(of, student) - of->marked->submission];
}

/* What is odd, a row a student: his row of the table, whether he is marked, and what is told. */
typedef struct odd_row {
  const char *student, *row;
  bool marked;
  const char *told; /* in a remark or the problem */
} odd_row;

static const odd_row ODD[] = {
    {"A", "A,cart 1,,,free,free,,,", false, "no recording was handed in"},
    {"B", "B,cart 9,a.csv,,free,,,,", false, "cart 9"},
    {"C", "C,,a.csv,,free,,,,", false, "no vehicle is named"},
    {"D", "D,cart 1,gone.csv,,free,,,,", false, "gone.csv: not read"},
    {"E", "E,cart 1,letter.csv,,free,,,,", false, "letter.csv: not read"},
    {"F", "F,cart 1,../r/a.csv,,free,,,,", false, "outside"},
    {"G", "G,cart 1,/etc/passwd,,free,,,,", false, "outside"},
    {"H", "H,cart 1,sub/../../a.csv,,free,,,,", false, "outside"},
    {"I", "I,cart 1,a.csv,sea,free,,,,", false, "the condition \"sea\""},
    {"J", "J,cart 1,.,,free,,,,", false, "not read"},
    {"K", "K,cart 1,b.csv,,quite free,,,,", true, "finding \"quite free\" is not understood"},
    {"L", "L,cart 1,b.csv,,free,nobody,,,", true, "family \"nobody\""},
    {"M", "M,cart 1,b.csv,,free,,replace it,,", true, "next_test \"replace it\""},
    {"N", "N,cart 1,b.csv,,free,,,140 %,", true, "probability \"140 %\""},
    {"O", "O,cart 1,b.csv,,free,,,,fast", true, "opening_t63_s \"fast\""},
    {"P \"the second\"", "\"P \"\"the second\"\"\",cart 1,b.csv,,free,,,,", true, ""},
    {"Q, R", "\"Q, R\",\"cart, 2\",b.csv,,sticking,,,,", true, ""},
    {"=1+1", "=1+1,cart 1,b.csv,,free,,,,", true, ""},
    {"S\xc3\xb8ren \xe6\x9d\x8e \xd8\xb9\xd9\x84\xd9\x8a",
     "S\xc3\xb8ren \xe6\x9d\x8e \xd8\xb9\xd9\x84\xd9\x8a,cart 1,b.csv,,free,,,,", true, ""},
    {"<b>T</b>", "<b>T</b>,cart 1,b.csv,,free,,,,", true, ""},
};

static void what_is_odd_is_told_and_nothing_is_lost(void **state) {
  (void)state;
  plag_test_class made = {0};
  plag_text answers = {0};
  add_drive(&made, "a.csv", 3);
  add_drive(&made, "b.csv", 5);
  plag_test_class_record(&made, "letter.csv", "This is a letter.\nIt has no figures.\n");
  plag_text_add(
      &answers,
      "student,vehicle,file,condition,finding,family,next_test,probability,opening_t63_s\n");
  for (size_t i = 0; i < sizeof ODD / sizeof *ODD; i++)
    plag_text_add_format(&answers, "%s\n", ODD[i].row);
  build(&made, answers.bytes);
  assert_int_equal(made.marked->submission_count, sizeof ODD / sizeof *ODD);
  assert_int_equal(made.marked->student_count, sizeof ODD / sizeof *ODD);
  for (size_t i = 0; i < sizeof ODD / sizeof *ODD; i++) {
    const platelag_submission *of = plag_test_class_of(&made, ODD[i].student);
    const bool told = ODD[i].told[0] == '\0' || strstr(of->problem, ODD[i].told) != NULL ||
                      plag_test_class_remarks(of, ODD[i].told);
    if (of->marked != ODD[i].marked || !told || of->line != (int64_t)i + 2)
      fail_msg("%s: marked %d, line %lld, %s; %s", ODD[i].student, of->marked, (long long)of->line,
               of->problem, of->remark_count > 0 ? of->remark[0] : "nothing told");
    assert_true(of->marked == (of->problem[0] == '\0'));
    assert_true(of->marked == !isnan(of->percent));
  }
  plag_text_clear(&answers);
  plag_test_class_clear(&made);
}

/* Each pair is told. */
static void a_file_that_two_hand_in_is_a_likeness(void **state) {
  (void)state;
  plag_test_class made = {0};
  add_drive(&made, "a.csv", 3);
  add_drive(&made, "b.csv", 5);
  build(&made, "student,vehicle,file\nA,cart 1,a.csv\nB,cart 1,b.csv\nC,cart 1,a.csv\n"
               "D,cart 9,a.csv\n");
  assert_int_equal(made.marked->likeness_count, 3); /* A C, A D, C D; also for an unknown cart */
  for (size_t i = 0; i < 3; i++) {
    const platelag_likeness *of = &made.marked->likeness[i];
    assert_string_equal(of->what, "the same readings");
    assert_close(of->correlation, 1, 0, 1e-12);
    assert_string_equal(of->file_one, "a.csv");
    assert_string_equal(of->file_other, "a.csv");
  }
  plag_test_class_clear(&made);
}

static void an_answer_counts_from_the_first_row_that_gives_it(void **state) {
  (void)state;
  plag_test_class made = {0};
  add_drive(&made, "a.csv", 3);
  add_drive(&made, "b.csv", 5);
  build(&made, "student;vehicle;file;condition;finding;family;probability;opening_t63_s\n"
               "A;cart 1;a.csv;;;;0,8;\n"
               "A;cart 1;b.csv;after;free;;80 %;\n"
               "A;cart 1;;;slow;drive;;0,21 s\n"
               "B;cart 1;b.csv;;\"cannot tell\";;62,5 %;\n");
  const plag_entry *of = entry_of(&made, "A");
  assert_int_equal(of->answer.finding, PLATELAG_FINDING_FREE);
  assert_int_equal(of->answer.family, PLATELAG_FAMILY_DRIVE);
  assert_close(of->answer.probability, 0.8, 1e-15, 0);
  assert_close(of->answer.figure[1], 0.21, 1e-15, 0);
  assert_int_equal(of->submission.remark_count, 2);
  assert_true(plag_test_class_remarks(&of->submission, "\"free\" and \"slow\" were both given"));
  assert_true(plag_test_class_remarks(&of->submission, "\"0,8\" and \"80 %\" were both given"));
  assert_string_equal(plag_test_class_of(&made, "A")->files, "a.csv, b.csv");
  assert_close(entry_of(&made, "B")->answer.probability, 0.625, 1e-15, 0);
  plag_test_class_clear(&made);
}

/* The end of one name is another's: each file is its own all the same. */
static void files_with_like_names_are_told_apart(void **state) {
  (void)state;
  plag_test_class made = {0};
  add_drive(&made, "1.csv", 3);
  add_drive(&made, "sub/11.csv", 5);
  plag_test_class_record(&made, "11.csv", "no table\n");
  build(&made, "student,vehicle,file,condition\nA,cart 1,1.csv,\nA,cart 1,11.csv,after\n"
               "A,cart 1,1.csv,\nA,cart 1,sub/11.csv,\nB,cart 1,sub/11.csv,\n");
  const platelag_submission *of = plag_test_class_of(&made, "A");
  assert_true(plag_test_class_remarks(of, "11.csv: not read"));
  assert_true(plag_test_class_remarks(of, "1.csv: handed in twice"));
  assert_true(plag_test_class_remarks(of, "sub/11.csv: a second recording (road)"));
  assert_int_equal(made.marked->likeness_count, 1);
  assert_string_equal(made.marked->likeness[0].file_one, "sub/11.csv");
  assert_string_equal(made.marked->likeness[0].file_other, "sub/11.csv");
  plag_test_class_clear(&made);
}

static void names_that_differ_little_are_told(void **state) {
  (void)state;
  plag_test_class made = {0};
  add_drive(&made, "a.csv", 3);
  build(&made, "student,vehicle,file\nAda Holm,cart 1,a.csv\nada  holm,cart 1,\nAda Elm,cart 1,\n"
               "Ada Holm,cart 1,\n");
  assert_int_equal(made.marked->submission_count, 3);
  assert_true(plag_test_class_remarks(plag_test_class_of(&made, "ada  holm"),
                                      "the same person as \"Ada Holm\"?"));
  assert_int_equal(plag_test_class_of(&made, "Ada Elm")->remark_count, 0);
  plag_test_class_clear(&made);
}

static void tables_that_cannot_be_read_are_refused(void **state) {
  (void)state;
  static const struct {
    const char *text;
    int64_t line;
    const char *words;
  } ROWS[] = {{"", 0, "empty"},
              {"student,file\nA,a.csv\n", 1, "vehicle"},
              {"vehicle,file\ncart 1,a.csv\n", 1, "student"},
              {"student,vehicle\nA,cart 1\n\n,cart 1\n", 4, "no student"},
              {"student,vehicle\nA,cart 1,a.csv\n", 2, "3 cells"},
              {"student,vehicle\n\"A,cart 1\n", 2, "quote"},
              {"\xff\xfes", 1, "UTF-8"},
              {"student,vehicle\nM\xfcller,cart 1\n", 2, "UTF-8"}};
  plag_test_class made = {0};
  add_drive(&made, "a.csv", 3);
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
    platelag_error error = {0};
    const platelag_status status = plag_test_class_build(&made, KEY, ROWS[i].text, NULL, &error);
    if (status != PLATELAG_ERROR_INPUT || error.line != ROWS[i].line ||
        strstr(error.message, ROWS[i].words) == NULL)
      fail_msg("row %zu: %d, line %lld, %s", i, (int)status, (long long)error.line, error.message);
  }
  build(&made, "student,vehicle\n");
  assert_int_equal(made.marked->submission_count, 0);
  assert_int_equal(made.marked->student_count, 0);
  plag_test_class_clear(&made);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_odd_is_told_and_nothing_is_lost),
      cmocka_unit_test(a_file_that_two_hand_in_is_a_likeness),
      cmocka_unit_test(an_answer_counts_from_the_first_row_that_gives_it),
      cmocka_unit_test(files_with_like_names_are_told_apart),
      cmocka_unit_test(names_that_differ_little_are_told),
      cmocka_unit_test(tables_that_cannot_be_read_are_refused)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
