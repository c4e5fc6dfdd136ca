/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the commands of the program share: the table of commands, the one way out to standard
 * output, messages, and options that several commands take. */
#ifndef PLATELAG_CLI_H
#define PLATELAG_CLI_H

#include <argp.h>
#include <stdbool.h>
#include <stdio.h>

#include "platelag/platelag.h"

/* A command: `run` gets its own arguments, argv[0] being "platelag NAME", and returns the exit
 * status. */
typedef struct cli_command {
  const char *name;
  const char *line; /* what it does, in one line */
  int (*run)(int argc, char **argv);
} cli_command;

int cli_review(int argc, char **argv);
int cli_columns(int argc, char **argv);
int cli_practice(int argc, char **argv);

/* Standard output. Everything printed goes through it and every write is checked;
 * `cli_output_close` flushes and returns the exit status to leave with: `status`, or
 * PLATELAG_ERROR_IO, told on standard error, where the output did not arrive. A reader that went
 * away early (a closed pipe) is no news and is not told. */
typedef struct cli_output {
  platelag_sink sink;
  FILE *stream;
  platelag_error error;
} cli_output;

void cli_output_open(cli_output *output);
void cli_output_print(cli_output *output, const char *text);
int cli_output_close(cli_output *output, int status);

/* A file that is written whole or not at all. What is there and no plain file (a device, a pipe) is
 * written to directly. */
typedef struct cli_file {
  platelag_sink sink;
  const char *path; /* the caller's */
  char *target;     /* what is replaced; links followed */
  char *temporary;  /* NULL when written to directly */
  FILE *stream;
  bool plain;
} cli_file;

platelag_status cli_file_open(cli_file *file, const char *path, platelag_error *error);
/* Puts the file in its place. Ends `file`, whatever comes of it. */
platelag_status cli_file_finish(cli_file *file, platelag_error *error);
/* Leaves nothing behind. Nothing is done where the file is finished or was never opened. */
void cli_file_discard(cli_file *file);

/* "platelag: file:line:column: message" on standard error, control characters made harmless. */
void cli_tell(const platelag_error *error);

/* Says how to call on and returns PLATELAG_ERROR_USAGE. */
int cli_usage(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Options that all commands take: --help, --usage, --version. A command lists `cli_common_argp`
 * among its children and hands the state's input down to it. */
typedef struct cli_common {
  bool help;
  bool usage;
  bool version;
} cli_common;

extern const struct argp cli_common_argp;

/* Parses a command's arguments into `input`, whose first member is a cli_common. True to go on;
 * false when it is done, with the status to leave with in `*status`. */
bool cli_parse(const struct argp *argp, int argc, char **argv, unsigned flags, void *input,
               int *status);

/* --color=WHEN: whether standard output gets colour. NO_COLOR set to anything and a terminal that
 * is none count as "never" under "auto". Another word ends the program as a mistake in usage. */
typedef enum cli_color { CLI_COLOR_AUTO, CLI_COLOR_ALWAYS, CLI_COLOR_NEVER } cli_color;
bool cli_color_read(const char *when, struct argp_state *state, cli_color *out);

/* A number given to --OPTION, from `least` to `most` (whole limits). What is none ends the program
 * as a mistake in usage. */
bool cli_number_read(const char *option, const char *text, double least, double most,
                     struct argp_state *state, double *out);

/* Highest rate that --rows-per-second takes. */
#define CLI_HIGHEST_RATE 100000.0
platelag_report_options cli_report_options(cli_color color);

#endif
