/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/html_spread.h"

#include <stdlib.h>

#include "core/html_page.h"
#include "core/html_text.h"
#include "core/round_step.h"
#include "core/statistics.h"
#include "fleet/write.h"

/* Quartile distances beyond which values are counted apart (a judgement). */
#define FAR_OUT 10.0
enum { LABELS_MOST = 5 };
/* A bar of one valve among many is still seen and hit. */
#define LEAST_HEIGHT 3.0

/* --- counting -------------------------------------------------------------------------------- */

static void count_values(plag_spread *spread, const double *value, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const double bin = floor((value[i] - spread->from) / spread->width + 1e-9);
    if (bin < 0)
      spread->below++;
    else if (bin >= (double)spread->bins)
      spread->above++;
    else
      spread->count[(size_t)bin]++;
  }
}

plag_spread plag_spread_of(double *value, size_t count, double limit) {
  plag_spread spread = {.total = count, .median = plag_median(value, count)};
  if (count == 0)
    return spread;
  const double low = plag_quantile(value, count, 0.25);
  const double high = plag_quantile(value, count, 0.75);
  const double least = plag_quantile(value, count, 0);
  const double most = plag_quantile(value, count, 1);
  const double between = high - low;
  const double from = between > 0 ? fmax(least, low - FAR_OUT * between) : least;
  const double to = fmax(between > 0 ? fmin(most, high + FAR_OUT * between) : most, limit);
  double width = 2 * between / cbrt((double)count);
  width = fmax(width, (to - from) / (PLAG_SPREAD_BINS - 2));
  if (!(width > 0))
    width = most != 0 ? 0.1 * fabs(most) : 1; /* all are alike */
  spread.width = plag_round_step(width);
  spread.from = spread.width * floor(from / spread.width + 1e-9);
  const double bins = floor((to - spread.from) / spread.width + 1e-9) + 1;
  spread.bins = (size_t)fmin(bins, PLAG_SPREAD_BINS);
  count_values(&spread, value, count);
  return spread;
}

/* --- drawing --------------------------------------------------------------------------------- */

/* A histogram: the columns of its bins, and one at either end where values lie far out. */
typedef struct picture {
  plag_text *out;
  size_t figure;
  const plag_spread *spread;
  size_t columns, highest;
  int decimals; /* of the bins' edges */
} picture;

static picture picture_of(plag_text *out, const plag_spread *spread, size_t figure) {
  picture one = {.out = out,
                 .figure = figure,
                 .spread = spread,
                 .columns = spread->bins + (spread->below > 0) + (spread->above > 0),
                 .highest = spread->below > spread->above ? spread->below : spread->above};
  for (size_t i = 0; i < spread->bins; i++)
    if (spread->count[i] > one.highest)
      one.highest = spread->count[i];
  one.decimals = spread->width >= 1 ? 0 : (int)ceil(-log10(spread->width) - 1e-9);
  return one;
}

static double edge_of(const picture *one, size_t bin) {
  return one->spread->from + one->spread->width * (double)bin;
}

/* Where an edge lies across, %. */
static double percent_of(const picture *one, double value) {
  const double bin = (value - one->spread->from) / one->spread->width;
  return 100 * (bin + (one->spread->below > 0)) / (double)one->columns;
}

/* "1.5 to 2.0: 12 valves"; an infinite end is left open. */
static void add_words(const picture *one, double from, double to, size_t count) {
  plag_text_add(one->out, "<title>");
  if (isinf(from))
    plag_text_add(one->out, "less than ");
  else
    plag_text_add_number(one->out, from, one->decimals);
  plag_text_add(one->out, isinf(to) ? " and more" : isinf(from) ? "" : " to ");
  if (!isinf(to))
    plag_text_add_number(one->out, to, one->decimals);
  plag_text_add_format(one->out, " %s: %zu %s</title>", platelag_fleet_figure_at(one->figure)->unit,
                       count, count == 1 ? "valve" : "valves");
}

static void add_edge(plag_text *out, const char *name, double value, int decimals) {
  plag_text_add_format(out, " data-%s=\"", name);
  if (isfinite(value))
    plag_text_add_number(out, value, decimals);
  plag_text_add(out, "\"");
}

static void add_bar(const picture *one, size_t column, double from, double to, size_t count) {
  if (count == 0)
    return;
  const double wide = 100.0 / (double)one->columns;
  const double high = fmax(100 * (double)count / (double)one->highest, LEAST_HEIGHT);
  plag_text_add(one->out, "<g");
  add_edge(one->out, "from", from, one->decimals);
  add_edge(one->out, "to", to, one->decimals);
  plag_text_add(one->out, "><rect class=\"hit\" height=\"100%\"");
  plag_html_percent_add(one->out, "x", wide * (double)column);
  plag_html_percent_add(one->out, "width", wide);
  plag_text_add(one->out, "/><rect class=\"bars\"");
  plag_html_percent_add(one->out, "x", wide * ((double)column + 0.06));
  plag_html_percent_add(one->out, "width", wide * 0.88);
  plag_html_percent_add(one->out, "y", 100 - high);
  plag_html_percent_add(one->out, "height", high);
  plag_text_add(one->out, "/>");
  add_words(one, from, to, count);
  plag_text_add(one->out, "</g>");
}

static void add_bars(const picture *one) {
  const plag_spread *spread = one->spread;
  size_t column = 0;
  if (spread->below > 0)
    add_bar(one, column++, -INFINITY, spread->from, spread->below);
  for (size_t i = 0; i < spread->bins; i++)
    add_bar(one, column++, edge_of(one, i), edge_of(one, i + 1), spread->count[i]);
  if (spread->above > 0)
    add_bar(one, column, edge_of(one, spread->bins), INFINITY, spread->above);
}

