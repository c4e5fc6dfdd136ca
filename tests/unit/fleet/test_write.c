/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small fleet as each format writes it, letter by letter; names that would steer a terminal, end
 * a JSON string or begin a formula do none of it. */
#include "support/check.h"
#include "support/made_report.h"
#include "support/made_store.h"

#include <stdlib.h>
#include <string.h>

#include "fleet/write.h"

static plag_test_store made;

static const plag_test_log LOGS[] = {{.vehicle = "bus 17",
                                      .engine = "2.0",
                                      .date = "2026-03-14",
                                      .finding = "sticking",
                                      .family = "mechanical",
                                      .probability = 0.91,
                                      .stick_band_pct = 13.2,
                                      .span_v = 2.41},
                                     {.vehicle = "bus 17",
                                      .engine = "2.0",
                                      .date = "2026-04-15 07:41",
                                      .finding = "sticking",
                                      .family = "mechanical",
                                      .probability = 0.95,
                                      .stick_band_pct = 14.6,
                                      .span_v = 2.4},
                                     {.vehicle = "=18;\"x\"\033[2J",
                                      .date = "2026-04-02",
                                      .valve = "bank 1",
                                      .finding = "signal_high",
                                      .family = "sensor_circuit",
                                      .probability = 0.88},
                                     {.vehicle = "19", .date = "2026-04-03", .closing_t63_s = 0.31},
                                     {.path = "no name.csv", .finding = "undecided"}};

static int set_up(void **state) {
  (void)state;
  plag_test_store_open(&made);
  plag_test_store_put(&made, LOGS, sizeof LOGS / sizeof *LOGS);
  plag_test_store_repair(&made, "2026-03-01,bus 17,,plates cleaned\n");
  assert_int_equal(plag_database_run(plag_store_database(made.store),
                                     "INSERT INTO trouble VALUES ('/x/cut\033.csv', 'Permission "
                                     "denied')",
                                     NULL, 0, NULL, NULL, NULL),
                   PLATELAG_OK);
  return 0;
}

static int clear(void **state) {
  (void)state;
  plag_test_store_close(&made);
  return 0;
}

typedef platelag_status write_fleet(const platelag_fleet *fleet, const platelag_sink *sink,
                                    platelag_error *error);

static void written(write_fleet *write, plag_text *out) {
  platelag_fleet *fleet = NULL;
  const platelag_sink sink = plag_test_text_sink(out);
  plag_text_reset(out);
  assert_int_equal(platelag_fleet_build(made.store, NULL, &fleet, NULL), PLATELAG_OK);
  assert_int_equal(write(fleet, &sink, NULL), PLATELAG_OK);
  platelag_fleet_destroy(fleet);
}

static platelag_status write_text(const platelag_fleet *fleet, const platelag_sink *sink,
                                  platelag_error *error) {
  const platelag_report_options options = {.width = 80};
  return platelag_fleet_write_text(fleet, &options, 0, sink, error);
}

/* Line by line, so that a failure shows the line. */
static void expect_lines(const char *is, const char *const *line, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const size_t length = strcspn(is, "\n");
    if (strlen(line[i]) != length || strncmp(is, line[i], length) != 0)
      fail_msg("line %zu:\n%.*s\nexpected:\n%s", i + 1, (int)length, is, line[i]);
    is += length + (is[length] == '\n');
  }
  assert_string_equal(is, "");
}
#define EXPECT_LINES(TEXT, LINES) expect_lines(TEXT, LINES, sizeof LINES / sizeof *LINES)

static const char *const TEXT[] = {
    "FLEET  4 vehicles, 4 valves, 5 captures, the last log of 2026-04-15",
    "",
    "WORK LIST (1)",
    "   1  bus 17 (2.0)",
    "      2 of the last 2 logs tell of sticking: mechanical, 93 % sure.",
    "      Last log: It is sticking.",
    "      Counted from the repair of 2026-03-01: plates cleaned.",
    "      Next: Sweep it by hand.",
    "",
    "RECORD AGAIN (1)",
    "   2  =18;\"x\"\xef"
    "\xbf"
    "\xbd"
    "[2J, bank 1",
    "      The only log tells of signal high: sensor circuit, 88 % sure.",
    "      Last log: It is signal_high.",
    "      One log is no ground for work: record again, and act when a second one",
    "      agrees.",
    "      Next: Sweep it by hand.",
    "",
    "UNCLEAR (1)",
    "   3  no name.csv",
    "      It is undecided.",
    "      Next: Sweep it by hand.",
    "",
    "1 valve sound.",
    "",
    "NOT JUDGED (1)",
    "  /x/cut\xef"
    "\xbf"
    "\xbd"
    ".csv: Permission denied",
    "",
    "1 log of no known vehicle, each counted as a vehicle of its own. A manifest or"
    " a",
    "pattern tells whose it is (--manifest, --pattern).",
    "1 log without a date, left out of trends (--manifest, --pattern).",
    "A place in this list is a reason to look, not a repair order. The vehicles'",
    "service information overrides every limit; follow its cautions.",
};

