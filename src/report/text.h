/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A document as plain text, wrapped at a width. */
#ifndef PLAG_REPORT_TEXT_H
#define PLAG_REPORT_TEXT_H

#include "platelag/report.h"

#include "report/document.h"

/* Writes the document to the sink at once and clears it. Colour is emphasis alone. */
platelag_status plag_text_report_finish(plag_document *document,
                                        const platelag_report_options *options,
                                        const platelag_sink *sink, platelag_error *error);

#endif
