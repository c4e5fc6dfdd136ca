/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/scratch.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/check.h"

const char *plag_test_scratch_path(plag_test_scratch *scratch, const char *name,
                                   char path[PLAG_TEST_PATH_BYTES]) {
  if (scratch->folder[0] == '\0') {
    /* In memory where there is such a place: databases wait for disks. */
    const char *where = access("/dev/shm", W_OK | X_OK) == 0 ? "/dev/shm" : "/tmp";
    (void)snprintf(scratch->folder, sizeof scratch->folder, "%s/platelag-test-XXXXXX", where);
    assert_non_null(mkdtemp(scratch->folder));
  }
  const int length = snprintf(path, PLAG_TEST_PATH_BYTES, "%s/%s", scratch->folder, name);
  assert_true(length > 0 && length < PLAG_TEST_PATH_BYTES);
  return path;
}

void plag_test_scratch_write(plag_test_scratch *scratch, const char *name, const char *bytes,
                             size_t size) {
  char path[PLAG_TEST_PATH_BYTES];
  (void)plag_test_scratch_path(scratch, name, path);
  for (char *at = path + strlen(scratch->folder) + 1; (at = strchr(at, '/')) != NULL; at++) {
    *at = '\0';
    (void)mkdir(path, 0777);
    *at = '/';
  }
  FILE *stream = fopen(path, "wb");
  assert_non_null(stream);
  const size_t length = size > 0 ? size : strlen(bytes);
  assert_int_equal(fwrite(bytes, 1, length, stream), length);
  assert_int_equal(fclose(stream), 0);
}

static int take_away(const char *path, const struct stat *is, int kind, struct FTW *place) {
  (void)is;
  (void)kind;
  (void)place;
  return remove(path);
}

void plag_test_scratch_clear(plag_test_scratch *scratch) {
  if (scratch->folder[0] != '\0')
    (void)nftw(scratch->folder, take_away, 16, FTW_DEPTH | FTW_PHYS);
  scratch->folder[0] = '\0';
}
