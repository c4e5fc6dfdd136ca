/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Compressed bytes, whole, damaged or no such at all -> what was in them, bounded, whatever the
 * size of the reads. */
#include <string.h>

#include "fuzz.h"
#include "read/decompress.h"

/* How much came out before the end, a refusal, or as much as is looked at. */
typedef struct outcome {
  platelag_status status;
  size_t length;
  uint64_t sum; /* of the bytes, so that two outcomes can be compared */
} outcome;

enum { LOOKED_AT_BYTES = 8 << 20 };

static void take(outcome *out, const uint8_t *bytes, size_t size) {
  for (size_t i = 0; i < size; i++)
    out->sum = out->sum * 31 + bytes[i];
  out->length += size;
}

static outcome inflate_all(const uint8_t *data, size_t size, size_t step, size_t room) {
  static uint8_t text[65536];
  fuzz_bytes bytes = {data, size, step};
  const platelag_source source = fuzz_source(&bytes);
  plag_decompress *decompress = NULL;
  platelag_error error = {0};
  outcome out = {0};
  out.status = plag_decompress_open(&source, "fuzz", &decompress, &error);
  fuzz_check_error(out.status, &error);
  FUZZ_CHECK((decompress != NULL) == (out.status == PLATELAG_OK));
  size_t got = 1;
  while (out.status == PLATELAG_OK && got > 0 && out.length < LOOKED_AT_BYTES) {
    const platelag_source from = plag_decompress_bytes(decompress);
    out.status = from.read(from.context, text, room, &got, &error);
    fuzz_check_error(out.status, &error);
    FUZZ_CHECK(got <= room);
    if (out.status == PLATELAG_OK)
      take(&out, text, got);
  }
  if (decompress != NULL)
    FUZZ_CHECK(strlen(plag_decompress_name(decompress)) == 4);
  plag_decompress_destroy(decompress);
  return out;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  const outcome whole = inflate_all(data, size, 0, 65536);
  if (whole.length >= LOOKED_AT_BYTES)
    return 0;
  const outcome pieces = inflate_all(data, size, size > 0 ? 1 + data[size - 1] % 13U : 0, 4096);
  FUZZ_CHECK(whole.status == pieces.status);
  if (whole.status == PLATELAG_OK)
    FUZZ_CHECK(whole.length == pieces.length && whole.sum == pieces.sum);
  return 0;
}
