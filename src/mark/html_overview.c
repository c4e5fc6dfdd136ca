/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The instructor's page: how the class did, and by which criteria it lost most. */
#include <math.h>

#include "core/html_page.h"
#include "mark/html_class.h"

/* Of the plot's height; the rest is for the figure above the highest bar. */
#define BAR_MOST 86.0

enum { TOLD_MOST = 3 };

static size_t highest(const plag_tally *tally) {
  size_t most = 1;
  for (size_t i = 0; i < PLAG_SPREAD_BINS; i++)
    if (tally->spread[i] > most)
      most = tally->spread[i];
  return most;
}

/* The same in words, for who does not see the bars. */
static void add_spread_words(plag_text *out, const plag_tally *tally) {
  bool first = true;
  for (size_t i = 0; i < PLAG_SPREAD_BINS; i++) {
    if (tally->spread[i] == 0)
      continue;
    plag_text_add_format(out, "%s%zu %% to %zu %%: ", first ? "" : ", ", i * 10, (i + 1) * 10);
    plag_mark_count_add(out, tally->spread[i], "submission");
    first = false;
  }
}

static void add_bars(plag_text *out, const plag_tally *tally) {
  const double most = (double)highest(tally);
  for (size_t i = 0; i < PLAG_SPREAD_BINS; i++) {
    const double height = BAR_MOST * (double)tally->spread[i] / most;
    const double from = 100.0 / PLAG_SPREAD_BINS * (double)i;
    if (tally->spread[i] == 0)
      continue;
    plag_text_add(out, "<rect class=\"bars\"");
    plag_html_percent_add(out, "x", from + 0.5);
    plag_html_percent_add(out, "width", 100.0 / PLAG_SPREAD_BINS - 1);
    plag_html_percent_add(out, "y", 100 - height);
    plag_html_percent_add(out, "height", height);
    plag_text_add(out, "/><text class=\"unit\" text-anchor=\"middle\" dy=\"-.35em\"");
    plag_html_percent_add(out, "x", from + 50.0 / PLAG_SPREAD_BINS);
    plag_html_percent_add(out, "y", 100 - height);
    plag_text_add_format(out, ">%zu</text>", tally->spread[i]);
  }
}

static void add_axis(plag_text *out) {
  for (int percent = 0; percent <= 100; percent += 10) {
    plag_text_add_format(out,
                         "<text class=\"tick%s\" text-anchor=\"middle\" y=\"100%%\" dy=\"1.4em\"",
                         percent % 20 != 0 ? " odd" : "");
    plag_html_percent_add(out, "x", percent);
    plag_text_add_format(out, ">%d %%</text>", percent);
  }
  plag_text_add(out, "<line class=\"base\" x2=\"100%\" y1=\"100%\" y2=\"100%\"/>");
}

static void add_median(plag_text *out, double median) {
  plag_html_rule_add(out, "median", false, median);
  plag_text_add_format(out, "<text class=\"median-label\" y=\"0\" dy=\"-.5em\" text-anchor=\"%s\"",
                       median > 70   ? "end"
                       : median < 30 ? "start"
                                     : "middle");
  plag_html_percent_add(out, "x", median);
  plag_text_add(out, ">median ");
  plag_text_add_number(out, median, 0);
  plag_text_add(out, " %</text>");
}

static void add_spread(plag_text *out, const platelag_class *marked, const plag_tally *tally) {
  plag_text_add(out, "<figure class=\"spread\"><figcaption>Submissions by percent of their points"
                     "</figcaption><div class=\"panels\"><svg class=\"panel last\" role=\"img\" "
                     "aria-label=\"");
  add_spread_words(out, tally);
  plag_text_add(out, "\">");
  add_bars(out, tally);
  add_axis(out);
  add_median(out, marked->median_percent);
  plag_text_add(out, "</svg></div></figure>\n");
}

