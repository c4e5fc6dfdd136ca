/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A search finds every capture once: in deep trees and long lists, without following links in
 * circles, and tells what it could not look into. */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/scratch.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/text.h"
#include "fleet/search.h"

typedef struct found {
  const char *folder; /* taken off the front of what is told */
  char *path[512];
  size_t count, left_out;
  size_t most; /* ends the walk; 0: never */
  bool no_memory;
} found;

static void keep(found *f, const char *front, const char *path, const char *why) {
  plag_text text = {0};
  const size_t length = strlen(f->folder);
  const bool below = strncmp(path, f->folder, length) == 0 && path[length] == '/';
  plag_text_add_format(&text, "%s%s%s", front, below ? path + length + 1 : path, why);
  assert_true(f->count < sizeof f->path / sizeof *f->path);
  f->path[f->count++] = text.bytes;
}

static bool take_file(void *context, const char *path) {
  found *f = context;
  keep(f, "", path, "");
  return f->count != f->most;
}

static bool take_trouble(void *context, const char *path, const char *why) {
  plag_text tail = {0};
  plag_text_add_format(&tail, ": %s", why);
  keep(context, "!", path, tail.bytes);
  plag_text_clear(&tail);
  return true;
}

static void take_left_out(void *context) {
  ((found *)context)->left_out++;
}

static void take_no_memory(void *context) {
  ((found *)context)->no_memory = true;
}

static plag_search_visitor visitor_of(found *f) {
  return (plag_search_visitor){take_file, take_trouble, take_left_out, take_no_memory, f};
}

static int by_name(const void *one, const void *other) {
  return strcmp(*(char *const *)one, *(char *const *)other);
}

/* What was found, in order, a blank between. */
static void tell(found *f, plag_text *out) {
  qsort((void *)f->path, f->count, sizeof f->path[0], by_name);
  plag_text_reset(out);
  plag_text_add(out, "");
  for (size_t i = 0; i < f->count; i++) {
    plag_text_add_format(out, "%s ", f->path[i]);
    free(f->path[i]);
  }
  f->count = 0;
}

static void make_tree(plag_test_scratch *scratch) {
  static const char *const files[] = {
      "a.csv", "b.CSV",      "c.tsv",         "d.txt",      "e.csv.gz",       "f.txt.zst",
      "g.pdf", "h.csv.bz2",  "csv",           ".csv",       ".hidden.csv",    "sub/i.csv",
      "sub/j", ".git/k.csv", "sub/sub/l.csv", "name.csv/m", "name.csv/n.csv", "gz/.csv.gz"};
  for (size_t i = 0; i < sizeof files / sizeof *files; i++)
    plag_test_scratch_write(scratch, files[i], "x", 0);
}

static void link_to(plag_test_scratch *scratch, const char *target, const char *name) {
  char path[PLAG_TEST_PATH_BYTES];
  assert_int_equal(symlink(target, plag_test_scratch_path(scratch, name, path)), 0);
}

static void captures_are_found_by_their_names(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  plag_text told = {0};
  char path[PLAG_TEST_PATH_BYTES];
  make_tree(&scratch);
  link_to(&scratch, "a.csv", "link.csv");
  link_to(&scratch, "nowhere.csv", "dangling.csv");
  link_to(&scratch, ".", "sub/circle");
  link_to(&scratch, "../sub", "sub/again");
  assert_int_equal(mkfifo(plag_test_scratch_path(&scratch, "pipe.csv", path), 0600), 0);
  found f = {.folder = scratch.folder};
  const plag_search_visitor visitor = visitor_of(&f);
  assert_true(plag_search(scratch.folder, &visitor));
  tell(&f, &told);
  assert_string_equal(told.bytes, "a.csv b.CSV c.tsv d.txt e.csv.gz f.txt.zst link.csv "
                                  "name.csv/n.csv sub/i.csv sub/sub/l.csv ");
  assert_int_equal(f.left_out, 6); /* g.pdf h.csv.bz2 csv sub/j name.csv/m pipe.csv */
  /* a slash behind the folder changes nothing in the paths */
  (void)plag_test_scratch_path(&scratch, "sub/", path);
  assert_true(plag_search(path, &visitor));
  tell(&f, &told);
  assert_string_equal(told.bytes, "sub/i.csv sub/sub/l.csv ");
  /* what is named by itself is taken as it is, whatever its name */
  assert_true(plag_search(plag_test_scratch_path(&scratch, "g.pdf", path), &visitor));
  assert_true(plag_search(plag_test_scratch_path(&scratch, ".hidden.csv", path), &visitor));
  assert_true(plag_search(plag_test_scratch_path(&scratch, "gone.csv", path), &visitor));
  tell(&f, &told);
  assert_string_equal(told.bytes, "!gone.csv: No such file or directory .hidden.csv g.pdf ");
  plag_text_clear(&told);
  plag_test_scratch_clear(&scratch);
}

/* Hundreds of folders inside each other, with few file handles. */
static void deep_trees_are_walked_to_their_ends(void **state) {
  (void)state;
  enum { DEEP = 400 };
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  const int here = open(".", O_RDONLY | O_DIRECTORY);
  (void)plag_test_scratch_path(&scratch, "", path);
  assert_int_equal(chdir(path), 0);
  for (int i = 0; i < DEEP; i++)
    assert_true(mkdir("nine.deep", 0777) == 0 && chdir("nine.deep") == 0);
  const int handle = open("last.csv", O_WRONLY | O_CREAT, 0666);
  assert_true(handle >= 0 && close(handle) == 0);
  assert_true(fchdir(here) == 0 && close(here) == 0);
  found f = {.folder = scratch.folder};
  const plag_search_visitor visitor = visitor_of(&f);
  assert_true(plag_search(scratch.folder, &visitor));
  assert_int_equal(f.count, 1);
  if (f.path[0][0] != '!') /* 4000 bytes: the system may bound paths before */
    assert_int_equal(strlen(f.path[0]), DEEP * strlen("nine.deep/") + strlen("last.csv"));
  free(f.path[0]);
  plag_test_scratch_clear(&scratch);
}

