/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A summary in the text exposition format of monitoring systems (OpenMetrics' elder sister): a
 * collector reads it from a file. */
#include "fleet/write.h"

static void add_gauge(plag_text *out, const char *name, const char *help) {
  plag_text_add_format(out, "# HELP platelag_fleet_%s %s\n# TYPE platelag_fleet_%s gauge\n", name,
                       help, name);
}

static void add_value(plag_text *out, const char *name, const char *label, const char *value,
                      size_t count) {
  plag_text_add_format(out, "platelag_fleet_%s", name);
  if (label != NULL)
    plag_text_add_format(out, "{%s=\"%s\"}", label, value);
  plag_text_add_format(out, " %zu\n", count);
}

static void add_standings(plag_text *out, const platelag_fleet *fleet) {
  size_t count[PLATELAG_FLEET_STANDINGS] = {0};
  for (size_t i = 0; i < fleet->valve_count; i++)
    count[fleet->valve[i].standing]++;
  add_gauge(out, "valves", "Valves by what is to be done about them.");
  for (int i = 0; i < PLATELAG_FLEET_STANDINGS; i++)
    add_value(out, "valves", "standing", platelag_fleet_standing_name((platelag_fleet_standing)i),
              count[i]);
}

static void add_findings(plag_text *out, const platelag_fleet *fleet) {
  size_t count[PLATELAG_FINDING_COUNT] = {0};
  for (size_t i = 0; i < fleet->valve_count; i++)
    count[fleet->valve[i].finding]++;
  add_gauge(out, "findings", "Valves by their finding in the present series.");
  for (int i = 0; i < PLATELAG_FINDING_COUNT; i++)
    add_value(out, "findings", "finding", platelag_finding_name((platelag_finding_kind)i),
              count[i]);
}

platelag_status platelag_fleet_write_metrics(const platelag_fleet *fleet, const platelag_sink *sink,
                                             platelag_error *error) {
  size_t refused = 0;
  plag_text text = {0};
  for (size_t i = 0; i < fleet->trouble_count; i++)
    refused += fleet->trouble[i].refused;
  add_standings(&text, fleet);
  add_findings(&text, fleet);
  const struct {
    const char *name, *help;
    size_t count;
  } rest[] = {
      {"captures", "Captures that were judged.", fleet->captures},
      {"vehicles", "Vehicles with a judged capture.", fleet->vehicles},
      {"refused", "Files that are no captures.", refused},
      {"unread", "Files that could not be read.", fleet->trouble_count - refused},
      {"outdated", "Logs judged by another version.", fleet->outdated},
  };
  for (size_t i = 0; i < sizeof rest / sizeof rest[0]; i++) {
    add_gauge(&text, rest[i].name, rest[i].help);
    add_value(&text, rest[i].name, NULL, NULL, rest[i].count);
  }
  add_gauge(&text, "latest_log_seconds",
            "When the latest dated log was begun, seconds since 1970.");
  plag_text_add_format(&text, "platelag_fleet_latest_log_seconds %lld\n",
                       (long long)fleet->latest_unix_s);
  const platelag_status status = plag_write_text(&text, sink, error);
  plag_text_clear(&text);
  return status;
}
