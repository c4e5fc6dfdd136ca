/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the fuzz targets share. A target is a file fuzz_*.c that takes any bytes and must neither
 * crash, hang, leak nor break what its checks state. libFuzzer calls it (scripts/fuzz), and so does
 * replay.c, which is a plain test over kept inputs. */
#ifndef PLATELAG_TESTS_FUZZ_H
#define PLATELAG_TESTS_FUZZ_H

#include "core/text.h"
#include "platelag/platelag.h"

/* One input. Always 0. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* What must hold; where it does not, the process ends and names it. */
#define FUZZ_CHECK(condition) ((condition) ? (void)0 : fuzz_fail(#condition, __FILE__, __LINE__))
_Noreturn void fuzz_fail(const char *condition, const char *file, int line);

/* Bytes read as a source, at most `step` a call (0: as many as are wanted). */
typedef struct fuzz_bytes {
  const uint8_t *data;
  size_t size, step;
} fuzz_bytes;
platelag_source fuzz_source(fuzz_bytes *bytes);

/* The part of an input before the next byte 0x1e (the record separator), which is taken off: inputs
 * of several files. After the last part all are empty. */
fuzz_bytes fuzz_next_part(fuzz_bytes *rest);

/* The part as a terminated text, cut at `size`. */
const char *fuzz_text(const fuzz_bytes *part, char *text, size_t size);

/* A file in memory that holds the bytes, for what takes a path. The caller closes it. */
typedef struct fuzz_file {
  int handle;
  char path[32];
} fuzz_file;
fuzz_file fuzz_file_open(const fuzz_bytes *bytes);
void fuzz_file_close(fuzz_file *file);

/* Takes all that is written; `text` starts zero-initialised and the caller clears it. */
platelag_sink fuzz_sink(plag_text *text);

/* Valid UTF-8 of which no control character but the line end, and no character that turns the
 * direction of writing, reaches a terminal or a page. */
void fuzz_check_output(const plag_text *text);

/* A failure has a status, a message and no control character in it; a success has none of it. */
void fuzz_check_error(platelag_status status, const platelag_error *error);

#endif
