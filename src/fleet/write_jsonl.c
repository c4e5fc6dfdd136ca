/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/book.h"
#include "fleet/write.h"

/* One valve's logs, a line each. */
typedef struct lines {
  plag_text text;
  const platelag_sink *sink;
} lines;

static void add_key(plag_text *out, const char *key) {
  plag_text_add_format(out, ", \"%s\": ", key);
}

static void add_pair(plag_text *out, const char *key, const char *text) {
  add_key(out, key);
  plag_json_add_text(out, text);
}

/* As in a review: null, or value, low and high; a limit has no value. */
static void add_estimate(plag_text *out, const char *key, const platelag_estimate *of) {
  add_key(out, key);
  if (of->known == PLATELAG_KNOWN_NOTHING) {
    plag_text_add(out, "null");
    return;
  }
  plag_text_add(out, "{\"value\": ");
  plag_json_add_number(out, of->value);
  plag_text_add(out, ", \"low\": ");
  plag_json_add_number(out, of->low);
  plag_text_add(out, ", \"high\": ");
  plag_json_add_number(out, of->high);
  plag_text_add_char(out, '}');
}

static void add_log(plag_text *out, const plag_valve_logs *valve, const platelag_fleet_log *log) {
  plag_text_add(out, "{\"schema\": \"platelag.fleet-log/1\"");
  add_pair(out, "vehicle", valve->named_by == PLAG_NAMED_BY_NONE ? "" : valve->vehicle);
  add_pair(out, "engine", valve->engine);
  add_pair(out, "valve", valve->valve);
  add_pair(out, "file", log->file);
  add_pair(out, "key", log->key);
  plag_text_add_format(out, ", \"run\": %d, \"series\": %d, \"at\": ", log->run, log->series);
  plag_json_add_stamp(out, log->dated, log->at_unix_s);
  add_pair(out, "condition", platelag_condition_name(log->condition));
  add_pair(out, "finding", platelag_finding_name(log->finding));
  add_pair(out, "family", platelag_family_name(log->family));
  add_key(out, "finding_probability");
  plag_json_add_number(out, log->finding_probability);
  add_key(out, "probability");
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    plag_text_add_format(out, "%s\"%s\": ", i == 0 ? "{" : ", ",
                         platelag_family_name((platelag_family)i));
    plag_json_add_number(out, log->probability[i]);
  }
  plag_text_add_char(out, '}');
  for (size_t i = 0; i < PLAG_FIGURE_COUNT; i++)
    add_estimate(out, platelag_fleet_figure_at(i)->key, &log->figure[i]);
  add_pair(out, "sentence", log->sentence);
  add_pair(out, "next_test", log->next_test);
  add_pair(out, "version", log->program);
  plag_text_add(out, "}\n");
}

static platelag_status take_valve(void *context, const plag_valve_logs *valve,
                                  platelag_error *error) {
  lines *to = context;
  for (size_t i = 0; i < valve->count; i++)
    add_log(&to->text, valve, &valve->log[i]);
  return plag_write_text(&to->text, to->sink, error);
}

platelag_status platelag_fleet_write_jsonl(const platelag_fleet *fleet, const platelag_sink *sink,
                                           platelag_error *error) {
  const plag_logs_wanted all = {0};
  lines to = {.sink = sink};
  const platelag_status status =
      plag_logs_visit(fleet->book->store, &fleet->book->repairs, &all, take_valve, &to, error);
  plag_text_clear(&to.text);
  return status;
}
