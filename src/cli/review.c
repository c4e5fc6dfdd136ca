/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag review: from the captures of one vehicle to a finding. */
#include <ctype.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum {
  OPTION_ROAD = 256,
  OPTION_REST,
  OPTION_HAND_SWEEP,
  OPTION_AFTER,
  OPTION_SPEC,
  OPTION_CODE,
  OPTION_METER,
  OPTION_COMMAND,
  OPTION_POSITION,
  OPTION_RATE,
  OPTION_JSON,
  OPTION_HTML,
  OPTION_EXIT_FINDING,
  OPTION_COLOR
};

enum { STATUS_FOUND = 1, STATUS_UNDECIDED = 2 };

typedef struct arguments {
  platelag_review_file *file; /* room for every argument */
  size_t file_count;
  const char **code; /* likewise */
  size_t code_count;
  const char *spec;
  const char *command;
  const char *position;
  platelag_meter meter;
  double rows_per_second;
  cli_color color;
  const char *html; /* where the page goes; NULL: none */
  bool json;
  bool exit_finding;
} arguments;

static const struct argp_option options[] = {
    {NULL, 0, NULL, 0, "Captures of one vehicle; a bare FILE is a road capture:", 1},
    {"road", OPTION_ROAD, "FILE", 0, "Installed, engine running", 1},
    {"rest", OPTION_REST, "FILE", 0, "Installed, key on, engine off", 1},
    {"hand-sweep", OPTION_HAND_SWEEP, "FILE", 0, "Actuator off the manifold, shaft turned by hand",
     1},
    {"after", OPTION_AFTER, "FILE", 0, "After the repair", 1},
    {NULL, 0, NULL, 0, "What else is known:", 2},
    {"spec", OPTION_SPEC, "FILE", 0, "Readings and limits of the service information (INI)", 2},
    {"code", OPTION_CODE, "CODE", 0, "A stored code, P2017 say; may be given several times", 2},
    {"meter", OPTION_METER, "LIST", 0,
     "Volts at the connector: signal=4.61,reference=5.02,ground=0.03, or a part of it", 2},
    {"command", OPTION_COMMAND, "NAME", 0,
     "The column that holds the command, by name or number (#6)", 2},
    {"position", OPTION_POSITION, "NAME", 0, "The column that holds the position, likewise", 2},
    {"rows-per-second", OPTION_RATE, "RATE", 0, "The rate of captures that have no clock", 2},
    {NULL, 0, NULL, 0, "The report:", 3},
    {"json", OPTION_JSON, NULL, 0, "One JSON document, schema platelag.review/1", 3},
    {"html", OPTION_HTML, "FILE", 0,
     "Write a page with plots to FILE as well, or to standard output alone (-)", 3},
    {"exit-finding", OPTION_EXIT_FINDING, NULL, 0,
     "Exit status 1 when something is found, 2 when undecided", 3},
    {"color", OPTION_COLOR, "WHEN", 0, "Emphasis by colour: auto, always or never", 3},
    {0}};

static error_t take_file(arguments *given, const char *path, platelag_condition condition,
                         struct argp_state *state) {
  for (size_t i = 0; i < given->file_count; i++)
    if (strcmp(path, "-") == 0 && strcmp(given->file[i].path, "-") == 0)
      cli_wrong(state, "standard input (-) can be read once only");
  given->file[given->file_count++] = (platelag_review_file){.path = path, .condition = condition};
  return 0;
}

/* A letter, a digit up to 3 and three more that may be A to F (ISO 15031-6); put into upper case in
 * place, which argv allows. */
static error_t take_code(arguments *given, char *code, struct argp_state *state) {
  bool fits = strlen(code) == 5;
  for (size_t i = 0; fits && i < 5; i++) {
    code[i] = (char)toupper((unsigned char)code[i]);
    fits = i == 0   ? strchr("PBCU", code[i]) != NULL
           : i == 1 ? code[i] >= '0' && code[i] <= '3'
                    : isxdigit((unsigned char)code[i]) != 0;
  }
  if (!fits)
    cli_wrong(state, "--code is a letter and four digits such as P2017, found \"%s\"", code);
  given->code[given->code_count++] = code;
  return 0;
}

static error_t take_meter(arguments *given, const char *list, struct argp_state *state) {
  platelag_error error = {0};
  if (platelag_meter_read(list, &given->meter, &error) != PLATELAG_OK)
    cli_wrong(state, "--meter: %s", error.message);
  return 0;
}

static error_t take(void *where, int key, char *argument, struct argp_state *state) {
  arguments *given = where;
  switch (key) {
  case ARGP_KEY_ARG:
  case OPTION_ROAD:
    return take_file(given, argument, PLATELAG_CONDITION_ROAD, state);
  case OPTION_REST:
    return take_file(given, argument, PLATELAG_CONDITION_REST, state);
  case OPTION_HAND_SWEEP:
    return take_file(given, argument, PLATELAG_CONDITION_HAND_SWEEP, state);
  case OPTION_AFTER:
    return take_file(given, argument, PLATELAG_CONDITION_AFTER, state);
  case OPTION_CODE:
    return take_code(given, argument, state);
  case OPTION_METER:
    return take_meter(given, argument, state);
  default:
    return ARGP_ERR_UNKNOWN;
  }
}

