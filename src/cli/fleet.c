/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag fleet: thousands of captures into a store, and the ranking that comes of it. */
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "fleet.h"

enum {
  OPTION_STORE = 256,
  OPTION_JOBS,
  OPTION_MANIFEST,
  OPTION_PATTERN,
  OPTION_SPEC,
  OPTION_COMMAND,
  OPTION_POSITION,
  OPTION_RATE,
  OPTION_SHARD,
  OPTION_REDO,
  OPTION_REREAD,
  OPTION_REPORT,
  OPTION_MERGE,
  OPTION_CAPTURE,
  OPTION_MOST,
  OPTION_HTML,
  OPTION_REPORTS,
  OPTION_JSONL,
  OPTION_CSV,
  OPTION_METRICS,
  OPTION_COLOR,
  OPTION_QUIET
};

static const struct argp_option options[] = {
    {NULL, 0, NULL, 0, "The run:", 1},
    {"store", OPTION_STORE, "FILE", 0,
     "Where results are kept, a file or postgresql://...; made when it is not there", 1},
    {"jobs", OPTION_JOBS, "N", 0, "Workers (one a processor)", 1},
    {"redo", OPTION_REDO, NULL, 0, "Judge again what another version, or another spec, has judged",
     1},
    {"reread", OPTION_REREAD, NULL, 0,
     "Read every file again, also where size and time of change are as before", 1},
    {"shard", OPTION_SHARD, "I/N", 0, "Only the captures of part I of N, told by content", 1},
    {"quiet", OPTION_QUIET, NULL, 0, "No progress", 1},
    {NULL, 0, NULL, 0, "Whose captures they are:", 2},
    {"manifest", OPTION_MANIFEST, "CSV", 0,
     "A table with columns file, vehicle, engine, date, condition, repair, valve", 2},
    {"pattern", OPTION_PATTERN, "TEXT", 0,
     "How paths end: {vehicle}/{date}_{condition}.csv; also {engine}, and {} for anything", 2},
    {NULL, 0, NULL, 0, "How they are judged:", 3},
    {"spec", OPTION_SPEC, "FILE", 0, "Readings and limits of the service information (INI)", 3},
    {"command", OPTION_COMMAND, "NAME", 0, "The column that holds the command", 3},
    {"position", OPTION_POSITION, "NAME", 0, "The column that holds the position", 3},
    {"rows-per-second", OPTION_RATE, "RATE", 0, "The rate of captures that have no clock", 3},
    {NULL, 0, NULL, 0, "From the store alone:", 4},
    {"report", OPTION_REPORT, NULL, 0, "Judge nothing, report what the store holds", 4},
    {"merge", OPTION_MERGE, NULL, 0, "The arguments are stores; take over what they hold", 4},
    {"capture", OPTION_CAPTURE, "KEY", 0,
     "One capture's own report, by its key or the front of it; with --html as a page", 4},
    {NULL, 0, NULL, 0, "Reports:", 5},
    {"most", OPTION_MOST, "N", 0, "Valves in the text (20)", 5},
    {"html", OPTION_HTML, "FILE", 0, "Write a page of the fleet", 5},
    {"reports", OPTION_REPORTS, "N", 0,
     "Make the reports of the last captures of the first N valves beside the page (20)", 5},
    {"jsonl", OPTION_JSONL, "FILE", 0, "Write every log, one JSON document a line", 5},
    {"csv", OPTION_CSV, "FILE", 0, "Write the ranking for a spreadsheet", 5},
    {"metrics", OPTION_METRICS, "FILE", 0, "Write a summary for a monitoring system", 5},
    {"color", OPTION_COLOR, "WHEN", 0, "Emphasis by colour: auto, always or never", 5},
    {0}};

static error_t take_shard(cli_fleet_arguments *given, const char *text, struct argp_state *state) {
  enum { SHARDS_MOST = 1000000 };
  char *end = NULL;
  const unsigned long shard = strtoul(text, &end, 10);
  const unsigned long shards = *end == '/' ? strtoul(end + 1, &end, 10) : 0;
  given->shard = (unsigned)shard;
  given->shards = (unsigned)shards;
  if (*end != '\0' || shard < 1 || shard > shards || shards > SHARDS_MOST)
    cli_wrong(state, "--shard is I/N such as 2/8, found \"%s\"", text);
  return 0;
}

static error_t take(void *where, int key, char *argument, struct argp_state *state) {
  cli_fleet_arguments *given = where;
  switch (key) {
  case ARGP_KEY_ARG:
    given->path[given->path_count++] = argument;
    return 0;
  case OPTION_SHARD:
    return take_shard(given, argument, state);
  default:
    return ARGP_ERR_UNKNOWN;
  }
}

