/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/html_trend.h"

#include "core/calendar.h"

/* Whole numbers are short; the style makes it a tenth as wide. */
enum { WIDE = 1440, HIGH = 400, EDGE = 36 };

typedef struct frame {
  const plag_html_trend *trend;
  bool dated; /* at least one point is: those without a date have no place */
  double from, to, low, high;
} frame;

/* When a log was, in days, or its number where no log is dated. NaN: not drawn. */
static double place_of(const frame *f, size_t log) {
  const platelag_fleet_log *one = &f->trend->logs->log[log];
  if (!plag_log_on_road(one) || !isfinite(plag_log_point(one, f->trend->figure).value))
    return NAN;
  if (!f->dated)
    return (double)log;
  return one->dated ? (double)one->at_unix_s / PLAG_DAY_SECONDS : NAN;
}

static long across(const frame *f, double at) {
  const double share = f->to > f->from ? (at - f->from) / (f->to - f->from) : 0.5;
  return lround(EDGE + share * (WIDE - 2 * EDGE));
}

static long down(const frame *f, double value) {
  const double share = f->high > f->low ? (value - f->low) / (f->high - f->low) : 0.5;
  return lround(HIGH - EDGE - fmin(fmax(share, 0), 1) * (HIGH - 2 * EDGE));
}

static double limit_of(const plag_html_trend *trend) {
  return trend->page->valve->trend[trend->figure].limit;
}

/* What is to be seen: all points with their intervals, and the limit. */
static bool set_frame(frame *f) {
  const platelag_fleet_logs *logs = f->trend->logs;
  for (size_t i = 0; i < logs->count && !f->dated; i++)
    f->dated = logs->log[i].dated && isfinite(place_of(f, i));
  f->from = f->low = INFINITY;
  f->to = f->high = -INFINITY;
  for (size_t i = 0; i < logs->count; i++) {
    const double at = place_of(f, i);
    if (!isfinite(at))
      continue;
    const plag_trend_point point = plag_log_point(&logs->log[i], f->trend->figure);
    f->from = fmin(f->from, at);
    f->to = fmax(f->to, at);
    f->low = fmin(f->low, point.low);
    f->high = fmax(f->high, point.high);
  }
  f->low = fmin(f->low, limit_of(f->trend));
  f->high = fmax(f->high, limit_of(f->trend));
  /* One point alone shows nothing but against a limit. */
  return isfinite(f->from) && isfinite(f->low) && isfinite(f->high) &&
         (f->to > f->from || isfinite(limit_of(f->trend)));
}

static void add_limit(plag_text *out, const frame *f) {
  if (isfinite(limit_of(f->trend)))
    plag_text_add_format(out, "<path class=\"limit\" d=\"M0 %ldH%d\"/>",
                         down(f, limit_of(f->trend)), WIDE);
}

/* Intervals, and a rule before each series but the first. */
static void add_bars(plag_text *out, const frame *f) {
  const platelag_fleet_logs *logs = f->trend->logs;
  double before = NAN;
  int series = 0;
  plag_text repairs = {0};
  plag_text_add(out, "<path class=\"bar\" d=\"");
  for (size_t i = 0; i < logs->count; i++) {
    const double at = place_of(f, i);
    if (!isfinite(at))
      continue;
    const plag_trend_point point = plag_log_point(&logs->log[i], f->trend->figure);
    plag_text_add_format(out, "M%ld %ldV%ld", across(f, at), down(f, point.low),
                         down(f, point.high));
    if (isfinite(before) && logs->log[i].series != series)
      plag_text_add_format(&repairs, "M%ld 0V%d", across(f, (before + at) / 2), HIGH);
    before = at;
    series = logs->log[i].series;
  }
  plag_text_add(out, "\"/>");
  if (repairs.length > 0) {
    plag_text_add(out, "<path class=\"repair\" d=\"");
    plag_text_add(out, repairs.bytes);
    plag_text_add(out, "\"/>");
  }
  out->failed = out->failed || repairs.failed;
  plag_text_clear(&repairs);
}

/* Points of the present series, or of those before it, as dots that round line ends make. */
static void add_dots(plag_text *out, const frame *f, bool present) {
  const platelag_fleet_logs *logs = f->trend->logs;
  bool any = false;
  for (size_t i = 0; i < logs->count; i++) {
    const double at = place_of(f, i);
    if (!isfinite(at) || (logs->log[i].series == logs->log[logs->count - 1].series) != present)
      continue;
    plag_text_add(out, any       ? ""
                       : present ? "<path class=\"dot\" d=\""
                                 : "<path class=\"old\" d=\"");
    plag_text_add_format(out, "M%ld %ldh0", across(f, at),
                         down(f, plag_log_point(&logs->log[i], f->trend->figure).value));
    any = true;
  }
  plag_text_add(out, any ? "\"/>" : "");
}

/* The line through the present series, from its first log to its last. */
static void add_line(plag_text *out, const frame *f) {
  const plag_html_trend *trend = f->trend;
  const double level_now = trend->page->level_now[trend->figure];
  const double slope_a_year = trend->page->valve->trend[trend->figure].slope_a_year;
  if (!trend->with_line || isnan(level_now) || !f->dated)
    return;
  const double to = (double)trend->page->last_shown_unix_s[trend->figure] / PLAG_DAY_SECONDS;
  double from = to;
  for (size_t i = trend->logs->count; i-- > 0;)
    if (isfinite(place_of(f, i)) &&
        trend->logs->log[i].series == trend->logs->log[trend->logs->count - 1].series)
      from = place_of(f, i);
  const double begin = level_now - slope_a_year * (to - from) / PLAG_DAYS_A_YEAR;
  plag_text_add_format(out, "<path class=\"fit\" d=\"M%ld %ldL%ld %ld\"/>", across(f, from),
                       down(f, begin), across(f, to), down(f, level_now));
}

void plag_html_trend_add(plag_text *out, const plag_html_trend *trend) {
  frame f = {.trend = trend};
  if (!set_frame(&f))
    return;
  plag_text_add_format(out, "<svg class=\"trend\" viewBox=\"0 0 %d %d\" aria-hidden=\"true\">",
                       WIDE, HIGH);
  add_limit(out, &f);
  add_bars(out, &f);
  add_line(out, &f);
  add_dots(out, &f, false);
  add_dots(out, &f, true);
  plag_text_add(out, "</svg>");
}