static const cli_place places[] = {
    {OPTION_SPEC, CLI_TEXT, offsetof(arguments, spec), 0},
    {OPTION_COMMAND, CLI_TEXT, offsetof(arguments, command), 0},
    {OPTION_POSITION, CLI_TEXT, offsetof(arguments, position), 0},
    {OPTION_RATE, CLI_NUMBER, offsetof(arguments, rows_per_second), CLI_HIGHEST_RATE},
    {OPTION_HTML, CLI_TEXT, offsetof(arguments, html), 0},
    {OPTION_JSON, CLI_FLAG, offsetof(arguments, json), 0},
    {OPTION_EXIT_FINDING, CLI_FLAG, offsetof(arguments, exit_finding), 0},
    {OPTION_COLOR, CLI_COLOR, offsetof(arguments, color), 0},
    {.key = -1}};

static const cli_syntax syntax = {
    .option = options,
    .place = places,
    .take = take,
    .names = "[FILE...]",
    .doc = "Judges the captures of one vehicle and says what is found, who is to blame, how sure "
           "that is, why, and which test comes next. FILE may be -, standard input.\v"
           "Exit status: 0 done, whatever the finding; 64 usage; 65 an input is refused (the rest "
           "is done); 66 an input is not there; 74 reading or writing failed."};

/* Tells what was refused. The gravest decides: the statuses grow with the trouble. */
static int tell_refusals(const platelag_review *review) {
  int status = 0;
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_error *refusal = &review->capture[i].refusal;
    if (refusal->status == PLATELAG_OK)
      continue;
    cli_tell(refusal);
    if ((int)refusal->status > status)
      status = (int)refusal->status;
  }
  return status;
}

static int status_of_finding(const platelag_review *review) {
  int status = 0;
  for (size_t i = 0; i < review->case_count; i++) {
    const platelag_finding_kind kind = review->cases[i]->finding->kind;
    if (kind == PLATELAG_FINDING_UNDECIDED && status == 0)
      status = STATUS_UNDECIDED;
    if (kind != PLATELAG_FINDING_UNDECIDED && kind != PLATELAG_FINDING_FREE)
      status = STATUS_FOUND;
  }
  return status;
}

static bool page_to_output(const arguments *given) {
  return given->html != NULL && strcmp(given->html, "-") == 0;
}

/* The page first: it is to be there even where the reader of standard output goes away early. */
static platelag_status write_report(const arguments *given, const platelag_review *review,
                                    cli_output *output, platelag_error *error) {
  if (review->case_count > 0 && given->html != NULL) {
    const platelag_status status = cli_write(given->html, cli_write_page, review, output, error);
    if (status != PLATELAG_OK || page_to_output(given))
      return status;
  }
  if (given->json)
    return platelag_report_write_json(review, &output->sink, error);
  /* Where nothing was read, the messages on standard error say all. */
  if (review->case_count == 0)
    return PLATELAG_OK;
  const platelag_report_options look = cli_report_options(given->color);
  return platelag_report_write_text(review, &look, &output->sink, error);
}

static int review_files(const arguments *given) {
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  cli_output output;
  cli_output_open(&output);
  int status = (int)cli_spec_make(given->spec, given->command, given->position, &spec, &error);
  if (status == PLATELAG_OK)
    status = (int)platelag_workspace_create(&workspace, &error);
  const platelag_review_options how = {
      .spec = spec,
      .circumstances = {given->code, given->code_count, given->meter},
      .rows_per_second = given->rows_per_second,
      .without_samples = given->html == NULL};
  if (status == PLATELAG_OK)
    status = (int)platelag_review_build(given->file, given->file_count, &how, workspace, &review,
                                        &error);
  if (status == PLATELAG_OK)
    status = (int)write_report(given, review, &output, &error);
  if (status != PLATELAG_OK && output.error.status == PLATELAG_OK)
    cli_tell(&error);
  if (status == PLATELAG_OK) {
    status = tell_refusals(review);
    if (status == 0 && given->exit_finding)
      status = status_of_finding(review);
  }
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
  platelag_spec_destroy(spec);
  return cli_output_close(&output, status);
}

int cli_review(int argc, char **argv) {
  arguments given = {.file = calloc((size_t)argc, sizeof *given.file),
                     .code = calloc((size_t)argc, sizeof *given.code),
                     .meter = PLATELAG_METER_NONE};
  int status = PLATELAG_ERROR_MEMORY;
  if (given.file == NULL || given.code == NULL)
    cli_tell(&(platelag_error){.status = PLATELAG_ERROR_MEMORY, .message = "no memory left"});
  else if (!cli_parse(&syntax, argc, argv, &given, &status))
    ;
  else if (given.file_count == 0)
    status = cli_usage(argv[0], "no FILE is given");
  else if (given.json && page_to_output(&given))
    status = cli_usage(argv[0], "--json and --html=- both write to standard output");
  else
    status = review_files(&given);
  free(given.file);
  free((void *)given.code);
  return status;
}
