/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "core/error.h"
#include "core/escape.h"

_Noreturn void fuzz_fail(const char *condition, const char *file, int line) {
  (void)fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, condition);
  abort();
}

static platelag_status read_bytes(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  fuzz_bytes *from = context;
  (void)error;
  *got = from->size < size ? from->size : size;
  if (from->step > 0 && *got > from->step)
    *got = from->step;
  if (*got > 0)
    memcpy(bytes, from->data, *got);
  from->data += *got;
  from->size -= *got;
  return PLATELAG_OK;
}

platelag_source fuzz_source(fuzz_bytes *bytes) {
  return (platelag_source){bytes, read_bytes};
}

fuzz_bytes fuzz_next_part(fuzz_bytes *rest) {
  const uint8_t *end = rest->size > 0 ? memchr(rest->data, 0x1e, rest->size) : NULL;
  fuzz_bytes part = *rest;
  part.size = end != NULL ? (size_t)(end - rest->data) : rest->size;
  const size_t taken = part.size + (end != NULL);
  rest->data += taken;
  rest->size -= taken;
  return part;
}

const char *fuzz_text(const fuzz_bytes *part, char *text, size_t size) {
  const size_t length = part->size < size - 1 ? part->size : size - 1;
  if (length > 0)
    memcpy(text, part->data, length);
  text[length] = '\0';
  return text;
}

fuzz_file fuzz_file_open(const fuzz_bytes *bytes) {
  fuzz_file file = {.handle = memfd_create("fuzz", MFD_CLOEXEC)};
  FUZZ_CHECK(file.handle >= 0);
  for (size_t at = 0; at < bytes->size;) {
    const ssize_t written = write(file.handle, bytes->data + at, bytes->size - at);
    FUZZ_CHECK(written > 0);
    at += (size_t)written;
  }
  (void)snprintf(file.path, sizeof file.path, "/proc/self/fd/%d", file.handle);
  return file;
}

void fuzz_file_close(fuzz_file *file) {
  (void)close(file->handle);
}

static platelag_status add(void *context, const char *bytes, size_t size, platelag_error *error) {
  plag_text *text = context;
  plag_text_add_bytes(text, bytes, size);
  return text->failed ? plag_error_memory(error, "what is written") : PLATELAG_OK;
}

platelag_sink fuzz_sink(plag_text *text) {
  return (platelag_sink){text, add};
}

static bool is_plain(unsigned point) {
  const bool control = (point < 0x20 && point != '\n') || (point >= 0x7f && point < 0xa0);
  const bool turns = (point >= 0x202a && point <= 0x202e) || (point >= 0x2066 && point <= 0x2069);
  return !control && !turns;
}

static void check_text(const char *text, size_t length) {
  unsigned point = 0;
  for (size_t at = 0; at < length;) {
    const size_t bytes = plag_utf8_read(text + at, length - at, &point);
    FUZZ_CHECK(bytes > 0);
    FUZZ_CHECK(is_plain(point));
    at += bytes;
  }
}

void fuzz_check_output(const plag_text *text) {
  check_text(text->bytes, text->length);
}

void fuzz_check_error(platelag_status status, const platelag_error *error) {
  FUZZ_CHECK(error->status == status);
  FUZZ_CHECK((error->message[0] != '\0') == (status != PLATELAG_OK));
}
