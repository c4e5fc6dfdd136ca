/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the fleet's writers share. */
#ifndef PLAG_FLEET_WRITE_H
#define PLAG_FLEET_WRITE_H

#include "core/text.h"
#include "platelag/fleet.h"

/* Writes what a text holds, or tells that memory ran out; the text is empty again. */
platelag_status plag_write_text(plag_text *text, const platelag_sink *sink, platelag_error *error);

/* Adds a JSON string with its quotes (RFC 8259), a number or null, a date or null. */
void plag_json_add_text(plag_text *out, const char *text);
void plag_json_add_number(plag_text *out, double value);
void plag_json_add_stamp(plag_text *out, bool known, int64_t unix_s);

/* Adds a number with as many decimals as its figure has; nothing for NaN. */
void plag_write_figure(plag_text *out, size_t figure, double value);

#endif
