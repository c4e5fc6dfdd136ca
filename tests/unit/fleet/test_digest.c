/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file's digest is XXH3's of its bytes, however it is read, and tells when reading failed. */
#include "support/check.h"
#include "support/scratch.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <xxhash.h>

#include "fleet/digest.h"

/* Of nothing: the published test value of XXH3, 128 bits, seed 0 (from memory; the library of
 * Debian 12 agrees). */
static void the_empty_text_has_its_published_digest(void **state) {
  (void)state;
  char digest[PLAG_DIGEST_BYTES];
  plag_digest_text("", 0, digest);
  assert_string_equal(digest, "99aa06d3014798d86001c324468d497f");
}

/* As the library's own one call and canonical form have it. */
static void expect(const void *bytes, size_t size, const char *digest) {
  XXH128_canonical_t canonical;
  char expected[PLAG_DIGEST_BYTES];
  XXH128_canonicalFromHash(&canonical, XXH3_128bits(bytes, size));
  for (size_t i = 0; i < sizeof canonical.digest; i++)
    (void)snprintf(expected + 2 * i, 3, "%02x", canonical.digest[i]);
  assert_string_equal(digest, expected);
}

static void texts_have_the_library_s_digest(void **state) {
  (void)state;
  char digest[PLAG_DIGEST_BYTES];
  char text[300];
  for (size_t size = 1; size < sizeof text; size += 13) {
    memset(text, (int)(31 + size % 97), size);
    plag_digest_text(text, size, digest);
    expect(text, size, digest);
  }
}

/* Sizes about the buffer's; read in part by somebody first, and from another place. */
static void files_have_the_digest_of_their_bytes(void **state) {
  (void)state;
  static const size_t sizes[] = {1, 65535, 65536, 65537, 200003};
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  char *bytes = malloc(200003);
  assert_non_null(bytes);
  for (size_t i = 0; i < 200003; i++)
    bytes[i] = (char)(i * 7919 % 251);
  for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
    plag_digest_source source;
    char digest[PLAG_DIGEST_BYTES];
    char front[37];
    size_t got = 0;
    plag_test_scratch_write(&scratch, "file", bytes, sizes[i]);
    const int handle = open(plag_test_scratch_path(&scratch, "file", path), O_RDONLY);
    assert_int_equal(lseek(handle, 17, SEEK_SET), 17);
    assert_int_equal(plag_digest_begin(&source, handle, path, NULL), PLATELAG_OK);
    assert_int_equal(source.source.read(source.source.context, front, sizeof front, &got, NULL),
                     PLATELAG_OK);
    assert_memory_equal(front, bytes, got);
    assert_int_equal(plag_digest_finish(&source, digest, NULL), PLATELAG_OK);
    assert_int_equal(source.bytes, sizes[i]);
    expect(bytes, sizes[i], digest);
    plag_digest_end(&source);
    (void)close(handle);
  }
  free(bytes);
  plag_test_scratch_clear(&scratch);
}

static void what_cannot_be_read_is_told(void **state) {
  (void)state;
  plag_digest_source source;
  char digest[PLAG_DIGEST_BYTES];
  platelag_error error = {0};
  int ends[2];
  assert_int_equal(pipe(ends), 0); /* has no front to begin at */
  assert_int_equal(plag_digest_begin(&source, ends[0], "pipe", &error), PLATELAG_ERROR_IO);
  assert_string_equal(error.file, "pipe");
  plag_digest_end(&source);
  (void)close(ends[0]);
  (void)close(ends[1]);
  const int folder = open("/tmp", O_RDONLY);
  assert_int_equal(plag_digest_begin(&source, folder, "/tmp", NULL), PLATELAG_OK);
  assert_int_equal(plag_digest_finish(&source, digest, NULL), PLATELAG_ERROR_IO);
  plag_digest_end(&source);
  (void)close(folder);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_empty_text_has_its_published_digest),
      cmocka_unit_test(texts_have_the_library_s_digest),
      cmocka_unit_test(files_have_the_digest_of_their_bytes),
      cmocka_unit_test(what_cannot_be_read_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