#define PLACE(member) offsetof(cli_fleet_arguments, member)
static const cli_place places[] = {
    {OPTION_STORE, CLI_TEXT, PLACE(store), 0},
    {OPTION_JOBS, CLI_WHOLE, PLACE(jobs), 256},
    {OPTION_MANIFEST, CLI_TEXT, PLACE(manifest), 0},
    {OPTION_PATTERN, CLI_TEXT, PLACE(pattern), 0},
    {OPTION_SPEC, CLI_TEXT, PLACE(spec), 0},
    {OPTION_COMMAND, CLI_TEXT, PLACE(command), 0},
    {OPTION_POSITION, CLI_TEXT, PLACE(position), 0},
    {OPTION_RATE, CLI_NUMBER, PLACE(rows_per_second), CLI_HIGHEST_RATE},
    {OPTION_REDO, CLI_FLAG, PLACE(redo), 0},
    {OPTION_REREAD, CLI_FLAG, PLACE(reread), 0},
    {OPTION_REPORT, CLI_FLAG, PLACE(report), 0},
    {OPTION_MERGE, CLI_FLAG, PLACE(merge), 0},
    {OPTION_CAPTURE, CLI_TEXT, PLACE(capture), 0},
    {OPTION_MOST, CLI_WHOLE, PLACE(most), 0},
    {OPTION_HTML, CLI_TEXT, PLACE(html), 0},
    {OPTION_REPORTS, CLI_WHOLE, PLACE(reports), 0},
    {OPTION_JSONL, CLI_TEXT, PLACE(jsonl), 0},
    {OPTION_CSV, CLI_TEXT, PLACE(csv), 0},
    {OPTION_METRICS, CLI_TEXT, PLACE(metrics), 0},
    {OPTION_COLOR, CLI_COLOR, PLACE(color), 0},
    {OPTION_QUIET, CLI_FLAG, PLACE(quiet), 0},
    {.key = -1}};

static const cli_syntax syntax = {
    .option = options,
    .place = places,
    .take = take,
    .names = "[FOLDER|FILE|-...]",
    .doc = "Judges every capture below the folders given, keeps the results in a store, and ranks "
           "the vehicles: who needs work, who grows worse, who is sound. A second run judges only "
           "what is new or changed; a run that was ended at any moment goes on where it was. "
           "- reads a list of paths from standard input.\v"
           "Exit status: 0 done, whatever was found and refused; 64 usage; 65 a table, a spec or a "
           "store is refused; 66 one is not there; 74 reading or writing failed."};

/* --- the run ---------------------------------------------------------------------------------- */

static bool stopped(void *context) {
  (void)context;
  return cli_caught() != 0;
}

static platelag_status run_fleet(const cli_fleet_arguments *given, platelag_fleet_store *store,
                                 const platelag_spec *spec, platelag_error *error) {
  cli_progress p;
  platelag_fleet_counts counts;
  const platelag_fleet_work work = {.path = given->path,
                                    .path_count = given->path_count,
                                    .spec = spec,
                                    .rows_per_second = given->rows_per_second,
                                    .manifest = given->manifest,
                                    .pattern = given->pattern,
                                    .jobs = (unsigned)given->jobs,
                                    .shard = given->shard,
                                    .shards = given->shards,
                                    .redo = given->redo,
                                    .reread = given->reread,
                                    .progress = given->quiet ? NULL : cli_progress_tell,
                                    .stopped = stopped,
                                    .context = &p};
  cli_progress_begin(&p);
  cli_catch_signals();
  const platelag_status status = platelag_fleet_run(store, &work, &counts, error);
  if (!given->quiet || status != PLATELAG_OK || cli_caught() != 0)
    cli_progress_end(&p, &counts);
  return status;
}

static platelag_status merge_stores(const cli_fleet_arguments *given, platelag_fleet_store *store,
                                    platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < given->path_count && status == PLATELAG_OK; i++) {
    platelag_fleet_store *other = NULL;
    status = platelag_fleet_store_open_to_read(given->path[i], &other, error);
    if (status == PLATELAG_OK)
      status = platelag_fleet_store_merge(store, other, error);
    platelag_fleet_store_close(other);
  }
  return status;
}

static int work_on_store(const cli_fleet_arguments *given) {
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_fleet_store *store = NULL;
  cli_output output;
  cli_output_open(&output);
  platelag_status status =
      cli_spec_make(given->spec, given->command, given->position, &spec, &error);
  if (status == PLATELAG_OK)
    status = given->path_count > 0
                 ? platelag_fleet_store_open(given->store, true, &store, &error)
                 : platelag_fleet_store_open_to_read(given->store, &store, &error);
  if (status == PLATELAG_OK && given->merge)
    status = merge_stores(given, store, &error);
  else if (status == PLATELAG_OK && given->path_count > 0)
    status = run_fleet(given, store, spec, &error);
  /* One shard's ranking would be that of a part: the merged store tells the whole. */
  if (status == PLATELAG_OK && given->capture != NULL)
    status = cli_fleet_write_capture(given, store, spec, &output, &error);
  else if (status == PLATELAG_OK && cli_caught() == 0 && given->shards < 2)
    status = cli_fleet_write(given, store, spec, &output, &error);
  platelag_fleet_store_close(store);
  platelag_spec_destroy(spec);
  if (status != PLATELAG_OK && output.error.status == PLATELAG_OK)
    cli_tell(&error);
  const int left = cli_output_close(&output, (int)status);
  if (cli_caught() != 0)
    (void)raise(cli_caught()); /* ends as the shell tells it; its handler is the default again */
  return left;
}

int cli_fleet(int argc, char **argv) {
  cli_fleet_arguments given = {.path = calloc((size_t)argc, sizeof *given.path), .reports = 20};
  int status = PLATELAG_ERROR_MEMORY;
  if (given.path == NULL)
    cli_tell(&(platelag_error){.status = PLATELAG_ERROR_MEMORY, .message = "no memory left"});
  else if (!cli_parse(&syntax, argc, argv, &given, &status))
    ;
  else if (given.store == NULL)
    status = cli_usage(argv[0], "no --store is given");
  else if ((given.report || given.capture != NULL) && given.path_count > 0)
    status = cli_usage(argv[0], "--%s judges nothing and takes no folder or file",
                       given.report ? "report" : "capture");
  else if (!given.report && given.capture == NULL && given.path_count == 0)
    status =
        cli_usage(argv[0], "no %s is given", given.merge ? "store to merge" : "folder or file");
  else
    status = work_on_store(&given);
  free((void *)given.path);
  return status;
}