static void add_figure(plag_text *out, size_t count, const char *one, const char *many,
                       const char *target) {
  const bool leads = count > 0 && target != NULL;
  plag_text_add(out, "<li>");
  if (leads)
    plag_text_add_format(out, "<a href=\"#%s\">", target);
  plag_text_add_format(out, "<b>%zu</b> <span>%s</span>%s</li>\n", count, count == 1 ? one : many,
                       leads ? "</a>" : "");
}

void plag_mark_overview_add(plag_text *out, const platelag_class *marked, const plag_tally *tally) {
  plag_text_add(out, "<section class=\"overview\" aria-labelledby=\"class\"><h2 id=\"class\">The "
                     "class</h2>\n<div class=\"sides\"><ul class=\"figures\">\n");
  if (isfinite(marked->median_percent)) {
    plag_text_add(out, "<li><b>");
    plag_text_add_number(out, marked->median_percent, 0);
    plag_text_add(out, " %</b> <span>median of the submissions</span></li>\n");
  }
  add_figure(out, marked->student_count, "student", "students", NULL);
  add_figure(out, tally->marked, "submission marked", "submissions marked", NULL);
  add_figure(out, tally->unmarked, "submission not marked", "submissions not marked", "unmarked");
  add_figure(out, marked->likeness_count, "likeness of recordings, to be judged",
             "likenesses of recordings, to be judged", "alike");
  add_figure(out, tally->remarks, "remark for you", "remarks for you", "remarks");
  plag_text_add(out, "</ul>\n");
  if (isfinite(marked->median_percent))
    add_spread(out, marked, tally);
  plag_text_add(out, "</div></section>\n");
}

/* --- the criteria ---------------------------------------------------------------------------- */

static void add_dearest(plag_text *out, const plag_tally *tally) {
  if (tally->criterion_count == 0 || !(tally->criterion[0].points_lost > 0))
    return;
  plag_text_add(out, "<p>What the class lost most points by, first: ");
  for (size_t i = 0; i < tally->criterion_count && i < TOLD_MOST; i++) {
    if (!(tally->criterion[i].points_lost > 0))
      break;
    plag_text_add(out, i == 0 ? "<b>" : ", <b>");
    plag_html_text_add(out, platelag_criterion_title(tally->criterion[i].criterion));
    plag_text_add(out, "</b>");
  }
  plag_text_add(out, ". That is what to teach next.</p>\n");
}

static void add_criterion(plag_text *out, const plag_criterion_tally *one) {
  plag_text_add(out, "<tr><th scope=\"row\">");
  plag_mark_title_add(out, one->criterion);
  plag_text_add(out, "</th><td class=\"number\">");
  plag_text_add_number(out, 100 * one->mean_share, 0);
  plag_text_add(out, " %</td><td class=\"share\">");
  plag_mark_bar_add(out, one->mean_share);
  plag_text_add(out, "</td><td class=\"number\">");
  plag_text_add_number(out, one->mean_lost, 1);
  plag_text_add_format(
      out, "</td><td class=\"number\">%zu</td><td class=\"number\">%zu of %zu</td></tr>\n",
      one->dearest, one->full, one->applied);
}

void plag_mark_criteria_add(plag_text *out, const plag_tally *tally) {
  if (tally->criterion_count == 0)
    return;
  plag_text_add(out,
                "<section aria-labelledby=\"criteria\"><h2 id=\"criteria\">Each criterion over "
                "the class</h2>\n");
  add_dearest(out, tally);
  plag_text_add(out, "<div class=\"table\" tabindex=\"0\"><table class=\"criteria\">\n<thead><tr>"
                     "<th scope=\"col\">Criterion</th><th scope=\"col\" colspan=\"2\">Share of its "
                     "points, mean</th><th scope=\"col\" class=\"number\">Points lost, mean</th>"
                     "<th scope=\"col\" class=\"number\">Lost most by it</th>"
                     "<th scope=\"col\" class=\"number\">Full points</th></tr></thead>\n<tbody>\n");
  for (size_t i = 0; i < tally->criterion_count; i++)
    add_criterion(out, &tally->criterion[i]);
  plag_text_add(out, "</tbody></table></div></section>\n");
}
