/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/html_rest.h"

#include <string.h>

#include "core/html_text.h"
#include "fleet/html_command.h"
#include "fleet/notes.h"
#include "fleet/write.h"

enum { TROUBLES_MOST = 200 };

/* --- counts ---------------------------------------------------------------------------------- */

static const char *meaning(platelag_fleet_standing standing) {
  static const char *const words[PLATELAG_FLEET_STANDINGS] = {
      [PLATELAG_FLEET_WORK] = "two logs agree on a fault",
      [PLATELAG_FLEET_WORSE] = "a figure's trend, beyond chance",
      [PLATELAG_FLEET_AGAIN] = "one log tells of a fault",
      [PLATELAG_FLEET_UNUSUAL] = "beyond learned limits, twice",
      [PLATELAG_FLEET_UNCLEAR] = "the logs cannot tell",
      [PLATELAG_FLEET_SOUND] = "nothing to be done"};
  return words[standing];
}

void plag_html_standings_add(plag_html_sheet *sheet) {
  plag_text *out = &sheet->out;
  size_t count[PLATELAG_FLEET_STANDINGS] = {0};
  for (size_t i = 0; i < sheet->fleet->valve_count; i++)
    count[sheet->fleet->valve[i].standing]++;
  plag_text_add(out, "<ul class=\"standings\" aria-label=\"Valves by standing\">\n");
  for (int i = 0; i < PLATELAG_FLEET_STANDINGS; i++) {
    const platelag_fleet_standing standing = (platelag_fleet_standing)i;
    plag_text_add_format(out, "<li class=\"k%d\">", i);
    if (count[i] > 0)
      plag_text_add_format(out, "<a href=\"#s%d\" data-k=\"%d\">", i, i);
    else
      plag_text_add(out, "<span class=\"none\">");
    plag_html_mark_add(out, standing);
    plag_text_add_format(out, "<b>%zu</b> <span>%s</span> <small>%s</small>%s</li>\n", count[i],
                         platelag_fleet_standing_name(standing), meaning(standing),
                         count[i] > 0 ? "</a>" : "</span>");
  }
  plag_text_add(out, "</ul>\n");
}

void plag_html_filters_add(plag_html_sheet *sheet) {
  plag_text *out = &sheet->out;
  plag_text_add(
      out,
      "<div class=\"filters js\" role=\"search\" aria-label=\"Filters of the ranking\">\n"
      "<label>Vehicle, engine or valve <input type=\"search\" id=\"find\" "
      "autocomplete=\"off\" spellcheck=\"false\"></label>\n"
      "<label>Finding <select id=\"finding\"><option value=\"\">any</option></select></label>\n");
  if (sheet->with_engines)
    plag_text_add(out, "<label>Engine family <select id=\"engine\"><option "
                       "value=\"\">any</option></select></label>\n");
  plag_text_add(out, "<div class=\"buttons\"><button type=\"button\" id=\"bin\" hidden></button>"
                     "<button type=\"button\" id=\"all\" disabled>Show all</button></div>\n"
                     "<p id=\"shown\" role=\"status\"></p></div>\n");
}

/* --- limits ---------------------------------------------------------------------------------- */

static void add_limit(plag_html_sheet *sheet, const platelag_fleet_limit *limit) {
  plag_text *out = &sheet->out;
  plag_text_add(out, "<td><b>");
  plag_write_figure(out, limit->figure, limit->limit);
  plag_text_add_format(out, "</b> %s <small>", platelag_fleet_figure_at(limit->figure)->unit);
  if (limit->learned) {
    plag_text_add(out, "learned: median ");
    plag_write_figure(out, limit->figure, limit->median);
    plag_text_add_format(out, " of %zu healthy valves</small></td>", limit->logs);
  } else if (sheet->fleet->book->limits_given) {
    plag_text_add(out, "of the service information</small></td>");
  } else {
    plag_text_add_format(out,
                         "of the program: too few healthy valves to learn from (%zu)</small></td>",
                         limit->logs);
  }
}

