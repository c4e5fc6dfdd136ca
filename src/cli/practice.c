/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag practice: captures made from physics, with known faults. */
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum {
  OPTION_FAULT = 256,
  OPTION_SEVERITY,
  OPTION_CONDITION,
  OPTION_SEED,
  OPTION_DRIVE_SEED,
  OPTION_DRIVE,
  OPTION_VALVES,
  OPTION_INVERTED,
  OPTION_FRICTION,
  OPTION_SETTING,
  OPTION_MINUTES,
  OPTION_DRIVING,
  OPTION_LAYOUT,
  OPTION_RATE,
  OPTION_COMMAND,
  OPTION_UNIT,
  OPTION_CHANNELS,
  OPTION_EXTRA,
  OPTION_LIST
};

typedef struct arguments {
  platelag_practice_order order;
  uint64_t valves, extra_channels; /* as given */
  const char *file;
  bool list;
} arguments;

static const struct argp_option options[] = {
    {NULL, 0, NULL, 0, "What is wrong:", 1},
    {"fault", OPTION_FAULT, "NAME", 0,
     "The fault, or several as NAME+NAME, the dominant one first; see --list", 1},
    {"severity", OPTION_SEVERITY, "SHARE", 0, "How bad it is, 0 to 1 (0.6)", 1},
    {"condition", OPTION_CONDITION, "NAME", 0, "road, rest, hand_sweep or after (road)", 1},
    {NULL, 0, NULL, 0, "The vehicle and the drive:", 2},
    {"seed", OPTION_SEED, "N", 0, "The same seed is the same vehicle (0)", 2},
    {"drive-seed", OPTION_DRIVE_SEED, "N", 0, "Another one is another drive of it (as --seed)", 2},
    {"drive", OPTION_DRIVE, "NAME", 0, "motor or vacuum (motor)", 2},
    {"valves", OPTION_VALVES, "N", 0, "1 or 2, the fault on the first (1)", 2},
    {"inverted", OPTION_INVERTED, NULL, 0, "The sensor reads less the further the plates open", 2},
    {"friction", OPTION_FRICTION, "NAME", 0, "Its law: karnopp or lugre (karnopp)", 2},
    {"setting", OPTION_SETTING, "NAME", 0, "Whose constants: first or second (first)", 2},
    {"minutes", OPTION_MINUTES, "M", 0, "Length, 0.05 to 10000 (10)", 2},
    {"driving", OPTION_DRIVING, "NAME", 0, "mixed, gentle or idle (mixed)", 2},
    {NULL, 0, NULL, 0, "The recording:", 3},
    {"layout", OPTION_LAYOUT, "NAME", 0, "How it is written (comma); see --list", 3},
    {"rows-per-second", OPTION_RATE, "RATE", 0, "0.5 to 50 (10)", 3},
    {"command", OPTION_COMMAND, "NAME", 0,
     "duty, on_off, desired_and_duty or duty_closed_loop (duty)", 3},
    {"unit", OPTION_UNIT, "NAME", 0, "Of the position: volt, reference or open (volt)", 3},
    {"channels", OPTION_CHANNELS, "NAME", 0, "usual, or few: speed and the valve's own (usual)", 3},
    {"extra-channels", OPTION_EXTRA, "N", 0, "Channels beside the usual ones (0)", 3},
    {"list", OPTION_LIST, NULL, 0, "Show the faults and the layouts and leave", 4},
    {0}};

#define ORDER(member) offsetof(arguments, order.member)
static const cli_place places[] = {
    {ARGP_KEY_ARG, CLI_FILE, offsetof(arguments, file), 0},
    {OPTION_FAULT, CLI_TEXT, ORDER(fault), 0},
    {OPTION_SEVERITY, CLI_NUMBER, ORDER(severity), 1},
    {OPTION_CONDITION, CLI_TEXT, ORDER(condition), 0},
    {OPTION_SEED, CLI_WHOLE, ORDER(seed), 0},
    {OPTION_DRIVE_SEED, CLI_WHOLE, ORDER(drive_seed), 0},
    {OPTION_DRIVE, CLI_TEXT, ORDER(drive), 0},
    {OPTION_VALVES, CLI_WHOLE, offsetof(arguments, valves), 2},
    {OPTION_INVERTED, CLI_FLAG, ORDER(inverted), 0},
    {OPTION_FRICTION, CLI_TEXT, ORDER(friction), 0},
    {OPTION_MINUTES, CLI_NUMBER, ORDER(minutes), 10000},
    {OPTION_SETTING, CLI_TEXT, ORDER(setting), 0},
    {OPTION_CHANNELS, CLI_TEXT, ORDER(channels), 0},
    {OPTION_DRIVING, CLI_TEXT, ORDER(driving), 0},
    {OPTION_LAYOUT, CLI_TEXT, ORDER(layout), 0},
    {OPTION_RATE, CLI_NUMBER, ORDER(rows_per_second), 50},
    {OPTION_COMMAND, CLI_TEXT, ORDER(command), 0},
    {OPTION_UNIT, CLI_TEXT, ORDER(unit), 0},
    {OPTION_EXTRA, CLI_WHOLE, offsetof(arguments, extra_channels), 4000},
    {OPTION_LIST, CLI_FLAG, offsetof(arguments, list), 0},
    {.key = -1}};