static void add_label(const picture *one, double value, const char *word) {
  plag_text_add(one->out, "<text text-anchor=\"middle\" y=\"100%\" dy=\"1.3em\"");
  plag_html_percent_add(one->out, "x", percent_of(one, value));
  plag_text_add(one->out, ">");
  if (word != NULL)
    plag_text_add(one->out, word);
  else
    plag_text_add_number(one->out, value, one->decimals);
  plag_text_add(one->out, "</text>");
}

static void add_labels(const picture *one) {
  const plag_spread *spread = one->spread;
  size_t step = 1;
  while (spread->bins / step > LABELS_MOST)
    step++;
  /* A word at the end needs its room. */
  const size_t end = spread->above > 0 ? spread->bins - step / 2 - 1 : spread->bins;
  for (size_t i = spread->below > 0; i <= end; i += step)
    add_label(one, edge_of(one, i), NULL);
  if (spread->below > 0)
    add_label(one, edge_of(one, 0) - spread->width / 2, "less");
  if (spread->above > 0)
    add_label(one, edge_of(one, spread->bins) + spread->width / 2, "more");
}

/* A rule at each limit of the figure that lies within. */
static void add_limits(const picture *one, const platelag_fleet *fleet) {
  for (size_t i = 0; i < fleet->limit_count; i++) {
    const double percent = percent_of(one, fleet->limit[i].limit);
    if (fleet->limit[i].figure == one->figure && percent >= 0 && percent <= 100)
      plag_html_rule_add(one->out, "limit", false, percent);
  }
}

/* "Median 1.5 % of travel over 60 valves; learned limits 2.1 to 2.2." */
static void add_caption(const picture *one, const platelag_fleet *fleet) {
  const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(one->figure);
  double low = INFINITY, high = -INFINITY;
  bool learned = false, given = false;
  for (size_t i = 0; i < fleet->limit_count; i++) {
    if (fleet->limit[i].figure != one->figure || !isfinite(fleet->limit[i].limit))
      continue;
    low = fmin(low, fleet->limit[i].limit);
    high = fmax(high, fleet->limit[i].limit);
    learned = learned || fleet->limit[i].learned;
    given = given || !fleet->limit[i].learned;
  }
  plag_text_add_format(one->out, "<figcaption><h3>%s</h3><p>Median ", kind->name);
  plag_write_figure(one->out, one->figure, one->spread->median);
  plag_text_add_format(one->out, " %s over %zu %s", kind->unit, one->spread->total,
                       one->spread->total == 1 ? "valve" : "valves");
  if (isfinite(high)) {
    plag_text_add(one->out, learned && given ? "; limits, learned and not, "
                            : learned        ? "; learned limit "
                                             : "; limit ");
    plag_write_figure(one->out, one->figure, low);
    if (high > low) {
      plag_text_add(one->out, " to ");
      plag_write_figure(one->out, one->figure, high);
    }
  }
  plag_text_add(one->out, ".</p></figcaption>\n");
}

static void add_figure(plag_html_sheet *sheet, const plag_spread *spread, size_t figure) {
  const picture one = picture_of(&sheet->out, spread, figure);
  plag_text_add(&sheet->out, "<figure class=\"spread\">");
  add_caption(&one, sheet->fleet);
  plag_text_add_format(&sheet->out,
                       "<svg class=\"panel\" role=\"img\" data-figure=\"%zu\" "
                       "aria-label=\"Histogram of the %s\">",
                       figure, platelag_fleet_figure_at(figure)->name);
  plag_html_rule_add(&sheet->out, "grid", true, 100);
  plag_text_add_format(&sheet->out,
                       "<text class=\"tick\" text-anchor=\"end\" x=\"-4\" dy=\".35em\">%zu</text>",
                       one.highest);
  add_bars(&one);
  add_limits(&one, sheet->fleet);
  plag_html_rule_add(&sheet->out, "under", false, percent_of(&one, spread->median));
  plag_html_rule_add(&sheet->out, "place", false, percent_of(&one, spread->median));
  add_labels(&one);
  plag_text_add(&sheet->out, "</svg></figure>\n");
}

static double highest_limit(const platelag_fleet *fleet, size_t figure) {
  double limit = NAN;
  for (size_t i = 0; i < fleet->limit_count; i++)
    if (fleet->limit[i].figure == figure && isfinite(fleet->limit[i].limit))
      limit = fmax(limit, fleet->limit[i].limit);
  return limit;
}

bool plag_html_spreads_add(plag_html_sheet *sheet) {
  const platelag_fleet *fleet = sheet->fleet;
  double *value = calloc(fleet->valve_count + 1, sizeof *value);
  if (value == NULL)
    return false;
  plag_text_add(
      &sheet->out,
      "<section class=\"spreads\" aria-labelledby=\"spreads\"><h2 id=\"spreads\">The "
      "fleet, figure by figure</h2>\n<p>Each valve's last log. Dotted: the median; dashed: "
      "limits, one for each engine family.<span class=\"js\"> A click on a bar shows its "
      "valves.</span></p>\n<div class=\"pictures\">\n");
  for (size_t figure = 0; figure < PLATELAG_FLEET_FIGURES; figure++) {
    size_t count = 0;
    for (size_t i = 0; i < fleet->valve_count; i++)
      if (isfinite(fleet->valve[i].trend[figure].now))
        value[count++] = fleet->valve[i].trend[figure].now;
    const plag_spread spread = plag_spread_of(value, count, highest_limit(fleet, figure));
    if (spread.bins > 0)
      add_figure(sheet, &spread, figure);
  }
  plag_text_add(&sheet->out, "</div></section>\n");
  free(value);
  return true;
}
