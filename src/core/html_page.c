/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/html_page.h"

void plag_html_asset_add(plag_text *out, const plag_asset *asset) {
  plag_text_add_bytes(out, asset->from, (size_t)(asset->end - asset->from));
}

void plag_html_head_begin(plag_text *out, const plag_asset *policy) {
  plag_text_add(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta http-equiv=\"Content-Security-Policy\" content=\"");
  plag_html_asset_add(out, policy);
  plag_text_add(out, "\">\n<meta name=\"referrer\" content=\"no-referrer\">\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                     "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
}

void plag_html_head_end(plag_text *out, const plag_asset *style, const plag_asset *script) {
  plag_text_add(out, "</title>\n<style>");
  plag_html_asset_add(out, style);
  plag_text_add(out, "</style>\n");
  if (script != NULL) {
    plag_text_add(out, "<script>");
    plag_html_asset_add(out, script);
    plag_text_add(out, "</script>\n");
  }
  plag_text_add(out, "</head>\n<body>\n");
}

const char plag_html_mark_good[] =
    "<circle cx=\"12\" cy=\"12\" r=\"11\"/><path class=\"ink\" d=\"M6.5 12.5l4 4 7-8.5\"/>";
const char plag_html_mark_bad[] =
    "<path d=\"M12 1L23.5 22H.5z\"/><path class=\"ink\" d=\"M12 9v6m0 2.2v1.6\"/>";
const char plag_html_mark_open[] =
    "<rect x=\"1\" y=\"1\" width=\"22\" height=\"22\" rx=\"4\"/>"
    "<path class=\"ink\" d=\"M8.3 9c0-5.2 7.4-5.2 7.4 0 0 3-3.7 2.8-3.7 5.6m0 2.6v1.4\"/>";

void plag_html_percent_add(plag_text *out, const char *name, double percent) {
  plag_text_add_format(out, " %s=\"", name);
  plag_text_add_number(out, percent, 2);
  plag_text_add(out, "%\"");
}

void plag_html_rule_add(plag_text *out, const char *class, bool across, double percent) {
  plag_text_add_format(out, "<line class=\"%s\"", class);
  if (across) {
    plag_text_add(out, " x2=\"100%\"");
    plag_html_percent_add(out, "y1", percent);
    plag_html_percent_add(out, "y2", percent);
  } else {
    plag_text_add(out, " y2=\"100%\"");
    plag_html_percent_add(out, "x1", percent);
    plag_html_percent_add(out, "x2", percent);
  }
  plag_text_add(out, "/>");
}
