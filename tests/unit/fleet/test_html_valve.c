/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rows of a valve: no name becomes markup or ends the data, the picture shows what the trend
 * saw, and the figure that is shown is the one that tells most. */
#include "support/check.h"

#include <math.h>
#include <string.h>

#include "fleet/html_valve.h"

enum { LOGS = 5, BAND = 0, OPENING = 1, CLOSING = 2, VOID = 6, HELD = 7 };

typedef struct made {
  platelag_fleet_log log[LOGS];
  platelag_fleet_logs logs;
  plag_page page;
  plag_fleet_book book;
  platelag_fleet_valve valve;
  platelag_fleet fleet;
  platelag_fleet_page shown;
  const char *reason[2];
  plag_html_sheet sheet;
} made;

static const double bands[LOGS] = {7.31, 8.12, 1.37, 1.52, 1.71};

static void make(made *m) {
  memset(m, 0, sizeof *m);
  for (int i = 0; i < LOGS; i++) {
    m->log[i] = (platelag_fleet_log){.file = "a/b\"</script>/x.csv",
                                     .key = "8a3c80b9d832c15c",
                                     .dated = true,
                                     .at_unix_s = 1775433600 + i * 2592000,
                                     .series = i < 2 ? 0 : 1,
                                     .finding_probability = 0.8371};
    m->log[i].figure[BAND] =
        (platelag_estimate){PLATELAG_KNOWN_VALUE, bands[i], bands[i] - 0.41, bands[i] + 0.53};
    m->log[i].figure[OPENING] =
        (platelag_estimate){PLATELAG_KNOWN_UPPER_LIMIT, NAN, -INFINITY, 0.382};
  }
  m->log[3].condition = PLATELAG_CONDITION_HAND_SWEEP;
  m->logs = (platelag_fleet_logs){LOGS, m->log};
  m->reason[0] = "first <b>";
  m->reason[1] = "second & \xff";
  platelag_fleet_valve *valve = &m->valve;
  *valve = (platelag_fleet_valve){.rank = 1,
                                  .vehicle = "<img src=x>\033[31m",
                                  .engine = "\"six\" 3.0",
                                  .valve = "bank <2>",
                                  .logs = LOGS,
                                  .finding = PLATELAG_FINDING_SIGNAL_HIGH,
                                  .probability = 0.947,
                                  .agreeing = 2,
                                  .q = NAN,
                                  .worst = CLOSING,
                                  .reason_count = 2,
                                  .reason = m->reason,
                                  .next_test = "a<b",
                                  .last_file = m->log[LOGS - 1].file,
                                  .last_key = m->log[LOGS - 1].key,
                                  .last_sentence = "it's <high>"};
  for (size_t i = 0; i < PLATELAG_FLEET_FIGURES; i++) {
    valve->trend[i] = (platelag_fleet_trend){.now = NAN, .usual = NAN, .limit = NAN};
    m->page.level_now[i] = NAN;
  }
  valve->trend[BAND] = (platelag_fleet_trend){.logs = 2,
                                              .now = 1.71,
                                              .usual = 1.7,
                                              .limit = 2.385,
                                              .slope_a_year = 2.07,
                                              .slope_low = -INFINITY};
  m->page.level_now[BAND] = 1.71;
  m->page.last_shown_unix_s[BAND] = m->log[LOGS - 1].at_unix_s;
  m->book.page = &m->page;
  m->book.page_count = 1;
  m->page.valve = valve;
  m->book.valve = valve;
  m->fleet = (platelag_fleet){.valve_count = 1, .valve = &m->valve, .book = &m->book};
  m->sheet = (plag_html_sheet){.fleet = &m->fleet, .page = &m->shown, .with_engines = true};
}

static void expect(const made *m, const char *part) {
  if (strstr(m->sheet.out.bytes, part) == NULL)
    fail_msg("\"%s\" is not in: %s", part, m->sheet.out.bytes);
}

static bool is_there(void *context, const char *key) {
  (void)context;
  return strcmp(key, "8a3c80b9d832c15c") == 0;
}

static void names_stay_text(void **state) {
  (void)state;
  static made m;
  make(&m);
  m.shown = (platelag_fleet_page){.folder = "x y", .is_there = is_there};
  plag_html_valve_add(&m.sheet, 0, &m.logs);
  expect(&m, "<span>&lt;img src=x&gt;\xef\xbf\xbd[31m</span><small>bank &lt;2&gt;</small>");
  expect(&m, "<td>&quot;six&quot; 3.0</td>");
  expect(&m, "<b>signal high</b>, free, 95 % sure, 2 logs agree. it&#39;s &lt;high&gt;");
  expect(&m, "<li>first &lt;b&gt;</li><li>second &amp; \xef\xbf\xbd</li>");
  expect(&m, "<a href=\"./x%20y/8a3c80b9d832c15c.html\">a/b&quot;&lt;/script&gt;/x.csv</a>");
  expect(
      &m,
      "\"f\":\"a/b\\\"\\u003c/script>/\",\"l\":[[\"8a3c80b9d832c15c\",\"x.csv\",1775433600,0,0,");
  assert_null(strstr(m.sheet.out.bytes, "<img"));
  assert_null(strstr(m.sheet.out.bytes, "\"</script>"));
  plag_text_clear(&m.sheet.out);
}

