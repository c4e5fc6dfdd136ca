/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The judgement on practice captures: how often it is right, how often it answers, how far its
 * probabilities can be believed. The second setting tests; the first is what densities and
 * temperatures were fitted on. What is right, decidable and hidden is told in
 * tests/support/practice_truth.c.
 *
 *   bench_findings [--first | --lesson] [--count N] [--from NUMBER] [--list] [--keep FILE] [--again
 * FILE]
 *                  [--explain NUMBER] [--learn WHAT]
 *
 * --list      also lists each capture that went wrong or was not answered though it could be
 * --explain   tells the facts of one capture and what the likeliest hypotheses make of them
 * --learn     prints in place of the figures how facts are spread under each hypothesis (facts), or
 *             the tables of src/judge (densities, weights): scripts/learn
 * --keep      writes the facts of the captures to FILE; --again judges them anew, which takes no
 *             time, with the same build of the facts */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "platelag/platelag.h"
#include "support/practice_learn.h"
#include "support/practice_scores.h"

typedef struct arguments {
  practice_set set;
  size_t count;
  uint64_t from;
  size_t workers;
  bool list;
  const char *keep, *again, *explain, *learn;
} arguments;

/* Captures `first`, `first + step`, ... of `count`, written to `file`. */
static void work(const arguments *given, practice_set set, size_t count, size_t first, FILE *file) {
  platelag_workspace *workspace = NULL;
  assert_int_equal(platelag_workspace_create(&workspace, NULL), PLATELAG_OK);
  static practice_case one;
  for (size_t i = first; i < count; i += given->workers) {
    practice_case_make(set, given->from + i, workspace, &one);
    if (fwrite(&one, sizeof one, 1, file) != 1)
      fail_msg("cannot write what was found");
  }
  platelag_workspace_destroy(workspace);
}

static int by_number(const void *a, const void *b) {
  const uint64_t x = ((const practice_case *)a)->number;
  const uint64_t y = ((const practice_case *)b)->number;
  return (x > y) - (x < y);
}

/* One process a worker: fits keep no state, and two cores are twice as fast. */
static practice_case *make_all(const arguments *given, practice_set set, size_t count) {
  practice_case *all = calloc(count + 1, sizeof *all);
  FILE *file[16];
  pid_t child[16];
  assert_non_null(all);
  assert_true(given->workers >= 1 && given->workers <= 16);
  for (size_t w = 0; w < given->workers; w++) {
    file[w] = tmpfile();
    assert_non_null(file[w]);
    child[w] = fork();
    assert_true(child[w] >= 0);
    if (child[w] == 0) {
      work(given, set, count, w, file[w]);
      _exit(fflush(file[w]) == 0 ? 0 : 1);
    }
  }
  size_t found = 0;
  for (size_t w = 0; w < given->workers; w++) {
    int status = 0;
    assert_int_equal(waitpid(child[w], &status, 0), child[w]);
    assert_int_equal(status, 0);
    rewind(file[w]);
    found += fread(all + found, sizeof *all, count - found, file[w]);
    fclose(file[w]);
  }
  assert_int_equal(found, count);
  qsort(all, count, sizeof *all, by_number);
  return all;
}

static void list_doubtful(const practice_case *of, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const bool answered = of[i].kind != PLATELAG_FINDING_UNDECIDED;
    if (answered ? !practice_case_is_right(&of[i]) : of[i].truth.decidable)
      practice_case_tell(&of[i]);
  }
}

static practice_case *read_kept(const char *path, size_t *count) {
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    fail_msg("cannot open %s", path);
  fseek(file, 0, SEEK_END);
  *count = (size_t)ftell(file) / sizeof(practice_case);
  rewind(file);
  practice_case *all = calloc(*count + 1, sizeof *all);
  assert_non_null(all);
  assert_int_equal(fread(all, sizeof *all, *count, file), *count);
  fclose(file);
  for (size_t i = 0; i < *count; i++)
    practice_case_judge(&all[i]);
  return all;
}

static void keep(const char *path, const practice_case *of, size_t count) {
  FILE *file = fopen(path, "wb");
  if (file == NULL || fwrite(of, sizeof *of, count, file) != count || fclose(file) != 0)
    fail_msg("cannot write %s", path);
}

static void print_undecidable(const arguments *given) {
  const size_t count = given->count / 5 + 1;
  practice_case *all = make_all(given, PRACTICE_SET_UNDECIDABLE, count);
  size_t undecided = 0;
  size_t telling = 0;
  practice_scores_undecided(all, count, &undecided, &telling);
  print_message("undecidable ones           %.1f %% undecided (%zu of %zu), %zu tell what is "
                "lacking\n",
                100.0 * (double)undecided / (double)count, undecided, count, telling);
  for (size_t i = 0; given->list && i < count; i++)
    if (all[i].kind != PLATELAG_FINDING_UNDECIDED &&
        !(all[i].kind == PLATELAG_FINDING_STILL && all[i].family == PLATELAG_FAMILY_UNDECIDED))
      practice_case_tell(&all[i]);
  free(all);
}

static void run(const arguments *given) {
  size_t count = given->count;
  practice_case *all =
      given->again != NULL ? read_kept(given->again, &count) : make_all(given, given->set, count);
  if (given->explain != NULL) {
    for (size_t i = 0; i < count; i++)
      if (all[i].number == strtoull(given->explain, NULL, 10))
        practice_case_explain(&all[i]);
    free(all);
    return;
  }
  if (given->learn != NULL) {
    if (strcmp(given->learn, "facts") == 0)
      practice_learn_print_facts(all, count);
    else if (strcmp(given->learn, "densities") == 0)
      practice_learn_print_densities(all, count);
    else
      practice_learn_print_weights(all, count);
    free(all);
    return;
  }
  if (given->list)
    list_doubtful(all, count);
  const practice_scores scores = practice_scores_sum(all, count);
  practice_scores_print_confusion(all, count);
  practice_scores_print_coverage(all, count);
  practice_scores_print_reliability(all, count);
  practice_scores_print(&scores);
  if (given->keep != NULL)
    keep(given->keep, all, count);
  free(all);
  if (given->again == NULL && given->set == PRACTICE_SET_SECOND)
    print_undecidable(given);
}

int main(int count, char **argument) {
  arguments given = {.set = PRACTICE_SET_SECOND, .count = 2000, .workers = 2};
  for (int i = 1; i < count; i++) {
    const char *value = i + 1 < count ? argument[i + 1] : "";
    if (strcmp(argument[i], "--first") == 0)
      given.set = PRACTICE_SET_FIRST;
    else if (strcmp(argument[i], "--lesson") == 0)
      given.set = PRACTICE_SET_LESSON;
    else if (strcmp(argument[i], "--list") == 0)
      given.list = true;
    else if (strcmp(argument[i], "--learn") == 0)
      given.learn = value, i++;
    else if (strcmp(argument[i], "--count") == 0)
      given.count = (size_t)strtoull(value, NULL, 10), i++;
    else if (strcmp(argument[i], "--from") == 0)
      given.from = strtoull(value, NULL, 10), i++;
    else if (strcmp(argument[i], "--workers") == 0)
      given.workers = (size_t)strtoull(value, NULL, 10), i++;
    else if (strcmp(argument[i], "--keep") == 0)
      given.keep = value, i++;
    else if (strcmp(argument[i], "--again") == 0)
      given.again = value, i++;
    else if (strcmp(argument[i], "--explain") == 0)
      given.explain = value, i++;
    else
      return 64;
  }
  platelag_library_start();
  run(&given);
  return 0;
}