static void the_text_is_for_a_person(void **state) {
  (void)state;
  plag_text out = {0};
  written(write_text, &out);
  EXPECT_LINES(out.bytes, TEXT);
  plag_text_clear(&out);
}

static const char *const TABLE[] = {
    "rank,vehicle,engine,valve,standing,finding,family,probability,agreeing,logs,"
    "series_logs,last_log,last_file,p,q,worst_figure,stick_band_pct,stick_band_pc"
    "t_low,stick_band_pct_high,stick_band_pct_a_year,stick_band_pct_limit,stick_b"
    "and_pct_crosses,opening_t63_s,opening_t63_s_low,opening_t63_s_high,opening_t"
    "63_s_a_year,opening_t63_s_limit,opening_t63_s_crosses,closing_t63_s,closing_"
    "t63_s_low,closing_t63_s_high,closing_t63_s_a_year,closing_t63_s_limit,closin"
    "g_t63_s_crosses,span_v,span_v_low,span_v_high,span_v_a_year,span_v_limit,spa"
    "n_v_crosses,closed_v,closed_v_low,closed_v_high,closed_v_a_year,closed_v_lim"
    "it,closed_v_crosses,open_v,open_v_low,open_v_high,open_v_a_year,open_v_limit"
    ",open_v_crosses,void_a_minute,void_a_minute_low,void_a_minute_high,void_a_mi"
    "nute_a_year,void_a_minute_limit,void_a_minute_crosses,held_pct,held_pct_low,"
    "held_pct_high,held_pct_a_year,held_pct_limit,held_pct_crosses,moving_frictio"
    "n_pct,moving_friction_pct_low,moving_friction_pct_high,moving_friction_pct_a"
    "_year,moving_friction_pct_limit,moving_friction_pct_crosses,reasons,next_tes"
    "t\x0d",
    "1,bus 17,2.0,valve,work list,sticking,mechanical,0.930,2,2,2,2026-04-15,made"
    "/001.csv,,,,14.60,14.20,15.00,,8.00,,,,,,0.700,,,,,,0.700,,2.400,2.370,2.430"
    ",,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\"2 of the last 2 logs tell of sticking: m"
    "echanical, 93 % sure. Last log: It is sticking. Counted from the repair of 2"
    "026-03-01: plates cleaned.\",Sweep it by hand.\x0d",
    "2,\"'=18;\"\"x\"\"\xef"
    "\xbf"
    "\xbd"
    "[2J\",,bank 1,record again,signal_high,sensor_circuit,0.880,1,1,1,2026-04-02"
    ",made/002.csv,,,,,,,,8.00,,,,,,0.700,,,,,,0.700,,,,,,,,,,,,,,,,,,,,,,,,,,,,,"
    ",,,,,,,,,\"The only log tells of signal high: sensor circuit, 88 % sure. Las"
    "t log: It is signal_high. One log is no ground for work: record again, and a"
    "ct when a second one agrees.\",Sweep it by hand.\x0d",
    "3,no name.csv,,valve,unclear,undecided,undecided,,0,1,1,,no name.csv,,,,,,,,"
    "8.00,,,,,,0.700,,,,,,0.700,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,It is undecided.,Sweep it by "
    "hand.\x0d",
    "4,19,,valve,sound,free,free,,0,1,1,2026-04-03,made/003.csv,,,,,,,,8.00,,,,,,"
    "0.700,,0.310,0.260,0.360,,0.700,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,It is f"
    "ree.,Sweep it by hand.\x0d",
};

static void the_table_is_for_a_spreadsheet(void **state) {
  (void)state;
  plag_text out = {0};
  written(platelag_fleet_write_csv, &out);
  EXPECT_LINES(out.bytes, TABLE);
  plag_text_clear(&out);
}

