/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The blocks of a document as HTML. */
#ifndef PLAG_REPORT_HTML_BLOCKS_H
#define PLAG_REPORT_HTML_BLOCKS_H

#include "core/text.h"
#include "report/document.h"
#include "report/plots.h"

/* What one valve is told, as an article: the verdict is its heading, what follows is cut into
 * sections, and the plots of its captures stand where the document has room for them. `id` makes
 * the ids inside it unique. */
void plag_html_blocks_add(plag_text *out, const plag_document *document, const plag_plots *plots,
                          size_t plots_count, size_t id);

/* The table whose head is the block at `first`, without its heading. Returns how many blocks it
 * has. */
size_t plag_html_table_add(plag_text *out, const plag_document *document, size_t first);

#endif