#undef ORDER

static const cli_syntax syntax = {
    .option = options,
    .place = places,
    .names = "FILE",
    .doc = "Makes a capture with a known fault, from physics that the judgement does not share, "
           "and writes it to FILE and its truth to FILE.truth.json. FILE may be -, standard "
           "output; then no truth is written. The same options give the same bytes."};

static int list_names(void) {
  cli_output output;
  cli_output_open(&output);
  cli_output_print(&output, "Faults:\n");
  for (size_t i = 0; i < platelag_practice_fault_count(); i++) {
    char line[256];
    (void)snprintf(line, sizeof line, "  %-18s %s\n", platelag_practice_fault_name(i),
                   platelag_practice_fault_describe(i));
    cli_output_print(&output, line);
  }
  cli_output_print(&output, "Layouts:\n");
  for (size_t i = 0; i < platelag_practice_layout_count(); i++) {
    cli_output_print(&output, "  ");
    cli_output_print(&output, platelag_practice_layout_name(i));
    cli_output_print(&output, "\n");
  }
  return cli_output_close(&output, 0);
}

/* A mistake in the order is one in the options. */
static int tell_failure(const char *command, const platelag_error *error) {
  if (error->status == PLATELAG_ERROR_USAGE)
    return cli_usage(command, "%s", error->message);
  cli_tell(error);
  return (int)error->status;
}

static int write_output(const char *command, const platelag_practice_order *order) {
  platelag_error error = {0};
  cli_output output;
  cli_output_open(&output);
  int status = (int)platelag_practice_write(order, &output.sink, NULL, &error);
  if (status != PLATELAG_OK && output.error.status == PLATELAG_OK)
    status = tell_failure(command, &error);
  return cli_output_close(&output, status);
}

/* Beside a file; what is none (a device, a pipe) has no place beside it. The truth is put in place
 * first: no capture stands there without its truth. */
static int write_files(const char *command, const arguments *given) {
  platelag_error error = {0};
  cli_file capture = {0}, truth = {0};
  char *truth_path = NULL;
  platelag_status status = cli_file_open(&capture, given->file, &error);
  const bool with_truth = capture.plain;
  if (status == PLATELAG_OK && with_truth) {
    if (asprintf(&truth_path, "%s.truth.json", given->file) < 0) {
      truth_path = NULL;
      error = (platelag_error){.status = PLATELAG_ERROR_MEMORY, .message = "no memory left"};
      status = error.status;
    } else {
      status = cli_file_open(&truth, truth_path, &error);
    }
  }
  if (status == PLATELAG_OK)
    status = platelag_practice_write(&given->order, &capture.sink, with_truth ? &truth.sink : NULL,
                                     &error);
  if (status == PLATELAG_OK && with_truth)
    status = cli_file_finish(&truth, &error);
  if (status == PLATELAG_OK)
    status = cli_file_finish(&capture, &error);
  cli_file_discard(&truth);
  cli_file_discard(&capture);
  free(truth_path);
  return status == PLATELAG_OK ? 0 : tell_failure(command, &error);
}

int cli_practice(int argc, char **argv) {
  arguments given = {.order.severity = NAN};
  int status = 0;
  if (!cli_parse(&syntax, argc, argv, &given, &status))
    return status;
  if (given.list)
    return list_names();
  if (given.order.fault == NULL)
    return cli_usage(argv[0], "no --fault is given; --list names them");
  if (given.file == NULL)
    return cli_usage(argv[0], "no FILE is given");
  given.order.valves = (size_t)given.valves;
  given.order.extra_channels = (size_t)given.extra_channels;
  if (given.order.severity == 0) /* a fault of no severity is none */
    given.order.fault = "none";
  return strcmp(given.file, "-") == 0 ? write_output(argv[0], &given.order)
                                      : write_files(argv[0], &given);
}
