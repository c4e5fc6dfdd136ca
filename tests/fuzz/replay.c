/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Replays inputs of a fuzz target without the fuzzer: each file of the folders named, as it is and
 * damaged in ways that are the same each time. A folder that is not there holds nothing. Where
 * PLATELAG_FUZZ_LAST names a file, each input is put there before it is tried. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "fuzz.h"
#include "support/made_random.h"

enum { DAMAGES = 24, PATH_BYTES = 4096 };

static size_t replayed;

static void keep_last(const uint8_t *data, size_t size) {
  const char *path = getenv("PLATELAG_FUZZ_LAST");
  FILE *file = path != NULL ? fopen(path, "wbe") : NULL;
  if (file == NULL)
    return;
  FUZZ_CHECK(fwrite(data, 1, size, file) == size);
  (void)fclose(file);
}

/* A copy of its own, so that a sanitizer knows where it ends. */
static void give(const uint8_t *data, size_t size) {
  uint8_t *exact = malloc(size > 0 ? size : 1);
  keep_last(data, size);
  FUZZ_CHECK(exact != NULL);
  if (size > 0)
    memcpy(exact, data, size);
  (void)LLVMFuzzerTestOneInput(exact, size);
  free(exact);
}

static size_t draw(plag_test_random *random, size_t below) {
  return below > 0 ? (size_t)(plag_test_random_bits(random) % below) : 0;
}

/* Cut short, a byte changed, a stretch left out, or a stretch put over another. */
static size_t damage(plag_test_random *random, uint8_t *data, size_t size) {
  const size_t at = draw(random, size);
  const size_t other = draw(random, size);
  const size_t length = draw(random, size - (at > other ? at : other));
  switch (draw(random, 4)) {
  case 0:
    return at;
  case 1:
    data[at] = (uint8_t)draw(random, 256);
    return size;
  case 2:
    memmove(data + at, data + at + length, size - at - length);
    return size - length;
  default:
    memmove(data + at, data + other, length);
    return size;
  }
}

static void give_damaged(const uint8_t *data, size_t size) {
  plag_test_random random = {2385};
  uint8_t *copy = malloc(size);
  FUZZ_CHECK(copy != NULL);
  for (int i = 0; i < DAMAGES; i++) {
    memcpy(copy, data, size);
    size_t left = size;
    for (int k = 0; k <= i % 3 && left > 0; k++)
      left = damage(&random, copy, left);
    give(copy, left);
  }
  free(copy);
}

static void replay_file(const char *path) {
  FILE *file = fopen(path, "rbe");
  uint8_t *data = NULL;
  size_t size = 0;
  size_t got = 1;
  FUZZ_CHECK(file != NULL);
  while (got > 0) {
    enum { STEP = 65536 };
    data = realloc(data, size + STEP);
    FUZZ_CHECK(data != NULL);
    got = fread(data + size, 1, STEP, file);
    size += got;
  }
  (void)fclose(file);
  (void)fprintf(stderr, "%s\n", path); /* before it: a crash is told by its name */
  give(data, size);
  if (size > 0)
    give_damaged(data, size);
  free(data);
  replayed++;
}

static int is_shown(const struct dirent *entry) {
  return entry->d_name[0] != '.';
}

static void replay_folder(const char *folder) {
  struct dirent **entry = NULL;
  const int count = scandir(folder, &entry, is_shown, alphasort);
  for (int i = 0; i < count; i++) {
    char path[PATH_BYTES];
    struct stat is;
    (void)snprintf(path, sizeof path, "%s/%s", folder, entry[i]->d_name);
    if (stat(path, &is) == 0 && S_ISREG(is.st_mode))
      replay_file(path);
    free(entry[i]);
  }
  free(entry);
}

int main(int count, char **folder) {
  for (int i = 1; i < count; i++)
    replay_folder(folder[i]);
  printf("%zu inputs replayed, each also damaged in %d ways\n", replayed, DAMAGES);
  return replayed > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
