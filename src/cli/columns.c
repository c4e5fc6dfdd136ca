/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag columns: how a file was understood. */
#include <errno.h>

#include "cli.h"

enum { OPTION_COMMAND = 256, OPTION_POSITION, OPTION_RATE, OPTION_COLOR };

typedef struct arguments {
  cli_common common;
  const char *file;
  const char *command;
  const char *position;
  double rows_per_second;
  cli_color color;
} arguments;

static const struct argp_option options[] = {
    {"command", OPTION_COMMAND, "NAME", 0, "The column that holds the command", 1},
    {"position", OPTION_POSITION, "NAME", 0, "The column that holds the position", 1},
    {"rows-per-second", OPTION_RATE, "RATE", 0, "The rate of a capture that has no clock", 1},
    {"color", OPTION_COLOR, "WHEN", 0, "Emphasis by colour: auto, always or never", 2},
    {0}};

static error_t take(int key, char *argument, struct argp_state *state) {
  arguments *given = state->input;
  switch (key) {
  case ARGP_KEY_INIT:
    state->child_inputs[0] = &given->common;
    return 0;
  case OPTION_COMMAND:
    given->command = argument;
    return 0;
  case OPTION_POSITION:
    given->position = argument;
    return 0;
  case OPTION_RATE:
    return cli_number_read("rows-per-second", argument, 0, CLI_HIGHEST_RATE, state,
                           &given->rows_per_second)
               ? 0
               : EINVAL;
  case OPTION_COLOR:
    return cli_color_read(argument, state, &given->color) ? 0 : EINVAL;
  case ARGP_KEY_ARG:
    if (given->file != NULL)
      argp_error(state, "one FILE at a time");
    given->file = argument;
    return 0;
  default:
    return ARGP_ERR_UNKNOWN;
  }
}

static const struct argp_child children[] = {{&cli_common_argp, 0, NULL, 0}, {0}};
static const struct argp argp = {
    .options = options,
    .parser = take,
    .args_doc = "FILE",
    .doc = "Shows how a capture was understood: encoding, layout, clock, each channel with unit, "
           "values, range, refresh time, role and why, and what was skipped and where. FILE may be "
           "-, standard input.",
    .children = children};

static platelag_status make_spec(const arguments *given, platelag_spec **spec,
                                 platelag_error *error) {
  const platelag_status status = platelag_spec_create(spec, error);
  if (status != PLATELAG_OK)
    return status;
  return platelag_spec_name_columns(*spec, given->command, given->position, error);
}

int cli_columns(int argc, char **argv) {
  arguments given = {0};
  int status = 0;
  if (!cli_parse(&argp, argc, argv, 0, &given, &status))
    return status;
  if (given.file == NULL)
    return cli_usage(argv[0], "no FILE is given");
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_capture *capture = NULL;
  cli_output output;
  cli_output_open(&output);
  status = (int)make_spec(&given, &spec, &error);
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
