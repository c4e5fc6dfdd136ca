/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/html_parts.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

void plag_mark_element_add(plag_text *out, const char *tag, const char *class, const char *text) {
  plag_text_add_format(out, "<%s", tag);
  if (class != NULL)
    plag_text_add_format(out, " class=\"%s\"", class);
  plag_text_add(out, ">");
  plag_html_name_add(out, text);
  plag_text_add_format(out, "</%s>", tag);
}

void plag_mark_sentence_add(plag_text *out, const char *text) {
  plag_text large = {0};
  const size_t length = strlen(text);
  if (length == 0)
    return;
  plag_text_add_char(&large, (char)toupper((unsigned char)text[0]));
  plag_text_add(&large, text + 1);
  if (strchr(".!?", text[length - 1]) == NULL)
    plag_text_add(&large, ".");
  if (!large.failed)
    plag_html_name_add(out, large.bytes);
  out->failed = out->failed || large.failed;
  plag_text_clear(&large);
}

void plag_mark_count_add(plag_text *out, size_t count, const char *thing) {
  plag_text_add_format(out, "%zu %s%s", count, thing, count == 1 ? "" : "s");
}

void plag_mark_points_add(plag_text *out, double points) {
  const double tenths = round(10 * points);
  plag_text_add_number(out, tenths / 10, fmod(tenths, 10) == 0 ? 0 : 1);
}

void plag_mark_points_of_add(plag_text *out, double points, double of) {
  plag_mark_points_add(out, points);
  plag_text_add(out, " of ");
  plag_mark_points_add(out, of);
}

void plag_mark_bar_add(plag_text *out, double share) {
  plag_text_add(out, "<svg class=\"bar\" aria-hidden=\"true\" viewBox=\"0 0 100 10\" "
                     "preserveAspectRatio=\"none\"><rect class=\"trough\" width=\"100\" "
                     "height=\"10\"/><rect class=\"fill\" height=\"10\" width=\"");
  plag_text_add_number(out, share > 0 ? 100 * fmin(share, 1) : 0, 1);
  plag_text_add(out, "\"/></svg>");
}

void plag_mark_cell_class_add(plag_text *out, const char *name, double share) {
  const double tenths = share > 0 ? fmin(floor(10 * share + 1e-9), 10) : 0;
  plag_text_add_format(out, " class=\"%s s%d\"", name, (int)tenths);
}

void plag_mark_title_add(plag_text *out, size_t criterion) {
  const char *title = platelag_criterion_title(criterion);
  plag_text_add_char(out, (char)toupper((unsigned char)title[0]));
  plag_html_text_add(out, title + 1);
}

void plag_mark_key_add(plag_text *out, const char *key) {
  for (; *key != '\0'; key++)
    plag_text_add_char(out, *key == '_' ? ' ' : *key);
}

void plag_mark_footer_add(plag_text *out, const char *words) {
  plag_text_add(out, "<footer><p>");
  plag_text_add(out, words);
  plag_text_add(out, " Made by platelag ");
  plag_text_add(out, platelag_version());
  plag_text_add(out, ".</p></footer>\n</body>\n</html>\n");
}