static void a_path_is_told_by_its_file(void **state) {
  (void)state;
  static made m;
  make(&m);
  m.valve.vehicle = "logs/of <may>/tour 3.csv";
  m.valve.last_file = m.valve.vehicle;
  plag_html_valve_add(&m.sheet, 0, &m.logs);
  expect(&m,
         "<span>tour 3.csv</span><small>bank &lt;2&gt;</small><small>logs/of &lt;may&gt;</small>");
  plag_text_clear(&m.sheet.out);
}

static void figures_are_told_once_each(void **state) {
  (void)state;
  static made m;
  make(&m);
  plag_html_valve_data_add(&m.sheet, 0, &m.logs);
  expect(&m, "{\"t\":[[1.7,2.07,null,0,0,1.71,2.385,0],0,0,0,0,0,0,0,0],");
  expect(&m, ",0.84,0,\"731 41 53,191 191 191~,,,,,,,\"]"); /* of at most 0.382: the middle */
  plag_text_clear(&m.sheet.out);
}

/* How often `what` stands in the text. */
static size_t count_of(const char *text, const char *what) {
  size_t count = 0;
  for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what))
    count++;
  return count;
}

static void the_picture_shows_what_the_trend_saw(void **state) {
  (void)state;
  static made m;
  make(&m);
  m.valve.q = 0.003;
  m.valve.worst = BAND;
  plag_html_valve_add(&m.sheet, 0, &m.logs);
  const char *picture = strstr(m.sheet.out.bytes, "<svg class=\"trend\"");
  char *end = strstr(m.sheet.out.bytes, "</small></td>");
  assert_non_null(picture);
  assert_non_null(strstr(picture, "learned") == NULL ? picture : NULL);
  *end = '\0';
  assert_int_equal(count_of(picture, "h0"), 4); /* a hand sweep is no point of it */
  assert_int_equal(count_of(picture, "class=\"old\""), 1);
  assert_int_equal(count_of(picture, "class=\"repair\""), 1);
  assert_int_equal(count_of(picture, "class=\"fit\""), 1);
  assert_int_equal(count_of(picture, "class=\"limit\""), 1);
  assert_non_null(strstr(picture, "limit 2.4; grows by 2.1 a year"));
  plag_text_clear(&m.sheet.out);
}

static const struct {
  platelag_finding_kind finding;
  double q, band, opening, closing, held;
  size_t figure;
} shown[] = {
    {PLATELAG_FINDING_FREE, 0.03, 1.7, 0.21, 0.22, 0, CLOSING}, /* the trend that stands out */
    {PLATELAG_FINDING_FREE, 0.2, 1.7, 0.21, 0.22, 0, BAND},     /* the nearest to its limit */
    {PLATELAG_FINDING_SLOW, NAN, 1.7, 0.71, 0.22, 0, OPENING},
    {PLATELAG_FINDING_STICKING, NAN, 7.3, 0.71, 0.22, 9, BAND},
    {PLATELAG_FINDING_STICKING, NAN, 1.7, 0.71, 0.22, 9, HELD},
    {PLATELAG_FINDING_SIGNAL_ERRATIC, NAN, 1.7, 0.71, 0.22, 0, VOID},
    {PLATELAG_FINDING_SHORT_TRAVEL, NAN, 1.7, 0.11, 0.12, 0, BAND}, /* its span is not known */
};

static void the_figure_is_the_one_that_tells_most(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
    platelag_fleet_valve valve = {.finding = shown[i].finding, .q = shown[i].q, .worst = CLOSING};
    const double now[PLATELAG_FLEET_FIGURES] = {
        shown[i].band, shown[i].opening, shown[i].closing, NAN, 1.2, 3.7, 0.4, shown[i].held};
    for (size_t k = 0; k < PLATELAG_FLEET_FIGURES; k++)
      valve.trend[k] = (platelag_fleet_trend){.now = now[k],
                                              .usual = now[k],
                                              .limit = k == BAND      ? 2.385
                                                       : k <= CLOSING ? 0.37
                                                                      : NAN};
    assert_int_equal(plag_html_figure_of(&valve), shown[i].figure);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(names_stay_text),
      cmocka_unit_test(a_path_is_told_by_its_file),
      cmocka_unit_test(figures_are_told_once_each),
      cmocka_unit_test(the_picture_shows_what_the_trend_saw),
      cmocka_unit_test(the_figure_is_the_one_that_tells_most),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
