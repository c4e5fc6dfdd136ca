/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The program: a table of commands, one file each. */
#include <signal.h>
#include <string.h>

#include "cli.h"

static const cli_command commands[] = {
    {"review", "judge the captures of one vehicle: plates, sensor circuit or drive", cli_review},
    {"columns", "show how a capture was understood", cli_columns},
    {"fleet", "judge thousands of captures and rank the vehicles", cli_fleet},
    {"mark", "mark a class's recordings and conclusions", cli_mark},
    {"practice", "make a capture with a known fault", cli_practice},
};
enum { COMMAND_COUNT = sizeof commands / sizeof commands[0] };

/* Finds the index of the command's name; 0 when there is none. The rest is the command's. */
static error_t take_command(void *arguments, int key, char *argument, struct argp_state *state) {
  int *command_at = arguments;
  (void)argument;
  if (key != ARGP_KEY_ARG)
    return ARGP_ERR_UNKNOWN;
  *command_at = state->next - 1;
  state->next = state->argc;
  return 0;
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

static const cli_syntax syntax = {
    .take = take_command,
    .names = "COMMAND [ARGUMENT...]",
    .doc = "Is the runner valve at fault, its sensor or its drive? Judged from a recording that "
           "was exported as CSV.\v",
    .filter = list_commands};

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
  int command_at = 0, status = 0;
  if (!cli_parse(&syntax, argc, argv, &command_at, &status))
    return status;
  if (command_at == 0)
    return cli_usage(program, "no command is given");
  const char *name = argv[command_at];
  const cli_command *command = find_command(name);
  if (command == NULL)
    return cli_usage(program, "\"%s\" is no command", name);
  char called[64];
  (void)snprintf(called, sizeof called, "%s %s", program, command->name);
  argv[command_at] = called;
  (void)signal(SIGXFSZ, SIG_IGN); /* a limit on the size of files is an error, told, not an end */
  platelag_library_start();
  return command->run(argc - command_at, argv + command_at);
}
