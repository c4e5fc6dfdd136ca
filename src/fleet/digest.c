/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/digest.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>
#include <xxhash.h>

#include "core/error.h"

static platelag_status read_bytes(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  plag_digest_source *digest = context;
  ssize_t count = 0;
  *got = 0;
  do
    count = read(digest->handle, bytes, size);
  while (count < 0 && errno == EINTR);
  if (count < 0)
    return plag_error_set(error, PLATELAG_ERROR_IO, digest->path, 0, 0, "%s", strerror(errno));
  (void)XXH3_128bits_update(digest->state, bytes, (size_t)count);
  digest->bytes += count;
  *got = (size_t)count;
  return PLATELAG_OK;
}

static void write_digest(XXH128_hash_t hash, char out[PLAG_DIGEST_BYTES]) {
  (void)snprintf(out, PLAG_DIGEST_BYTES, "%016llx%016llx", (unsigned long long)hash.high64,
                 (unsigned long long)hash.low64);
}

platelag_status plag_digest_begin(plag_digest_source *digest, int handle, const char *path,
                                  platelag_error *error) {
  *digest = (plag_digest_source){.handle = handle, .path = path};
  digest->source = (platelag_source){digest, read_bytes};
  if (lseek(handle, 0, SEEK_SET) != 0)
    return plag_error_set(error, PLATELAG_ERROR_IO, path, 0, 0, "%s", strerror(errno));
  digest->state = XXH3_createState();
  if (digest->state == NULL)
    return plag_error_memory(error, "a digest");
  (void)XXH3_128bits_reset(digest->state);
  return PLATELAG_OK;
}

platelag_status plag_digest_finish(plag_digest_source *digest, char out[PLAG_DIGEST_BYTES],
                                   platelag_error *error) {
  char bytes[65536];
  size_t got = 1;
  while (got > 0) {
    const platelag_status status = read_bytes(digest, bytes, sizeof bytes, &got, error);
    if (status != PLATELAG_OK)
      return status;
  }
  write_digest(XXH3_128bits_digest(digest->state), out);
  return PLATELAG_OK;
}

void plag_digest_end(plag_digest_source *digest) {
  (void)XXH3_freeState(digest->state);
  digest->state = NULL;
}

void plag_digest_text(const char *text, size_t length, char out[PLAG_DIGEST_BYTES]) {
  write_digest(XXH3_128bits(text, length), out);
}