static const char *const LINES[] = {
    "{\"schema\": \"platelag.fleet-log/1\", \"vehicle\": \"19\", \"engine\": \"\""
    ", \"valve\": \"valve\", \"file\": \"made/003.csv\", \"key\": \"db8687a7d7197"
    "42407558a44b1ce084b\", \"run\": 0, \"series\": 0, \"at\": \"2026-04-03T00:00"
    ":00\", \"condition\": \"road\", \"finding\": \"free\", \"family\": \"free\","
    " \"finding_probability\": 0.9, \"probability\": {\"free\": 0.9, \"mechanical"
    "\": 0.0333333, \"sensor_circuit\": 0.0333333, \"drive\": 0.0333333}, \"stick"
    "_band_pct\": null, \"opening_t63_s\": null, \"closing_t63_s\": {\"value\": 0"
    ".31, \"low\": 0.26, \"high\": 0.36}, \"span_v\": null, \"closed_v\": null, "
    "\"open_v\": null, \"void_a_minute\": null, \"held_pct\": null, \"moving_fric"
    "tion_pct\": null, \"sentence\": \"It is free.\", \"next_test\": \"Sweep it b"
    "y hand.\", \"version\": \"0.1.0\"}",
    "{\"schema\": \"platelag.fleet-log/1\", \"vehicle\": \"=18;\\\"x\\\"\\u001b[2"
    "J\", \"engine\": \"\", \"valve\": \"bank 1\", \"file\": \"made/002.csv\", \""
    "key\": \"b11b702289744e325486a4f1852b368e\", \"run\": 0, \"series\": 0, \"at"
    "\": \"2026-04-02T00:00:00\", \"condition\": \"road\", \"finding\": \"signal_"
    "high\", \"family\": \"sensor_circuit\", \"finding_probability\": 0.88, \"pro"
    "bability\": {\"free\": 0.04, \"mechanical\": 0.04, \"sensor_circuit\": 0.88,"
    " \"drive\": 0.04}, \"stick_band_pct\": null, \"opening_t63_s\": null, \"clos"
    "ing_t63_s\": null, \"span_v\": null, \"closed_v\": null, \"open_v\": null, "
    "\"void_a_minute\": null, \"held_pct\": null, \"moving_friction_pct\": null, "
    "\"sentence\": \"It is signal_high.\", \"next_test\": \"Sweep it by hand.\", "
    "\"version\": \"0.1.0\"}",
    "{\"schema\": \"platelag.fleet-log/1\", \"vehicle\": \"bus 17\", \"engine\": "
    "\"2.0\", \"valve\": \"valve\", \"file\": \"made/000.csv\", \"key\": \"2109d1"
    "2fdbb23670ca29dbbe39329dbc\", \"run\": 0, \"series\": 0, \"at\": \"2026-03-1"
    "4T00:00:00\", \"condition\": \"road\", \"finding\": \"sticking\", \"family\""
    ": \"mechanical\", \"finding_probability\": 0.91, \"probability\": {\"free\":"
    " 0.03, \"mechanical\": 0.91, \"sensor_circuit\": 0.03, \"drive\": 0.03}, \"s"
    "tick_band_pct\": {\"value\": 13.2, \"low\": 12.8, \"high\": 13.6}, \"opening"
    "_t63_s\": null, \"closing_t63_s\": null, \"span_v\": {\"value\": 2.41, \"low"
    "\": 2.38, \"high\": 2.44}, \"closed_v\": null, \"open_v\": null, \"void_a_mi"
    "nute\": null, \"held_pct\": null, \"moving_friction_pct\": null, \"sentence"
    "\": \"It is sticking.\", \"next_test\": \"Sweep it by hand.\", \"version\": "
    "\"0.1.0\"}",
    "{\"schema\": \"platelag.fleet-log/1\", \"vehicle\": \"bus 17\", \"engine\": "
    "\"2.0\", \"valve\": \"valve\", \"file\": \"made/001.csv\", \"key\": \"e40a1e"
    "ffaf5e440cae8a635ad70ea451\", \"run\": 0, \"series\": 0, \"at\": \"2026-04-1"
    "5T07:41:00\", \"condition\": \"road\", \"finding\": \"sticking\", \"family\""
    ": \"mechanical\", \"finding_probability\": 0.95, \"probability\": {\"free\":"
    " 0.0166667, \"mechanical\": 0.95, \"sensor_circuit\": 0.0166667, \"drive\": "
    "0.0166667}, \"stick_band_pct\": {\"value\": 14.6, \"low\": 14.2, \"high\": 1"
    "5}, \"opening_t63_s\": null, \"closing_t63_s\": null, \"span_v\": {\"value\""
    ": 2.4, \"low\": 2.37, \"high\": 2.43}, \"closed_v\": null, \"open_v\": null,"
    " \"void_a_minute\": null, \"held_pct\": null, \"moving_friction_pct\": null,"
    " \"sentence\": \"It is sticking.\", \"next_test\": \"Sweep it by hand.\", \""
    "version\": \"0.1.0\"}",
    "{\"schema\": \"platelag.fleet-log/1\", \"vehicle\": \"\", \"engine\": \"\", "
    "\"valve\": \"valve\", \"file\": \"no name.csv\", \"key\": \"2dc0958032a367e5"
    "6453fe82f5e210f1\", \"run\": 0, \"series\": 0, \"at\": null, \"condition\": "
    "\"road\", \"finding\": \"undecided\", \"family\": \"undecided\", \"finding_p"
    "robability\": 0.9, \"probability\": {\"free\": 0.0333333, \"mechanical\": 0."
    "0333333, \"sensor_circuit\": 0.0333333, \"drive\": 0.0333333}, \"stick_band_"
    "pct\": null, \"opening_t63_s\": null, \"closing_t63_s\": null, \"span_v\": n"
    "ull, \"closed_v\": null, \"open_v\": null, \"void_a_minute\": null, \"held_p"
    "ct\": null, \"moving_friction_pct\": null, \"sentence\": \"It is undecided."
    "\", \"next_test\": \"Sweep it by hand.\", \"version\": \"0.1.0\"}",
};

