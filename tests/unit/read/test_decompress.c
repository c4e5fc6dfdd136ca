/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Compressed captures read as the plain one does, in one stream or several; what is cut, damaged or
 * a bomb is refused with a reason and never read in part. */
#include "support/check.h"

#include <stdlib.h>
#include <string.h>
#include <zlib.h>
#include <zstd.h>

#include "core/text.h"
#include "support/chunk_source.h"
#include "support/describe_capture.h"
#include "support/made_random.h"

typedef size_t (*pack)(const char *bytes, size_t size, char *out, size_t room);

static size_t pack_gzip(const char *bytes, size_t size, char *out, size_t room) {
  z_stream stream = {0};
  assert_int_equal(deflateInit2(&stream, 9, Z_DEFLATED, 16 + MAX_WBITS, 8, Z_DEFAULT_STRATEGY),
                   Z_OK);
  stream.next_in = (z_const Bytef *)bytes;
  stream.avail_in = (uInt)size;
  stream.next_out = (Bytef *)out;
  stream.avail_out = (uInt)room;
  assert_int_equal(deflate(&stream, Z_FINISH), Z_STREAM_END);
  const size_t packed = room - stream.avail_out;
  assert_int_equal(deflateEnd(&stream), Z_OK);
  return packed;
}

/* With a checksum, as the program of that name writes it. */
static size_t pack_zstd(const char *bytes, size_t size, char *out, size_t room) {
  ZSTD_CCtx *context = ZSTD_createCCtx();
  assert_non_null(context);
  (void)ZSTD_CCtx_setParameter(context, ZSTD_c_checksumFlag, 1);
  const size_t packed = ZSTD_compress2(context, out, room, bytes, size);
  assert_false(ZSTD_isError(packed));
  (void)ZSTD_freeCCtx(context);
  return packed;
}

static const struct {
  const char *name;
  pack pack;
} kinds[] = {{"gzip", pack_gzip}, {"zstd", pack_zstd}};

enum { KINDS = 2, ROOM = 1 << 20 };

static void make_file(plag_text *file) {
  plag_test_random random = {2385};
  plag_text_add(file, "Time (s),Runner duty (%),Runner position (V)\n");
  for (int row = 0; row < 3000; row++)
    plag_text_add_format(file, "%d.%d,%d.5,%d.%03d\n", row / 10, row % 10, row / 45 % 2 * 50 + 12,
                         1 + row / 45 % 2, (int)(plag_test_random_bits(&random) % 1000));
}

static platelag_status read_packed(const char *bytes, size_t size, size_t piece,
                                   platelag_capture **out, platelag_error *error) {
  plag_test_chunks chunks = {.bytes = bytes, .size = size, .piece = piece};
  const platelag_source source = plag_test_chunk_source(&chunks);
  const platelag_read_options options = {.display_name = "made.csv"};
  return platelag_capture_read_source(&source, &options, out, error);
}

static void whatever_the_packing_the_capture_is_the_same(void **state) {
  (void)state;
  static const size_t pieces[] = {0, 1, 7, 4096};
  plag_text file = {0}, plain = {0}, text = {0};
  make_file(&file);
  char *packed = malloc(ROOM);
  assert_non_null(packed);
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(read_packed(file.bytes, file.length, 0, &capture, &error), PLATELAG_OK);
  assert_string_equal(platelag_capture_reading(capture)->compression, "none");
  plag_test_describe_capture(capture, &plain);
  platelag_capture_destroy(capture);
  for (size_t k = 0; k < KINDS; k++)
    for (size_t streams = 1; streams <= 3; streams++)
      for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        size_t size = 0, from = 0;
        for (size_t s = 0; s < streams; s++) {
          const size_t to = s + 1 == streams ? file.length : from + file.length / 3 + 11;
          size += kinds[k].pack(file.bytes + from, to - from, packed + size, ROOM - size);
          from = to;
        }
        memset(packed + size, 0, 512); /* padding, as tapes and some tools leave it */
        size += streams == 2 ? 512 : 0;
        error = (platelag_error){0};
        if (read_packed(packed, size, pieces[i], &capture, &error) != PLATELAG_OK)
          fail_msg("%s, %zu streams, pieces of %zu: %s", kinds[k].name, streams, pieces[i],
                   error.message);
        assert_string_equal(platelag_capture_reading(capture)->compression, kinds[k].name);
        plag_text_reset(&text);
        plag_test_describe_capture(capture, &text);
        assert_string_equal(text.bytes, plain.bytes);
        platelag_capture_destroy(capture);
      }
  free(packed);
  plag_text_clear(&file);
  plag_text_clear(&plain);
  plag_text_clear(&text);
}

