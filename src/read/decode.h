/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes of any encoding -> UTF-8 with LF line ends. */
#ifndef PLAG_READ_DECODE_H
#define PLAG_READ_DECODE_H

#include "read/note_list.h"

typedef struct plag_decoder plag_decoder;

/* Looks at the first bytes of `source`: byte-order marks, the NUL pattern of UTF-16, marks of what
 * is no text at all (refused by name). `source`, `file` and `notes` must outlive it. The caller
 * destroys `*out`. */
platelag_status plag_decode_open(const platelag_source *source, const char *file,
                                 plag_note_list *notes, plag_decoder **out, platelag_error *error);

/* Fills up to `size` bytes (at least PLAG_DECODE_LEAST_BYTES); `*got` is 0 at the end only.
 * `line` is the line of the file on which text[0] stands, for messages. What is no valid UTF-8 is
 * read as Windows-1252, sequence by sequence. NULs at the end are dropped and noted; any other is
 * refused. */
platelag_status plag_decode_read(plag_decoder *decoder, int64_t line, char *text, size_t size,
                                 size_t *got, platelag_error *error);

enum { PLAG_DECODE_LEAST_BYTES = 16 };

/* As far as it was read: "UTF-8", "UTF-8 with byte-order mark", "UTF-16LE", "UTF-16BE",
 * "Windows-1252"; static. */
const char *plag_decode_encoding(const plag_decoder *decoder);

void plag_decode_destroy(plag_decoder *decoder);

#endif
