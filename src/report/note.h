/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A note of the reader as a point of a document. */
#ifndef PLAG_REPORT_NOTE_H
#define PLAG_REPORT_NOTE_H

#include "platelag/capture.h"

#include "report/document.h"

void plag_note_add(plag_document *document, const platelag_note *note);

#endif
