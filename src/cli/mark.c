/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * platelag mark: a class's recordings and conclusions, marked. */
#include <errno.h>
#include <limits.h>
#include <stddef.h>
#include <string.h>
#include <sys/stat.h>

#include "cli.h"

enum {
  OPTION_KEY = 256,
  OPTION_ANSWERS,
  OPTION_RUBRIC,
  OPTION_PRINT_RUBRIC,
  OPTION_SPEC,
  OPTION_CSV,
  OPTION_XLSX,
  OPTION_HTML,
  OPTION_STUDENTS,
  OPTION_COLOR
};

typedef struct arguments {
  const char *folder, *key, *answers, *rubric, *spec, *csv, *xlsx, *html, *students;
  cli_color color;
  bool print_rubric;
} arguments;

static const struct argp_option options[] = {
    {NULL, 0, NULL, 0, "What is marked:", 1},
    {"key", OPTION_KEY, "CSV", 0,
     "What is true: vehicle, finding, and maybe valve, family, code, code_says, next_test, "
     "conditions, stick_band_pct, opening_t63_s, closing_t63_s",
     1},
    {"answers", OPTION_ANSWERS, "CSV", 0,
     "What was handed in: student, vehicle, file, and maybe condition, finding, family, code_says, "
     "next_test, probability, stick_band_pct, opening_t63_s, closing_t63_s",
     1},
    {"rubric", OPTION_RUBRIC, "INI", 0, "What each criterion gives; see --print-rubric", 1},
    {"print-rubric", OPTION_PRINT_RUBRIC, NULL, 0,
     "Show the rubric, the default one or that of --rubric, and leave", 1},
    {"spec", OPTION_SPEC, "FILE", 0, "Readings and limits of the service information (INI)", 1},
    {NULL, 0, NULL, 0, "What is written:", 2},
    {"csv", OPTION_CSV, "FILE", 0, "Marks for a spreadsheet", 2},
    {"xlsx", OPTION_XLSX, "FILE", 0, "The same as a workbook", 2},
    {"html", OPTION_HTML, "FILE", 0, "A page for the instructor", 2},
    {"students", OPTION_STUDENTS, "FOLDER", 0,
     "A page a student, free of other students' data; made when it is not there", 2},
    {"color", OPTION_COLOR, "WHEN", 0, "Emphasis by colour: auto, always or never", 2},
    {0}};

#define PLACE(member) offsetof(arguments, member)
static const cli_place places[] = {{ARGP_KEY_ARG, CLI_FILE, PLACE(folder), 0},
                                   {OPTION_KEY, CLI_TEXT, PLACE(key), 0},
                                   {OPTION_ANSWERS, CLI_TEXT, PLACE(answers), 0},
                                   {OPTION_RUBRIC, CLI_TEXT, PLACE(rubric), 0},
                                   {OPTION_PRINT_RUBRIC, CLI_FLAG, PLACE(print_rubric), 0},
                                   {OPTION_SPEC, CLI_TEXT, PLACE(spec), 0},
                                   {OPTION_CSV, CLI_TEXT, PLACE(csv), 0},
                                   {OPTION_XLSX, CLI_TEXT, PLACE(xlsx), 0},
                                   {OPTION_HTML, CLI_TEXT, PLACE(html), 0},
                                   {OPTION_STUDENTS, CLI_TEXT, PLACE(students), 0},
                                   {OPTION_COLOR, CLI_COLOR, PLACE(color), 0},
                                   {.key = -1}};

static const cli_syntax syntax = {
    .option = options,
    .place = places,
    .names = "[FOLDER]",
    .doc = "Marks a class: whether each recording is fit to decide from, whether the conclusion is "
           "right, with a reason for every mark, and which recordings are alike beyond chance. "
           "FOLDER holds the files that the answers name.\v"
           "Exit status: 0 done, whatever was not marked; 64 usage; 65 a table or the rubric is "
           "refused; 66 one is not there; 74 reading or writing failed."};

/* --- what is written, each as a cli_writer ---------------------------------------------------- */

static platelag_status write_csv(const void *marked, const platelag_sink *sink,
                                 platelag_error *error) {
  return platelag_class_write_csv(marked, sink, error);
}

static platelag_status write_html(const void *marked, const platelag_sink *sink,
                                  platelag_error *error) {
  return platelag_class_write_html(marked, sink, error);
}

