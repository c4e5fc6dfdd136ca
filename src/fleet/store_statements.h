/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tables of a store and the statements that write them. Marks: fleet/database.h. */
#ifndef PLAG_FLEET_STORE_STATEMENTS_H
#define PLAG_FLEET_STORE_STATEMENTS_H

#define PLAG_STORE_SCHEMA 1

/* What came of a content, but for its valves. */
#define CAPTURE_COLUMNS                                                                            \
  "key, bytes, program, settings, state, why, row_count, duration_s, started_unix_s"
/* Where it was seen, and whose it is. */
#define SEEN_COLUMNS "path, key, bytes, modified_ns, vehicle, engine, at_unix_s, condition"
#define JUDGED_COLUMNS                                                                             \
  "key, run, valve, run_label, finding, family, finding_probability, free, mechanical, "           \
  "sensor_circuit, drive, sentence, next_test"
#define FIGURE_COLUMNS  "key, run, valve, figure, known, value, low, high"
#define TROUBLE_COLUMNS "path, why"
#define REPAIR_COLUMNS  "vehicle, valve, at_unix_s, what"

/* The first tells of the layout of the others. */
static const char *const plag_store_tables[] = {
    "CREATE TABLE IF NOT EXISTS store (name TEXT NOT NULL PRIMARY KEY, value @I NOT NULL)@T",
    "CREATE TABLE IF NOT EXISTS capture (key TEXT NOT NULL PRIMARY KEY, bytes @I NOT NULL, "
    "program TEXT NOT NULL, settings TEXT NOT NULL, state TEXT NOT NULL, why TEXT NOT NULL, "
    "row_count @I NOT NULL, duration_s @R NOT NULL, started_unix_s @I)@T",
    "CREATE TABLE IF NOT EXISTS seen (path TEXT NOT NULL PRIMARY KEY, key TEXT NOT NULL, "
    "bytes @I NOT NULL, modified_ns @I NOT NULL, vehicle TEXT NOT NULL, engine TEXT NOT NULL, "
    "at_unix_s @I, condition TEXT NOT NULL)@T",
    "CREATE INDEX IF NOT EXISTS seen_key ON seen (key)",
    "CREATE INDEX IF NOT EXISTS seen_vehicle ON seen (vehicle)",
    "CREATE TABLE IF NOT EXISTS judged (key TEXT NOT NULL, run @I NOT NULL, valve TEXT NOT NULL, "
    "run_label TEXT NOT NULL, finding TEXT NOT NULL, family TEXT NOT NULL, "
    "finding_probability @R NOT NULL, free @R NOT NULL, mechanical @R NOT NULL, "
    "sensor_circuit @R NOT NULL, drive @R NOT NULL, sentence TEXT NOT NULL, "
    "next_test TEXT NOT NULL, PRIMARY KEY (key, run, valve))@T",
    "CREATE INDEX IF NOT EXISTS judged_label ON judged (run_label)",
    "CREATE TABLE IF NOT EXISTS figure (key TEXT NOT NULL, run @I NOT NULL, valve TEXT NOT NULL, "
    "figure TEXT NOT NULL, known TEXT NOT NULL, value @R, low @R, high @R, "
    "PRIMARY KEY (key, run, valve, figure))@T",
    "CREATE TABLE IF NOT EXISTS trouble (path TEXT NOT NULL PRIMARY KEY, why TEXT NOT NULL)@T",
    "CREATE TABLE IF NOT EXISTS repair (vehicle TEXT NOT NULL, valve TEXT NOT NULL, "
    "at_unix_s @I NOT NULL, what TEXT NOT NULL, PRIMARY KEY (vehicle, valve, at_unix_s, what))@T",
};
enum { PLAG_STORE_TABLES = sizeof plag_store_tables / sizeof plag_store_tables[0] };

#endif
