/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag fleet in three parts: options and the store, what is told meanwhile, what is written. */
#ifndef PLATELAG_CLI_FLEET_H
#define PLATELAG_CLI_FLEET_H

#include <time.h>

#include "cli.h"

typedef struct cli_fleet_arguments {
  const char **path; /* room for every argument */
  size_t path_count;
  const char *store, *manifest, *pattern, *spec, *command, *position, *capture;
  const char *html, *jsonl, *csv, *metrics;
  double rows_per_second;
  uint64_t jobs, most, reports;
  unsigned shard, shards;
  cli_color color;
  bool redo, reread, report, merge, quiet;
} cli_fleet_arguments;

/* How far the run is, told on standard error. */
typedef struct cli_progress {
  struct timespec begun, told;
  bool terminal;
  bool shown; /* a line stands on the terminal */
} cli_progress;
void cli_progress_begin(cli_progress *progress);
void cli_progress_tell(void *progress, const platelag_fleet_counts *counts);
void cli_progress_end(const cli_progress *progress, const platelag_fleet_counts *counts);

/* Signals that ask for an end: which one was caught, 0 for none. */
void cli_catch_signals(void);
int cli_caught(void);

/* Writes what was asked for: files, the page, the text. */
platelag_status cli_fleet_write(const cli_fleet_arguments *given, platelag_fleet_store *store,
                                const platelag_spec *spec, cli_output *output,
                                platelag_error *error);
/* Writes one capture's own report. */
platelag_status cli_fleet_write_capture(const cli_fleet_arguments *given,
                                        platelag_fleet_store *store, const platelag_spec *spec,
                                        cli_output *output, platelag_error *error);

#endif