static void the_visitor_ends_the_walk(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  plag_text told = {0};
  make_tree(&scratch);
  found f = {.folder = scratch.folder, .most = 3};
  const plag_search_visitor visitor = visitor_of(&f);
  assert_false(plag_search(scratch.folder, &visitor));
  assert_int_equal(f.count, 3);
  tell(&f, &told);
  plag_text_clear(&told);
  plag_test_scratch_clear(&scratch);
}

static const struct list {
  const char *bytes;
  size_t size;
  const char *paths;
} LISTS[] = {
    {"", 0, ""},
    {"/x/a.csv\n/x/b c.csv\n", 0, "/x/a.csv|/x/b c.csv|"},
    {"/x/a.csv\r\n\r\n\n/x/b.csv", 0, "/x/a.csv|/x/b.csv|"},
    {"/x/a\nb.csv\0/x/c.csv\r\0", 21, "/x/a\nb.csv|/x/c.csv\r|"},
    {"/x/a.csv\0\0/x/b.csv", 18, "/x/a.csv|/x/b.csv|"},
};

static void lists_are_read_by_lines_or_by_nul(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof LISTS / sizeof *LISTS; i++) {
    int ends[2];
    plag_path_list list;
    plag_text told = {0};
    found f = {.folder = "/nowhere"};
    const plag_search_visitor visitor = visitor_of(&f);
    const size_t size = LISTS[i].size > 0 ? LISTS[i].size : strlen(LISTS[i].bytes);
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(write(ends[1], LISTS[i].bytes, size), size);
    (void)close(ends[1]);
    assert_int_equal(plag_path_list_read(ends[0], NULL, NULL, &list, NULL), PLATELAG_OK);
    (void)close(ends[0]);
    assert_true(plag_search_list(&list, &visitor));
    plag_text_add(&told, "");
    for (size_t k = 0; k < f.count; k++) { /* none of them is there: each is told as a trouble */
      char *why = strstr(f.path[k], ": No such file");
      assert_non_null(why);
      plag_text_add_format(&told, "%.*s|", (int)(why - f.path[k]) - 1, f.path[k] + 1);
      free(f.path[k]);
    }
    assert_string_equal(told.bytes, LISTS[i].paths);
    plag_text_clear(&told);
    plag_path_list_clear(&list);
  }
}

static void a_list_that_cannot_be_read_is_told(void **state) {
  (void)state;
  plag_path_list list;
  platelag_error error = {0};
  const int handle = open("/tmp", O_RDONLY | O_DIRECTORY);
  assert_int_equal(plag_path_list_read(handle, NULL, NULL, &list, &error), PLATELAG_ERROR_IO);
  assert_non_null(strstr(error.message, "the list of files"));
  plag_path_list_clear(&list);
  (void)close(handle);
}

static bool stops_at_third(void *context) {
  return ++*(int *)context == 3;
}

static void a_list_that_never_ends_can_be_stopped(void **state) {
  (void)state;
  int ends[2];
  int asked = 0;
  plag_path_list list;
  assert_int_equal(pipe(ends), 0);
  assert_int_equal(write(ends[1], "/x/a.csv\n", 9), 9);
  assert_int_equal(plag_path_list_read(ends[0], stops_at_third, &asked, &list, NULL), PLATELAG_OK);
  assert_int_equal(asked, 3);
  assert_int_equal(list.length, 0);
  plag_path_list_clear(&list);
  (void)close(ends[0]);
  (void)close(ends[1]);
}

static bool count_file(void *context, const char *path) {
  (void)path;
  ((found *)context)->count++;
  return true;
}

/* Without memory the walk ends and says so: no capture is passed over in silence. */
static void a_failed_allocation_ends_the_walk(void **state) {
  (void)state;
  plag_test_scratch scratch = {0};
  make_tree(&scratch);
  size_t nth = 0;
  for (bool failed = true; failed;) {
    found f = {.folder = scratch.folder};
    plag_search_visitor visitor = visitor_of(&f);
    visitor.file = count_file; /* which allocates nothing */
    plag_test_fail_allocation(++nth);
    const bool on = plag_search(scratch.folder, &visitor);
    failed = plag_test_allocation_failed();
    plag_test_fail_allocation(0);
    assert_int_equal(on, !failed);
    assert_int_equal(f.no_memory, failed);
    if (on)
      assert_int_equal(f.count, 9);
  }
  assert_true(nth > 3);
  plag_test_scratch_clear(&scratch);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(captures_are_found_by_their_names),
      cmocka_unit_test(deep_trees_are_walked_to_their_ends),
      cmocka_unit_test(the_visitor_ends_the_walk),
      cmocka_unit_test(lists_are_read_by_lines_or_by_nul),
      cmocka_unit_test(a_list_that_cannot_be_read_is_told),
      cmocka_unit_test(a_list_that_never_ends_can_be_stopped),
      cmocka_unit_test(a_failed_allocation_ends_the_walk),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
