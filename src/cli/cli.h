/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the commands of the program share: the table of commands, the one way out to standard
 * output, messages, and options that several commands take. */
#ifndef PLATELAG_CLI_H
#define PLATELAG_CLI_H

#include <argp.h>
#include <stdarg.h>
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
int cli_fleet(int argc, char **argv);
int cli_mark(int argc, char **argv);
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

/* Writes one thing, whole, to a sink. */
typedef platelag_status cli_writer(const void *thing, const platelag_sink *sink,
                                   platelag_error *error);
/* Has `write` write `thing` to the file `path`, or to the output where that is "-". NULL for
 * `path`: it was not asked for, and nothing is done. */
platelag_status cli_write(const char *path, cli_writer *write, const void *thing,
                          cli_output *output, platelag_error *error);
/* Whether an option's argument means the output. */
bool cli_is_output(const char *path);

/* A cli_writer of a review's page. */
platelag_status cli_write_page(const void *review, const platelag_sink *sink,
                               platelag_error *error);

/* "platelag: file:line:column: message" on standard error, control characters made harmless. */
void cli_tell(const platelag_error *error);

/* What a message says, with question marks in place of what would steer a terminal or turn the
 * writing direction. */
typedef struct cli_message {
  char text[1024];
} cli_message;
cli_message cli_message_make(const char *format, va_list arguments)
    __attribute__((format(printf, 1, 0)));

/* Says how to call on and returns PLATELAG_ERROR_USAGE. */
int cli_usage(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* --color=WHEN: whether standard output gets colour. NO_COLOR set to anything but nothing and a
 * terminal that is none count as "never" under "auto". */
typedef enum cli_color { CLI_COLOR_AUTO, CLI_COLOR_ALWAYS, CLI_COLOR_NEVER } cli_color;
platelag_report_options cli_report_options(cli_color color);

/* What becomes of an option's argument, and the type of the member it goes into. */
typedef enum cli_kind {
  CLI_FILE,   /* const char *; a second one is a mistake */
  CLI_TEXT,   /* const char *; the last one counts */
  CLI_FLAG,   /* bool */
  CLI_NUMBER, /* double, 0 to `most` */
  CLI_WHOLE,  /* uint64_t, 0 to `most`; 0: any */
  CLI_COLOR   /* cli_color */
} cli_kind;

/* Where it goes: the member at `offset` of the command's arguments. */
typedef struct cli_place {
  int key; /* of the option, ARGP_KEY_ARG for the bare argument; -1 ends a list */
  cli_kind kind;
  size_t offset;
  double most;
} cli_place;

/* Highest rate that --rows-per-second takes. */
#define CLI_HIGHEST_RATE 100000.0

/* What a command takes beside --help, --usage and --version, which all take. */
typedef struct cli_syntax {
  const struct argp_option *option; /* the one source of parsing and help; NULL: none */
  const cli_place *place;           /* NULL: none */
  /* What has no place, as an argp parser returns it; NULL: nothing. */
  error_t (*take)(void *arguments, int key, char *argument, struct argp_state *state);
  const char *names; /* of the bare arguments, for --help */
  const char *doc;
  char *(*filter)(int key, const char *text, void *input); /* argp's help filter; NULL: none */
} cli_syntax;

/* Parses a command's arguments. True to go on; false when it is done, with the status to leave with
 * in `*status`. */
bool cli_parse(const cli_syntax *syntax, int argc, char **argv, void *arguments, int *status);

/* The spec of `path`, or the defaults where it is NULL, with the columns that options name (NULL:
 * not given). */
platelag_status cli_spec_make(const char *path, const char *command, const char *position,
                              platelag_spec **spec, platelag_error *error);

/* Ends the program for a mistake in usage, told as argp does. */
void cli_wrong(const struct argp_state *state, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
