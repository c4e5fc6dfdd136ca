/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The program: a table of commands, one file each. */
#include <string.h>

#include "cli.h"

static const cli_command commands[] = {
    {"review", "judge the captures of one vehicle: plates, sensor circuit or drive", cli_review},
    {"columns", "show how a capture was understood", cli_columns},
    {"practice", "make a capture with a known fault", cli_practice},
};
enum { COMMAND_COUNT = sizeof commands / sizeof commands[0] };

typedef struct arguments {
  cli_common common;
  int command_at; /* index of the command's name, 0 when there is none */
} arguments;

static error_t take(int key, char *argument, struct argp_state *state) {
  arguments *given = state->input;
  (void)argument;
  switch (key) {
  case ARGP_KEY_INIT:
    state->child_inputs[0] = &given->common;
    return 0;
  case ARGP_KEY_ARG:
    given->command_at = state->next - 1;
    state->next = state->argc; /* the rest is the command's */
    return 0;
  default:
    return ARGP_ERR_UNKNOWN;
  }
}

/* The commands' lines, behind the options in --help. */
static char *list_commands(int key, const char *text, void *input) {
  (void)input;
  if (key != ARGP_KEY_HELP_POST_DOC)
    return (char *)text; /* argp frees it only when it is another */
  char *list = NULL;
  size_t size = 0;
  FILE *memory = open_memstream(&list, &size);
  if (memory == NULL)
    return NULL;
  (void)fputs("Commands:\n", memory);
  for (int i = 0; i < COMMAND_COUNT; i++)
    (void)fprintf(memory, "  %-8s  %s\n", commands[i].name, commands[i].line);
  (void)fputs("\n'platelag COMMAND --help' tells what a command takes.\n"
              "Exit status: 0 done; 64 usage; 65 an input is refused; 66 an input is not there; "
              "74 reading or writing failed.",
              memory);
  return fclose(memory) == 0 ? list : NULL;
}

static const struct argp_child children[] = {{&cli_common_argp, 0, NULL, 0}, {0}};
static const struct argp argp = {
    .parser = take,
    .args_doc = "COMMAND [ARGUMENT...]",
    .doc = "Is the runner valve at fault, its sensor or its drive? Judged from a recording that "
           "was exported as CSV.\v",
    .children = children,
    .help_filter = list_commands};

static const cli_command *find_command(const char *name) {
  for (int i = 0; i < COMMAND_COUNT; i++)
    if (strcmp(commands[i].name, name) == 0)
      return &commands[i];
  return NULL;
}

int main(int argc, char **argv) {
  static char program[] = "platelag";
  if (argc == 0)
    return PLATELAG_ERROR_USAGE;
  argv[0] = program;
  arguments given = {0};
  int status = 0;
  if (!cli_parse(&argp, argc, argv, ARGP_IN_ORDER, &given, &status))
    return status;
  if (given.command_at == 0)
    return cli_usage(program, "no command is given");
  const char *name = argv[given.command_at];
  const cli_command *command = find_command(name);
  if (command == NULL)
    return cli_usage(program, "\"%s\" is no command", name);
  char called[64];
  (void)snprintf(called, sizeof called, "%s %s", program, command->name);
  argv[given.command_at] = called;
  platelag_library_start();
  return command->run(argc - given.command_at, argv + given.command_at);
}
