/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reports: a review, or how a file was understood, written to a sink. The same input gives the same
 * bytes; nothing of the machine enters a report. */
#ifndef PLATELAG_REPORT_H
#define PLATELAG_REPORT_H

#include "platelag/review.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Where a report goes. `write` takes all `size` bytes or fails. */
typedef struct platelag_sink {
  void *context;
  platelag_status (*write)(void *context, const char *bytes, size_t size, platelag_error *error);
} platelag_sink;

typedef struct platelag_report_options {
  bool color; /* text: emphasise with terminal colours; nothing is told by colour alone */
  int width;  /* text: columns to wrap at; 0: 100 */
} platelag_report_options;

/* A screenful a mechanic reads top down. */
PLATELAG_API platelag_status platelag_report_write_text(const platelag_review *review,
                                                        const platelag_report_options *options,
                                                        const platelag_sink *sink,
                                                        platelag_error *error);

/* One document of schema platelag.review/1, indented, keys in a fixed order. */
PLATELAG_API platelag_status platelag_report_write_json(const platelag_review *review,
                                                        const platelag_sink *sink,
                                                        platelag_error *error);

/* One self-contained HTML page, with plots: no other file, no network. Every text is escaped, and a
 * content security policy lets nothing run that the library did not bring. */
PLATELAG_API platelag_status platelag_report_write_html(const platelag_review *review,
                                                        const platelag_sink *sink,
                                                        platelag_error *error);

/* How a file was understood: the `columns` view. */
PLATELAG_API platelag_status platelag_report_write_columns(const platelag_capture *capture,
                                                           const platelag_report_options *options,
                                                           const platelag_sink *sink,
                                                           platelag_error *error);

#ifdef __cplusplus
}
#endif
#endif