static void each_log_is_a_line_of_json(void **state) {
  (void)state;
  plag_text out = {0};
  written(platelag_fleet_write_jsonl, &out);
  EXPECT_LINES(out.bytes, LINES);
  plag_text_clear(&out);
}

static const char *const METRICS[] = {
    "# HELP platelag_fleet_valves Valves by what is to be done about them.",
    "# TYPE platelag_fleet_valves gauge",
    "platelag_fleet_valves{standing=\"work list\"} 1",
    "platelag_fleet_valves{standing=\"growing worse\"} 0",
    "platelag_fleet_valves{standing=\"record again\"} 1",
    "platelag_fleet_valves{standing=\"unusual\"} 0",
    "platelag_fleet_valves{standing=\"unclear\"} 1",
    "platelag_fleet_valves{standing=\"sound\"} 1",
    "# HELP platelag_fleet_findings Valves by their finding in the present series.",
    "# TYPE platelag_fleet_findings gauge",
    "platelag_fleet_findings{finding=\"free\"} 1",
    "platelag_fleet_findings{finding=\"slow\"} 0",
    "platelag_fleet_findings{finding=\"sticking\"} 1",
    "platelag_fleet_findings{finding=\"short_travel\"} 0",
    "platelag_fleet_findings{finding=\"still\"} 0",
    "platelag_fleet_findings{finding=\"signal_high\"} 1",
    "platelag_fleet_findings{finding=\"signal_low\"} 0",
    "platelag_fleet_findings{finding=\"signal_erratic\"} 0",
    "platelag_fleet_findings{finding=\"signal_shifted\"} 0",
    "platelag_fleet_findings{finding=\"undecided\"} 1",
    "# HELP platelag_fleet_captures Captures that were judged.",
    "# TYPE platelag_fleet_captures gauge",
    "platelag_fleet_captures 5",
    "# HELP platelag_fleet_vehicles Vehicles with a judged capture.",
    "# TYPE platelag_fleet_vehicles gauge",
    "platelag_fleet_vehicles 4",
    "# HELP platelag_fleet_refused Files that are no captures.",
    "# TYPE platelag_fleet_refused gauge",
    "platelag_fleet_refused 0",
    "# HELP platelag_fleet_unread Files that could not be read.",
    "# TYPE platelag_fleet_unread gauge",
    "platelag_fleet_unread 1",
    "# HELP platelag_fleet_outdated Logs judged by another version.",
    "# TYPE platelag_fleet_outdated gauge",
    "platelag_fleet_outdated 0",
    "# HELP platelag_fleet_latest_log_seconds When the latest dated log was begun, "
    "seconds since 1970.",
    "# TYPE platelag_fleet_latest_log_seconds gauge",
    "platelag_fleet_latest_log_seconds 1776238860",
};

static void metrics_are_for_a_collector(void **state) {
  (void)state;
  plag_text out = {0};
  written(platelag_fleet_write_metrics, &out);
  EXPECT_LINES(out.bytes, METRICS);
  plag_text_clear(&out);
}

