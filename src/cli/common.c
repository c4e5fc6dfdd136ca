/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum { OPTION_VERSION = 'V', OPTION_HELP = 'h', OPTION_USAGE = 1000 };

static const struct argp_option options[] = {
    {"help", OPTION_HELP, NULL, 0, "Show this help and leave", -1},
    {"usage", OPTION_USAGE, NULL, 0, "Show the options in short and leave", -1},
    {"version", OPTION_VERSION, NULL, 0, "Show the version and leave", -1},
    {0}};

static error_t take(int key, char *argument, struct argp_state *state) {
  (void)argument;
  cli_common *common = state->input;
  switch (key) {
  case OPTION_HELP:
    common->help = true;
    break;
  case OPTION_USAGE:
    common->usage = true;
    break;
  case OPTION_VERSION:
    common->version = true;
    break;
  default:
    return ARGP_ERR_UNKNOWN;
  }
  /* What follows is of no more interest, and what is missing is no mistake. */
  state->next = state->argc;
  return 0;
}

bool cli_color_read(const char *when, struct argp_state *state, cli_color *out) {
  static const char *const words[] = {
      [CLI_COLOR_AUTO] = "auto", [CLI_COLOR_ALWAYS] = "always", [CLI_COLOR_NEVER] = "never"};
  for (int i = 0; i < 3; i++)
    if (strcmp(when, words[i]) == 0) {
      *out = (cli_color)i;
      return true;
    }
  argp_error(state, "--color is auto, always or never, found \"%s\"", when);
  return false;
}

bool cli_number_read(const char *option, const char *text, double least, double most,
                     struct argp_state *state, double *out) {
  double value = 0;
  if (platelag_number_read(text, &value) && value >= least && value <= most) {
    *out = value;
    return true;
  }
  argp_error(state, "--%s is a number from %d to %d, found \"%s\"", option, (int)least, (int)most,
             text);
  return false;
}

const struct argp cli_common_argp = {.options = options, .parser = take};

static int print_help(const struct argp *argp, char *name, unsigned what) {
  cli_output output;
  cli_output_open(&output);
  char *text = NULL;
  size_t size = 0;
  FILE *memory = open_memstream(&text, &size);
  if (memory != NULL)
    argp_help(argp, memory, what, name);
  if (memory == NULL || fclose(memory) != 0)
    output.error = (platelag_error){.status = PLATELAG_ERROR_IO, .message = "no memory left"};
  else
    cli_output_print(&output, text);
  free(text);
  return cli_output_close(&output, 0);
}

static int print_version(void) {
  cli_output output;
  cli_output_open(&output);
  cli_output_print(&output, "platelag ");
  cli_output_print(&output, platelag_version());
  cli_output_print(&output, "\n");
  return cli_output_close(&output, 0);
}

bool cli_parse(const struct argp *argp, int argc, char **argv, unsigned flags, void *input,
               int *status) {
  const error_t error = argp_parse(argp, argc, argv, flags | ARGP_NO_HELP, NULL, input);
  const cli_common *common = input;
  if (error != 0)
    *status = PLATELAG_ERROR_USAGE;
  else if (common->help)
    *status = print_help(argp, argv[0], ARGP_HELP_LONG | ARGP_HELP_USAGE | ARGP_HELP_DOC);
  else if (common->usage)
    *status = print_help(argp, argv[0], ARGP_HELP_USAGE);
  else if (common->version)
    *status = print_version();
  else
    return true;
  return false;
}
