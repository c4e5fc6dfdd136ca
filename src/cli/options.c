/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The one way in which all commands read their arguments. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum { OPTION_VERSION = 'V', OPTION_HELP = 'h', OPTION_USAGE = 1000 };

/* One call: what the command takes, and what has been given so far. */
typedef struct call {
  const cli_syntax *syntax;
  void *arguments;
  bool help, usage, version;
} call;

/* --- the options of every command ------------------------------------------------------------- */

static const struct argp_option common_options[] = {
    {"help", OPTION_HELP, NULL, 0, "Show this help and leave", -1},
    {"usage", OPTION_USAGE, NULL, 0, "Show the options in short and leave", -1},
    {"version", OPTION_VERSION, NULL, 0, "Show the version and leave", -1},
    {0}};

static error_t take_common(int key, char *argument, struct argp_state *state) {
  (void)argument;
  call *given = state->input;
  switch (key) {
  case OPTION_HELP:
    given->help = true;
    break;
  case OPTION_USAGE:
    given->usage = true;
    break;
  case OPTION_VERSION:
    given->version = true;
    break;
  default:
    return ARGP_ERR_UNKNOWN;
  }
  /* What follows is of no more interest, and what is missing is no mistake. */
  state->next = state->argc;
  return 0;
}

static const struct argp common_argp = {.options = common_options, .parser = take_common};
static const struct argp_child children[] = {{&common_argp, 0, NULL, 0}, {0}};

/* --- the options of a command ----------------------------------------------------------------- */

void cli_wrong(const struct argp_state *state, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  const cli_message message = cli_message_make(format, arguments);
  va_end(arguments);
  argp_error(state, "%s", message.text);
}

static const char *name_of(const cli_syntax *syntax, int key) {
  const struct argp_option *option = syntax->option;
  while (option->key != key)
    option++;
  return option->name;
}

static void put_number(const call *given, const cli_place *place, const char *text,
                       const struct argp_state *state) {
  double value = 0;
  if (!platelag_number_read(text, &value) || value < 0 || value > place->most)
    cli_wrong(state, "--%s is a number from 0 to %.0f, found \"%s\"",
              name_of(given->syntax, place->key), place->most, text);
  memcpy((char *)given->arguments + place->offset, &value, sizeof value);
}

/* Digits alone. */
static void put_whole(const call *given, const cli_place *place, const char *text,
                      const struct argp_state *state) {
  const uint64_t most = place->most > 0 ? (uint64_t)place->most : UINT64_MAX;
  errno = 0;
  char *end = NULL;
  const bool digits = text[0] != '\0' && strspn(text, "0123456789") == strlen(text);
  const unsigned long long value = digits ? strtoull(text, &end, 10) : 0;
  if (!digits || errno != 0 || value > most)
    cli_wrong(state, "--%s is a whole number from 0 to %llu, found \"%s\"",
              name_of(given->syntax, place->key), (unsigned long long)most, text);
  const uint64_t whole = value;
  memcpy((char *)given->arguments + place->offset, &whole, sizeof whole);
}

static void put_color(const call *given, const cli_place *place, const char *when,
                      const struct argp_state *state) {
  static const char *const words[] = {
      [CLI_COLOR_AUTO] = "auto", [CLI_COLOR_ALWAYS] = "always", [CLI_COLOR_NEVER] = "never"};
  cli_color *color = (void *)((char *)given->arguments + place->offset);
  for (int i = 0; i < 3; i++)
    if (strcmp(when, words[i]) == 0) {
      *color = (cli_color)i;
      return;
    }
  cli_wrong(state, "--%s is auto, always or never, found \"%s\"",
            name_of(given->syntax, place->key), when);
}

static void put(const call *given, const cli_place *place, const char *argument,
                const struct argp_state *state) {
  void *member = (char *)given->arguments + place->offset;
  switch (place->kind) {
  case CLI_FILE:
    if (*(const char **)member != NULL)
      cli_wrong(state, "one FILE at a time");
    *(const char **)member = argument;
    break;
  case CLI_TEXT:
    *(const char **)member = argument;
    break;
  case CLI_FLAG:
    *(bool *)member = true;
    break;
  case CLI_NUMBER:
    put_number(given, place, argument, state);
    break;
  case CLI_WHOLE:
    put_whole(given, place, argument, state);
    break;
  case CLI_COLOR:
    put_color(given, place, argument, state);
    break;
  }
}

static error_t take(int key, char *argument, struct argp_state *state) {
  const call *given = state->input;
  if (key == ARGP_KEY_INIT) {
    state->child_inputs[0] = state->input;
    return 0;
  }
  for (const cli_place *place = given->syntax->place; place != NULL && place->key != -1; place++)
    if (place->key == key) {
      put(given, place, argument, state);
      return 0;
    }
  return given->syntax->take != NULL ? given->syntax->take(given->arguments, key, argument, state)
                                     : ARGP_ERR_UNKNOWN;
}

platelag_status cli_spec_make(const char *path, const char *command, const char *position,
                              platelag_spec **spec, platelag_error *error) {
  const platelag_status status =
      path != NULL ? platelag_spec_read(path, spec, error) : platelag_spec_create(spec, error);
  if (status != PLATELAG_OK)
    return status;
  return platelag_spec_name_columns(*spec, command, position, error);
}

/* --- the whole ------------------------------------------------------------------------------- */

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

static int tell_no_memory(void) {
  const platelag_error error = {.status = PLATELAG_ERROR_MEMORY,
                                .message = "no memory is left to read the options"};
  cli_tell(&error);
  return PLATELAG_ERROR_MEMORY;
}

bool cli_parse(const cli_syntax *syntax, int argc, char **argv, void *arguments, int *status) {
  call given = {.syntax = syntax, .arguments = arguments};
  const struct argp argp = {.options = syntax->option,
                            .parser = take,
                            .args_doc = syntax->names,
                            .doc = syntax->doc,
                            .children = children,
                            .help_filter = syntax->filter};
  /* In order: captures are told in the order in which they are given. */
  const error_t error = argp_parse(&argp, argc, argv, ARGP_NO_HELP | ARGP_IN_ORDER, NULL, &given);
  if (error == ENOMEM)
    *status = tell_no_memory();
  else if (error != 0)
    *status = PLATELAG_ERROR_USAGE;
  else if (given.help)
    *status = print_help(&argp, argv[0], ARGP_HELP_LONG | ARGP_HELP_USAGE | ARGP_HELP_DOC);
  else if (given.usage)
    *status = print_help(&argp, argv[0], ARGP_HELP_USAGE);
  else if (given.version)
    *status = print_version();
  else
    return true;
  return false;
}
