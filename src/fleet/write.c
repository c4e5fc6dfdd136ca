/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/write.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/number.h"
#include "fleet/calendar.h"

platelag_status plag_write_text(plag_text *text, const platelag_sink *sink, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  if (text->failed)
    status = plag_error_memory(error, "a report of the fleet");
  else if (text->length > 0)
    status = sink->write(sink->context, text->bytes, text->length, error);
  plag_text_reset(text);
  return status;
}

void plag_json_add_text(plag_text *out, const char *text) {
  plag_text clean = {0};
  plag_text json = {0};
  plag_escape_add_utf8(&clean, text);
  for (const char *at = clean.bytes; at != NULL && *at != '\0'; at++) {
    const unsigned char byte = (unsigned char)*at;
    if (byte == '"' || byte == '\\') {
      plag_text_add_char(&json, '\\');
      plag_text_add_char(&json, *at);
    } else if (byte < 0x20 || byte == '<') {
      /* "<" too: what is inside a page's data element must not end it */
      plag_text_add_format(&json, "\\u%04x", byte);
    } else {
      plag_text_add_char(&json, *at);
    }
  }
  plag_text_add_char(out, '"');
  if (json.bytes != NULL)
    plag_escape_add_json(out, json.bytes, json.length);
  plag_text_add_char(out, '"');
  out->failed = out->failed || clean.failed || json.failed;
  plag_text_clear(&clean);
  plag_text_clear(&json);
}

void plag_json_add_number(plag_text *out, double value) {
  char number[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add(out, plag_number_format_json(value, 6, number));
}

void plag_json_add_stamp(plag_text *out, bool known, int64_t unix_s) {
  char stamp[PLAG_DATE_BYTES];
  if (!known || unix_s == INT64_MAX) {
    plag_text_add(out, "null");
    return;
  }
  plag_text_add_char(out, '"');
  plag_text_add(out, plag_stamp_format(unix_s, stamp));
  plag_text_add_char(out, '"');
}

void plag_write_figure(plag_text *out, size_t figure, double value) {
  if (isfinite(value))
    plag_text_add_number(out, value, platelag_fleet_figure_at(figure)->decimals);
}
