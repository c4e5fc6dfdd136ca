/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an instructor keeps: a rubric, a key and answers, parted by the record separator, marked and
 * written. A rubric that was read is written and read again as the same. */
#include "fuzz.h"

#include <stdio.h>
#include <string.h>

#include "mark/words_of.h"

static platelag_rubric *read_rubric(const fuzz_bytes *ini) {
  platelag_rubric *rubric = NULL;
  platelag_error error = {0};
  fuzz_file file = fuzz_file_open(ini);
  const platelag_status status = platelag_rubric_read(file.path, &rubric, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((rubric != NULL) == (status == PLATELAG_OK));
  fuzz_file_close(&file);
  return rubric;
}

static void write_rubric(const platelag_rubric *rubric, plag_text *text) {
  platelag_error error = {0};
  const platelag_sink sink = fuzz_sink(text);
  FUZZ_CHECK(platelag_rubric_write(rubric, &sink, &error) == PLATELAG_OK);
}

static void check_rubric(const platelag_rubric *rubric) {
  plag_text once = {0};
  plag_text twice = {0};
  write_rubric(rubric, &once);
  const fuzz_bytes bytes = {(const uint8_t *)once.bytes, once.length, 0};
  platelag_rubric *again = read_rubric(&bytes);
  FUZZ_CHECK(again != NULL);
  write_rubric(again, &twice);
  FUZZ_CHECK(strcmp(once.bytes, twice.bytes) == 0);
  platelag_rubric_destroy(again);
  plag_text_clear(&once);
  plag_text_clear(&twice);
}

static void check_submission(const platelag_submission *of) {
  FUZZ_CHECK(of->student[0] != '\0' && of->files != NULL);
  FUZZ_CHECK(of->marked == (of->problem[0] == '\0'));
  for (size_t i = 0; i < platelag_criterion_count(); i++)
    FUZZ_CHECK(of->mark[i].points >= 0 && of->mark[i].points <= of->mark[i].of);
}

static void write_class(const platelag_class *marked) {
  plag_text text = {0};
  platelag_error error = {0};
  const platelag_sink sink = fuzz_sink(&text);
  FUZZ_CHECK(platelag_class_write_text(marked, NULL, &sink, &error) == PLATELAG_OK);
  fuzz_check_output(&text);
  plag_text_reset(&text);
  FUZZ_CHECK(platelag_class_write_csv(marked, &sink, &error) == PLATELAG_OK);
  FUZZ_CHECK(platelag_class_write_html(marked, &sink, &error) == PLATELAG_OK);
  if (marked->submission_count > 0)
    FUZZ_CHECK(platelag_class_write_student(marked, 0, &sink, &error) == PLATELAG_OK);
  plag_text_clear(&text);
}

/* The recordings that answers name lie in a folder that is not there: marks of tables alone. */
static void mark(const platelag_rubric *rubric, const fuzz_bytes *key, const fuzz_bytes *answers) {
  fuzz_file key_file = fuzz_file_open(key);
  fuzz_file answers_file = fuzz_file_open(answers);
  const platelag_mark_work work = {.key = key_file.path,
                                   .answers = answers_file.path,
                                   .rubric = rubric,
                                   .folder = "/proc/self/fdinfo/none"};
  platelag_class *marked = NULL;
  platelag_error error = {0};
  const platelag_status status = platelag_class_build(&work, &marked, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((marked != NULL) == (status == PLATELAG_OK));
  for (size_t i = 0; marked != NULL && i < marked->submission_count; i++)
    check_submission(&marked->submission[i]);
  if (marked != NULL)
    write_class(marked);
  platelag_class_destroy(marked);
  fuzz_file_close(&key_file);
  fuzz_file_close(&answers_file);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  fuzz_bytes rest = {data, size, 0};
  platelag_library_start();
  const fuzz_bytes ini = fuzz_next_part(&rest);
  const fuzz_bytes key = fuzz_next_part(&rest);
  const fuzz_bytes answers = fuzz_next_part(&rest);
  platelag_rubric *rubric = read_rubric(&ini);
  if (rubric != NULL)
    check_rubric(rubric);
  mark(rubric, &key, &answers);
  platelag_rubric_destroy(rubric);
  return 0;
}
