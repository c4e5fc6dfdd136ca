/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag columns: how a file was understood. */
#include <stddef.h>

#include "cli.h"

enum { OPTION_COMMAND = 256, OPTION_POSITION, OPTION_RATE, OPTION_COLOR };

typedef struct arguments {
  const char *file;
  const char *command;
  const char *position;
  double rows_per_second;
  cli_color color;
} arguments;

static const struct argp_option options[] = {
    {"command", OPTION_COMMAND, "NAME", 0,
     "The column that holds the command, by name or number (#6)", 1},
    {"position", OPTION_POSITION, "NAME", 0, "The column that holds the position, likewise", 1},
    {"rows-per-second", OPTION_RATE, "RATE", 0, "The rate of a capture that has no clock", 1},
    {"color", OPTION_COLOR, "WHEN", 0, "Emphasis by colour: auto, always or never", 2},
    {0}};

static const cli_place places[] = {
    {ARGP_KEY_ARG, CLI_FILE, offsetof(arguments, file), 0},
    {OPTION_COMMAND, CLI_TEXT, offsetof(arguments, command), 0},
    {OPTION_POSITION, CLI_TEXT, offsetof(arguments, position), 0},
    {OPTION_RATE, CLI_NUMBER, offsetof(arguments, rows_per_second), CLI_HIGHEST_RATE},
    {OPTION_COLOR, CLI_COLOR, offsetof(arguments, color), 0},
    {.key = -1}};

static const cli_syntax syntax = {
    .option = options,
    .place = places,
    .names = "FILE",
    .doc = "Shows how a capture was understood: encoding, layout, clock, each channel with unit, "
           "values, range, refresh time, role and why, and what was skipped and where. FILE may be "
           "-, standard input."};

int cli_columns(int argc, char **argv) {
  arguments given = {0};
  int status = 0;
  if (!cli_parse(&syntax, argc, argv, &given, &status))
    return status;
  if (given.file == NULL)
    return cli_usage(argv[0], "no FILE is given");
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_capture *capture = NULL;
  cli_output output;
  cli_output_open(&output);
  status = (int)cli_spec_make(NULL, given.command, given.position, &spec, &error);
  const platelag_read_options reading = {
      .spec = spec, .rows_per_second = given.rows_per_second, .keep_none = true};
  if (status == PLATELAG_OK)
    status = (int)platelag_capture_read(given.file, &reading, &capture, &error);
  if (status == PLATELAG_OK) {
    const platelag_report_options look = cli_report_options(given.color);
    status = (int)platelag_report_write_columns(capture, &look, &output.sink, &error);
  }
  if (status != PLATELAG_OK && output.error.status == PLATELAG_OK)
    cli_tell(&error);
  platelag_capture_destroy(capture);
  platelag_spec_destroy(spec);
  return cli_output_close(&output, status);
}
