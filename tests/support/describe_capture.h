/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture as one line of text, for tests that state what must come out of a file. */
#ifndef PLATELAG_TESTS_DESCRIBE_CAPTURE_H
#define PLATELAG_TESTS_DESCRIBE_CAPTURE_H

#include "core/text.h"
#include "platelag/capture.h"

/* Writes "comma point, one clock, seconds, 4 rows, 1 left out; command Runner duty [%] 0=12.5
 * 0.1=-; gap at 7.5": separator and decimal mark, shape, clock, rows; each kept channel with its
 * first samples ("-" a missing one, ".." when there are more); each segment but the first. Banks
 * stand behind the role, "position/2". */
void plag_test_describe_capture(const platelag_capture *capture, plag_text *text);

/* Whether a note holds these words; NULL where none does. */
const platelag_note *plag_test_find_note(const platelag_capture *capture, const char *words);

#endif