/* --- pieces ---------------------------------------------------------------------------------- */

static void json_texts_are_escaped(void **state) {
  (void)state;
  static const struct {
    const char *text, *json;
  } TEXTS[] = {{"", "\"\""},
               {"bus 17", "\"bus 17\""},
               {"a\"b\\c/d", "\"a\\\"b\\\\c/d\""},
               {"tab\tline\nend\033\x7f", "\"tab\\u0009line\\u000aend\\u001b\\u007f\""},
               {"\xc2\x9b\xe2\x80\xae.vsc", "\"\\u009b\\u202e.vsc\""},
               {"</script>", "\"\\u003c/script>\""},
               {"D\xc3\xbcse \xfc", "\"D\xc3\xbcse \xef\xbf\xbd\""}};
  for (size_t i = 0; i < sizeof TEXTS / sizeof *TEXTS; i++) {
    plag_text out = {0};
    plag_json_add_text(&out, TEXTS[i].text);
    assert_string_equal(out.bytes, TEXTS[i].json);
    plag_text_clear(&out);
  }
}

static void numbers_and_dates_are_plain_or_null(void **state) {
  (void)state;
  plag_text out = {0};
  plag_json_add_number(&out, 13.2);
  plag_text_add_char(&out, ' ');
  plag_json_add_number(&out, NAN);
  plag_text_add_char(&out, ' ');
  plag_json_add_number(&out, -INFINITY);
  plag_text_add_char(&out, ' ');
  plag_json_add_stamp(&out, true, 1773474072);
  plag_text_add_char(&out, ' ');
  plag_json_add_stamp(&out, false, 1773474072);
  plag_text_add_char(&out, ' ');
  plag_json_add_stamp(&out, true, INT64_MAX);
  plag_text_add_char(&out, ' ');
  plag_write_figure(&out, 1, 0.2449);
  plag_write_figure(&out, 1, NAN);
  assert_string_equal(out.bytes, "13.2 null null \"2026-03-14T07:41:12\" null null 0.24");
  plag_text_clear(&out);
}

static platelag_status refuse(void *context, const char *bytes, size_t size,
                              platelag_error *error) {
  (void)bytes;
  (void)size;
  (void)error;
  ++*(int *)context;
  return PLATELAG_ERROR_IO;
}

static void a_sink_that_fails_ends_the_writing(void **state) {
  (void)state;
  static write_fleet *const writers[] = {write_text, platelag_fleet_write_csv,
                                         platelag_fleet_write_jsonl, platelag_fleet_write_metrics};
  platelag_fleet *fleet = NULL;
  assert_int_equal(platelag_fleet_build(made.store, NULL, &fleet, NULL), PLATELAG_OK);
  for (size_t i = 0; i < sizeof writers / sizeof *writers; i++) {
    int calls = 0;
    const platelag_sink sink = {.context = &calls, .write = refuse};
    assert_int_equal(writers[i](fleet, &sink, NULL), PLATELAG_ERROR_IO);
    assert_int_equal(calls, 1);
  }
  platelag_fleet_destroy(fleet);
}

/* An empty store is a fleet too. */
static void a_fleet_of_nothing_is_written(void **state) {
  (void)state;
  plag_test_store full = made;
  plag_text out = {0};
  plag_test_store_open(&made);
  written(write_text, &out);
  assert_non_null(strstr(out.bytes, "FLEET  0 vehicles, 0 valves, 0 captures\n"));
  written(platelag_fleet_write_csv, &out);
  assert_ptr_equal(strchr(out.bytes, '\n'), out.bytes + out.length - 1);
  written(platelag_fleet_write_jsonl, &out);
  assert_int_equal(out.length, 0);
  plag_text_clear(&out);
  plag_test_store_close(&made);
  made = full;
}

int main(void) {
#define FRESH(name) cmocka_unit_test_setup_teardown(name, set_up, clear)
  const struct CMUnitTest tests[] = {
      FRESH(the_text_is_for_a_person),
      FRESH(the_table_is_for_a_spreadsheet),
      FRESH(each_log_is_a_line_of_json),
      FRESH(metrics_are_for_a_collector),
      cmocka_unit_test(json_texts_are_escaped),
      cmocka_unit_test(numbers_and_dates_are_plain_or_null),
      FRESH(a_sink_that_fails_ends_the_writing),
      FRESH(a_fleet_of_nothing_is_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