/* Refused wherever it is cut, and wherever a byte is wrong that changes what is read. */
static void what_is_cut_or_damaged_is_refused(void **state) {
  (void)state;
  plag_text file = {0};
  make_file(&file);
  char *packed = malloc(ROOM), *broken = malloc(ROOM);
  assert_non_null(packed);
  assert_non_null(broken);
  for (size_t k = 0; k < KINDS; k++) {
    const size_t size = kinds[k].pack(file.bytes, file.length, packed, ROOM);
    for (size_t part = 1; part < 40; part++) {
      const size_t at = 12 + (size - 13) * part / 40;
      platelag_capture *capture = NULL;
      platelag_error error = {0};
      assert_int_equal(read_packed(packed, at, 0, &capture, &error), PLATELAG_ERROR_INPUT);
      assert_null(capture);
      if (strstr(error.message, kinds[k].name) == NULL ||
          strstr(error.message, "ends too early") == NULL)
        fail_msg("%s cut at %zu: %s", kinds[k].name, at, error.message);
      memcpy(broken, packed, size);
      broken[at] = (char)(broken[at] ^ 0x55);
      error = (platelag_error){0};
      if (read_packed(broken, size, 0, &capture, &error) != PLATELAG_ERROR_INPUT)
        fail_msg("%s with a wrong byte at %zu is read", kinds[k].name, at);
      assert_null(capture);
    }
  }
  free(packed);
  free(broken);
  plag_text_clear(&file);
}

/* Text that is none, and a wrong checksum behind it: the text comes first, however the bytes come.
 * Of gzip; zstd gives nothing of a frame that it has whole and finds damaged. */
static void damage_is_told_behind_the_text_before_it(void **state) {
  (void)state;
  static const size_t pieces[] = {0, 1, 7, 61};
  plag_text file = {0};
  make_file(&file);
  memset(strstr(file.bytes, "\n99.3,") + 1, 0, 3);
  char *packed = malloc(ROOM);
  assert_non_null(packed);
  const size_t size = pack_gzip(file.bytes, file.length, packed, ROOM);
  packed[size - 7] ^= 0x5a; /* of the checksum; the length stands behind it */
  for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
    platelag_capture *capture = NULL;
    platelag_error error = {0};
    assert_int_equal(read_packed(packed, size, pieces[i], &capture, &error), PLATELAG_ERROR_INPUT);
    assert_null(capture);
    if (strstr(error.message, "a NUL at byte") == NULL)
      fail_msg("by %zu bytes: %s", pieces[i], error.message);
  }
  free(packed);
  plag_text_clear(&file);
}

/* A bomb under a header is refused by its growth; a long dull recording is not. */
static void a_bomb_is_refused_by_its_growth(void **state) {
  (void)state;
  enum { LINES = 5500000 };
  static const char line[] = "1.0,50.0,1.25\n";
  plag_text file = {0};
  plag_text_add(&file, "Runner duty (%),Runner position (V),Other\n");
  char *block = malloc((size_t)LINES * (sizeof line - 1));
  assert_non_null(block);
  for (size_t i = 0; i < LINES; i++)
    memcpy(block + i * (sizeof line - 1), line, sizeof line - 1);
  char *packed = malloc(ROOM);
  assert_non_null(packed);
  size_t size = pack_gzip(file.bytes, file.length, packed, ROOM);
  size += pack_gzip(block, (size_t)LINES * (sizeof line - 1), packed + size, ROOM - size);
  plag_test_chunks chunks = {.bytes = packed, .size = size};
  const platelag_source source = plag_test_chunk_source(&chunks);
  const platelag_read_options options = {.rows_per_second = 10, .keep_none = true};
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_capture_read_source(&source, &options, &capture, &error),
                   PLATELAG_ERROR_INPUT);
  assert_null(capture);
  assert_non_null(strstr(error.message, "grew to more than"));
  free(block);
  free(packed);
  plag_text_clear(&file);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whatever_the_packing_the_capture_is_the_same),
      cmocka_unit_test(what_is_cut_or_damaged_is_refused),
      cmocka_unit_test(damage_is_told_behind_the_text_before_it),
      cmocka_unit_test(a_bomb_is_refused_by_its_growth),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
