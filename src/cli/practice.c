/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag practice: captures made from physics, with known faults. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum {
  OPTION_FAULT = 256,
  OPTION_SEVERITY,
  OPTION_CONDITION,
  OPTION_SEED,
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
  cli_common common;
  platelag_practice_order order;
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

/* A whole number of at most `most`, digits alone. */
static error_t take_whole(const char *option, const char *text, uint64_t most,
                          struct argp_state *state, uint64_t *out) {
  errno = 0;
  char *end = NULL;
  const bool digits = text[0] != '\0' && strspn(text, "0123456789") == strlen(text);
  const unsigned long long value = digits ? strtoull(text, &end, 10) : 0;
  if (!digits || errno != 0 || value > most)
    argp_error(state, "--%s is a whole number from 0 to %llu, found \"%s\"", option,
               (unsigned long long)most, text);
  *out = value;
  return 0;
}

static error_t take_number(const char *option, const char *text, double most,
                           struct argp_state *state, double *out) {
  return cli_number_read(option, text, 0, most, state, out) ? 0 : EINVAL;
}

static error_t take_file(arguments *given, const char *path, struct argp_state *state) {
  if (given->file != NULL)
    argp_error(state, "one FILE at a time");
  given->file = path;
  return 0;
}

/* The options that are a name: where it goes. NULL for another option. */
static const char **name_of(platelag_practice_order *order, int key) {
  switch (key) {
  case OPTION_FAULT:
    return &order->fault;
  case OPTION_CONDITION:
    return &order->condition;
  case OPTION_DRIVE:
    return &order->drive;
  case OPTION_FRICTION:
    return &order->friction;
  case OPTION_SETTING:
    return &order->setting;
  case OPTION_CHANNELS:
    return &order->channels;
  case OPTION_DRIVING:
    return &order->driving;
  case OPTION_LAYOUT:
    return &order->layout;
  case OPTION_COMMAND:
    return &order->command;
  case OPTION_UNIT:
    return &order->unit;
  default:
    return NULL;
  }
}

static error_t take(int key, char *argument, struct argp_state *state) {
  enum { MOST_EXTRA = 4000, MOST_MINUTES = 10000, MOST_RATE = 50 };
  arguments *given = state->input;
  platelag_practice_order *order = &given->order;
  const char **name = name_of(order, key);
  uint64_t whole = 0;
  if (name != NULL) {
    *name = argument;
    return 0;
  }
  switch (key) {
  case ARGP_KEY_INIT:
    state->child_inputs[0] = &given->common;
    return 0;
  case ARGP_KEY_ARG:
    return take_file(given, argument, state);
  case OPTION_SEVERITY:
    return take_number("severity", argument, 1, state, &order->severity);
  case OPTION_SEED:
    return take_whole("seed", argument, UINT64_MAX, state, &order->seed);
  case OPTION_VALVES:
    (void)take_whole("valves", argument, 2, state, &whole);
    order->valves = (size_t)whole;
    return 0;
  case OPTION_INVERTED:
    order->inverted = true;
    return 0;
  case OPTION_MINUTES:
    return take_number("minutes", argument, MOST_MINUTES, state, &order->minutes);
  case OPTION_RATE:
    return take_number("rows-per-second", argument, MOST_RATE, state, &order->rows_per_second);
  case OPTION_EXTRA:
    (void)take_whole("extra-channels", argument, MOST_EXTRA, state, &whole);
    order->extra_channels = (size_t)whole;
    return 0;
  case OPTION_LIST:
    given->list = true;
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
    .doc = "Makes a capture with a known fault, from physics that the judgement does not share, "
           "and writes it to FILE and its truth to FILE.truth.json. FILE may be -, standard "
           "output; then no truth is written. The same options give the same bytes.",
    .children = children};

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
  if (!cli_parse(&argp, argc, argv, 0, &given, &status))
    return status;
  if (given.list)
    return list_names();
  if (given.order.fault == NULL)
    return cli_usage(argv[0], "no --fault is given; --list names them");
  if (given.file == NULL)
    return cli_usage(argv[0], "no FILE is given");
  if (given.order.severity == 0) /* a fault of no severity is none */
    given.order.fault = "none";
  return strcmp(given.file, "-") == 0 ? write_output(argv[0], &given.order)
                                      : write_files(argv[0], &given);
}