/* A student, by a submission. */
typedef struct student_of {
  const platelag_class *marked;
  size_t submission;
} student_of;

static platelag_status write_student(const void *thing, const platelag_sink *sink,
                                     platelag_error *error) {
  const student_of *one = thing;
  return platelag_class_write_student(one->marked, one->submission, sink, error);
}

/* A file's name for a student: letters and digits as they are, whatever else as a line, and a
 * number, so that no two are one. */
static void name_page(const char *folder, const char *student, size_t number, char path[PATH_MAX]) {
  char plain[64];
  size_t length = 0;
  for (const char *at = student; *at != '\0' && length + 1 < sizeof plain; at++) {
    const unsigned char c = (unsigned char)*at;
    const bool kept = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    plain[length++] = (char)(kept ? c : '_');
  }
  plain[length] = '\0';
  (void)snprintf(path, PATH_MAX, "%.*s/%03zu_%s.html", PATH_MAX - 128, folder, number, plain);
}

static platelag_status write_students(const char *folder, const platelag_class *marked,
                                      cli_output *output, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  size_t number = 0;
  if (folder == NULL)
    return PLATELAG_OK;
  if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
    error->status = PLATELAG_ERROR_IO;
    (void)snprintf(error->message, sizeof error->message, "%.200s: %s", folder, strerror(errno));
    return error->status;
  }
  for (size_t i = 0; i < marked->submission_count && status == PLATELAG_OK; i++) {
    char path[PATH_MAX];
    if (i > 0 && strcmp(marked->submission[i].student, marked->submission[i - 1].student) == 0)
      continue;
    name_page(folder, marked->submission[i].student, ++number, path);
    const student_of one = {marked, i};
    status = cli_write(path, write_student, &one, output, error);
  }
  return status;
}

static platelag_status write_all(const arguments *given, const platelag_class *marked,
                                 cli_output *output, platelag_error *error) {
  platelag_status status = cli_write(given->csv, write_csv, marked, output, error);
  if (status == PLATELAG_OK && given->xlsx != NULL)
    status = platelag_class_write_xlsx(marked, given->xlsx, error);
  if (status == PLATELAG_OK)
    status = cli_write(given->html, write_html, marked, output, error);
  if (status == PLATELAG_OK)
    status = write_students(given->students, marked, output, error);
  const bool taken = cli_is_output(given->csv) || cli_is_output(given->html);
  const platelag_report_options look = cli_report_options(given->color);
  if (status == PLATELAG_OK && !taken)
    status = platelag_class_write_text(marked, &look, &output->sink, error);
  return status;
}

static int mark_class(const arguments *given) {
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  platelag_rubric *rubric = NULL;
  platelag_class *marked = NULL;
  cli_output output;
  cli_output_open(&output);
  platelag_status status = given->rubric != NULL
                               ? platelag_rubric_read(given->rubric, &rubric, &error)
                               : platelag_rubric_create(&rubric, &error);
  if (status == PLATELAG_OK && given->print_rubric) {
    status = platelag_rubric_write(rubric, &output.sink, &error);
  } else if (status == PLATELAG_OK) {
    status = cli_spec_make(given->spec, NULL, NULL, &spec, &error);
    const platelag_mark_work work = {.key = given->key,
                                     .answers = given->answers,
                                     .rubric = rubric,
                                     .folder = given->folder,
                                     .spec = spec};
    if (status == PLATELAG_OK)
      status = platelag_class_build(&work, &marked, &error);
    if (status == PLATELAG_OK)
      status = write_all(given, marked, &output, &error);
  }
  platelag_class_destroy(marked);
  platelag_spec_destroy(spec);
  platelag_rubric_destroy(rubric);
  if (status != PLATELAG_OK && output.error.status == PLATELAG_OK)
    cli_tell(&error);
  return cli_output_close(&output, (int)status);
}

int cli_mark(int argc, char **argv) {
  arguments given = {0};
  int status = 0;
  if (!cli_parse(&syntax, argc, argv, &given, &status))
    return status;
  if (!given.print_rubric && (given.key == NULL || given.answers == NULL))
    return cli_usage(argv[0], "no --%s is given", given.key == NULL ? "key" : "answers");
  if (!given.print_rubric && given.folder == NULL)
    return cli_usage(argv[0], "no FOLDER is given");
  if (cli_is_output(given.xlsx))
    return cli_usage(argv[0], "--xlsx needs the name of a file: a workbook is no text");
  return mark_class(&given);
}