/* The limits of an engine family follow each other, in the same order of figures each. */
void plag_html_limits_add(plag_html_sheet *sheet) {
  const platelag_fleet *fleet = sheet->fleet;
  const platelag_fleet_limit *limit = fleet->limit;
  plag_text *out = &sheet->out;
  if (fleet->limit_count == 0)
    return;
  plag_text_add(out, "<section><h2 id=\"limits\">Limits</h2>\n<p>A learned limit stands three "
                     "spreads above the median of the family's healthy valves. Limits of the "
                     "service information (--spec) take its place.</p>\n"
                     "<div class=\"table\" tabindex=\"0\" role=\"region\" "
                     "aria-labelledby=\"limits\"><table><thead><tr><th scope=\"col\">Engine "
                     "family</th>");
  for (size_t i = 0; i < fleet->limit_count && strcmp(limit[i].engine, limit[0].engine) == 0; i++)
    plag_text_add_format(out, "<th scope=\"col\">%s</th>",
                         platelag_fleet_figure_at(limit[i].figure)->name);
  plag_text_add(out, "</tr></thead>\n<tbody>");
  for (size_t i = 0; i < fleet->limit_count; i++) {
    if (i == 0 || strcmp(limit[i].engine, limit[i - 1].engine) != 0) {
      plag_text_add(out, i > 0 ? "</tr>\n<tr><th scope=\"row\">" : "<tr><th scope=\"row\">");
      plag_html_name_add(out, limit[i].engine[0] != '\0' ? limit[i].engine : "not told");
      plag_text_add(out, "</th>");
    }
    add_limit(sheet, &limit[i]);
  }
  plag_text_add(out, "</tr></tbody></table></div></section>\n");
}

/* --- what was not judged, and notes ---------------------------------------------------------- */

void plag_html_troubles_add(plag_html_sheet *sheet) {
  const platelag_fleet *fleet = sheet->fleet;
  plag_text *out = &sheet->out;
  if (fleet->trouble_count == 0)
    return;
  plag_text_add_format(out,
                       "<section><h2 id=\"troubles\">Not judged: %zu %s</h2>\n<div class=\"table\" "
                       "tabindex=\"0\" role=\"region\" aria-labelledby=\"troubles\"><table "
                       "class=\"troubles\"><thead><tr><th scope=\"col\">File</th><th "
                       "scope=\"col\">What</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>",
                       fleet->trouble_count, fleet->trouble_count == 1 ? "file" : "files");
  for (size_t i = 0; i < fleet->trouble_count && i < TROUBLES_MOST; i++) {
    plag_text_add(out, "<tr><th scope=\"row\">");
    plag_html_name_add(out, fleet->trouble[i].file);
    plag_text_add(out, fleet->trouble[i].refused ? "</th><td class=\"short\">no capture</td><td>"
                                                 : "</th><td class=\"short\">not read</td><td>");
    plag_html_name_add(out, fleet->trouble[i].why);
    plag_text_add(out, "</td></tr>\n");
  }
  plag_text_add(out, "</tbody></table></div>\n");
  if (fleet->trouble_count > TROUBLES_MOST)
    plag_text_add_format(out, "<p>These are the first %d of %zu.</p>\n", (int)TROUBLES_MOST,
                         fleet->trouble_count);
  plag_text_add(out, "</section>\n");
}

/* "platelag fleet --store f.db --capture KEY --html fleet-captures/KEY.html" */
static void add_command(plag_html_sheet *sheet) {
  plag_capture_command command;
  plag_text line = {0};
  plag_capture_command_make(sheet->page, &command);
  if (sheet->page->store != NULL) {
    plag_text_add(&line, command.before.bytes != NULL ? command.before.bytes : "");
    plag_text_add(&line, "KEY");
    if (command.between.length > 0) {
      plag_text_add(&line, command.between.bytes);
      plag_text_add(&line, "KEY");
      plag_text_add(&line, command.after.bytes != NULL ? command.after.bytes : "");
    }
    plag_text_add(&sheet->out, "<p>A capture's own report is made by <code>");
    plag_html_name_add(&sheet->out, line.bytes != NULL ? line.bytes : "");
    plag_text_add(&sheet->out, "</code>, KEY being the capture's key in the store.</p>\n");
  }
  sheet->out.failed = sheet->out.failed || line.failed || command.before.failed ||
                      command.between.failed || command.after.failed;
  plag_text_clear(&line);
  plag_capture_command_clear(&command);
}

void plag_html_notes_add(plag_html_sheet *sheet) {
  plag_arena arena = {0};
  const char *note[PLAG_NOTES_MOST];
  const size_t count = plag_fleet_notes(sheet->fleet, &arena, note);
  plag_text_add(&sheet->out, "<footer>\n");
  for (size_t i = 0; i < count; i++) {
    plag_text_add(&sheet->out, i + 1 == count ? "<p class=\"caution\">" : "<p>");
    plag_html_name_add(&sheet->out, note[i] != NULL ? note[i] : "");
    plag_text_add(&sheet->out, "</p>\n");
    sheet->out.failed = sheet->out.failed || note[i] == NULL;
  }
  add_command(sheet);
  plag_text_add_format(&sheet->out, "<p>Made by platelag %s.</p>\n</footer>\n", platelag_version());
  plag_arena_clear(&arena);
}
