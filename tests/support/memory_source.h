/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Captures read from text in memory. */
#ifndef PLATELAG_TESTS_MEMORY_SOURCE_H
#define PLATELAG_TESTS_MEMORY_SOURCE_H

#include "platelag/capture.h"

/* Reads `size` bytes (0: a terminated text) as a capture; the name in messages is "memory.csv". */
platelag_status plag_test_read_bytes(const char *bytes, size_t size,
                                     const platelag_read_options *options, platelag_capture **out,
                                     platelag_error *error);

/* The channel of this name; fails the test when there is none. */
const platelag_channel *plag_test_channel(const platelag_capture *capture, const char *name);

#endif
