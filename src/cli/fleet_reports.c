/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a fleet's store says, written: files, the page with its captures' reports, the text. */
#include <errno.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "fleet.h"

/* --- what is written, each as a cli_writer ---------------------------------------------------- */

static platelag_status write_csv(const void *fleet, const platelag_sink *sink,
                                 platelag_error *error) {
  return platelag_fleet_write_csv(fleet, sink, error);
}

static platelag_status write_jsonl(const void *fleet, const platelag_sink *sink,
                                   platelag_error *error) {
  return platelag_fleet_write_jsonl(fleet, sink, error);
}

static platelag_status write_metrics(const void *fleet, const platelag_sink *sink,
                                     platelag_error *error) {
  return platelag_fleet_write_metrics(fleet, sink, error);
}

typedef struct fleet_and_page {
  const platelag_fleet *fleet;
  const platelag_fleet_page *page;
} fleet_and_page;

static platelag_status write_html(const void *thing, const platelag_sink *sink,
                                  platelag_error *error) {
  const fleet_and_page *both = thing;
  return platelag_fleet_write_html(both->fleet, both->page, sink, error);
}

static bool takes_output(const cli_fleet_arguments *given) {
  return cli_is_output(given->html) || cli_is_output(given->jsonl) || cli_is_output(given->csv) ||
         cli_is_output(given->metrics);
}

/* --- captures' own reports ---------------------------------------------------------------------
 */

enum { FOLDER_BYTES = PATH_MAX - 128 }; /* leaves room for a report's name */

/* Where they lie: "fleet-captures" beside "fleet.html". */
typedef struct folder {
  char path[FOLDER_BYTES];
  const char *name; /* its last part */
} folder;

static platelag_status name_folder(const char *page, folder *out, platelag_error *error) {
  const size_t length = strlen(page);
  const size_t bare = length > 5 && strcmp(page + length - 5, ".html") == 0 ? length - 5 : length;
  const int bytes = snprintf(out->path, sizeof out->path, "%.*s-captures", (int)bare, page);
  const char *slash = strrchr(out->path, '/');
  out->name = slash != NULL ? slash + 1 : out->path;
  if (bytes > 0 && (size_t)bytes < sizeof out->path)
    return PLATELAG_OK;
  error->status = PLATELAG_ERROR_USAGE;
  (void)snprintf(error->message, sizeof error->message, "the page's name is too long");
  return error->status;
}

static void name_report(const folder *in, const char *key, char path[PATH_MAX]) {
  (void)snprintf(path, PATH_MAX, "%s/%.64s.html", in->path, key);
}

static bool report_is_there(void *context, const char *key) {
  char path[PATH_MAX];
  name_report(context, key, path);
  return access(path, F_OK) == 0;
}

/* One capture as a page of its own, or as text where `path` is NULL. */
static platelag_status report_capture(const platelag_fleet_place *place, const platelag_spec *spec,
                                      const cli_fleet_arguments *given, const char *path,
                                      cli_output *output, platelag_error *error) {
  platelag_workspace *workspace = NULL;
  platelag_review *review = NULL;
  const platelag_review_file file = {.path = place->path, .condition = place->condition};
  const platelag_review_options how = {.spec = spec,
                                       .circumstances = {.meter = PLATELAG_METER_NONE},
                                       .rows_per_second = given->rows_per_second};
  platelag_status status = platelag_workspace_create(&workspace, error);
  if (status == PLATELAG_OK)
    status = platelag_review_build(&file, 1, &how, workspace, &review, error);
  if (status == PLATELAG_OK && review->case_count == 0) {
    *error = review->capture[0].refusal;
    status = error->status;
  }
  const platelag_report_options look = cli_report_options(given->color);
  if (status == PLATELAG_OK && path == NULL)
    status = platelag_report_write_text(review, &look, &output->sink, error);
  else if (status == PLATELAG_OK)
    status = cli_write(path, cli_write_page, review, output, error);
  platelag_review_destroy(review);
  platelag_workspace_destroy(workspace);
  return status;
}

/* Those of the first valves that are not there yet. A capture that lies elsewhere by now has none,
 * and holds nothing up. */
static platelag_status make_reports(const cli_fleet_arguments *given, const folder *in,
                                    platelag_fleet_store *store, const platelag_spec *spec,
                                    const platelag_fleet *fleet, platelag_error *error) {
  if (given->reports > 0 && mkdir(in->path, 0777) != 0 && errno != EEXIST) {
    error->status = PLATELAG_ERROR_IO;
    (void)snprintf(error->message, sizeof error->message, "%.200s: %s", in->path, strerror(errno));
    return error->status;
  }
  for (size_t i = 0; i < fleet->valve_count && i < given->reports && cli_caught() == 0; i++) {
    char path[PATH_MAX];
    platelag_fleet_place place;
    platelag_error why = {0};
    name_report(in, fleet->valve[i].last_key, path);
    if (access(path, F_OK) == 0 ||
        platelag_fleet_store_find(store, fleet->valve[i].last_key, &place, &why) != PLATELAG_OK)
      continue;
    const platelag_status status = report_capture(&place, spec, given, path, NULL, &why);
    if (status != PLATELAG_OK && status != PLATELAG_ERROR_NOT_FOUND &&
        status != PLATELAG_ERROR_INPUT) {
      *error = why;
      return status;
    }
  }
  return PLATELAG_OK;
}

/* The options that decide how captures are judged, for the command that makes a report. */
typedef struct judged_by {
  const char *word[8];
  size_t count;
  char rate[32];
} judged_by;

static void add_option(judged_by *how, const char *option, const char *value) {
  if (value == NULL)
    return;
  how->word[how->count++] = option;
  how->word[how->count++] = value;
}

static void tell_options(const cli_fleet_arguments *given, judged_by *how) {
  how->count = 0;
  (void)snprintf(how->rate, sizeof how->rate, "%g", given->rows_per_second);
  add_option(how, "--spec", given->spec);
  add_option(how, "--command", given->command);
  add_option(how, "--position", given->position);
  add_option(how, "--rows-per-second", given->rows_per_second > 0 ? how->rate : NULL);
}

static platelag_status write_page(const cli_fleet_arguments *given, platelag_fleet_store *store,
                                  const platelag_spec *spec, const platelag_fleet *fleet,
                                  cli_output *output, platelag_error *error) {
  folder in;
  judged_by how;
  tell_options(given, &how);
  platelag_fleet_page page = {
      .store = given->store, .word = how.word, .word_count = how.count, .context = &in};
  if (given->html == NULL)
    return PLATELAG_OK;
  platelag_status status = PLATELAG_OK;
  if (!cli_is_output(given->html)) {
    status = name_folder(given->html, &in, error);
    page.folder = in.name;
    page.place = in.path;
    page.is_there = report_is_there;
    if (status == PLATELAG_OK)
      status = make_reports(given, &in, store, spec, fleet, error);
  }
  const fleet_and_page both = {fleet, &page};
  return status == PLATELAG_OK ? cli_write(given->html, write_html, &both, output, error) : status;
}

platelag_status cli_fleet_write_capture(const cli_fleet_arguments *given,
                                        platelag_fleet_store *store, const platelag_spec *spec,
                                        cli_output *output, platelag_error *error) {
  platelag_fleet_place place;
  const platelag_status status = platelag_fleet_store_find(store, given->capture, &place, error);
  return status == PLATELAG_OK ? report_capture(&place, spec, given, given->html, output, error)
                               : status;
}

platelag_status cli_fleet_write(const cli_fleet_arguments *given, platelag_fleet_store *store,
                                const platelag_spec *spec, cli_output *output,
                                platelag_error *error) {
  platelag_fleet *fleet = NULL;
  platelag_status status =
      platelag_fleet_build(store, given->spec != NULL ? spec : NULL, &fleet, error);
  if (status == PLATELAG_OK)
    status = cli_write(given->csv, write_csv, fleet, output, error);
  if (status == PLATELAG_OK)
    status = cli_write(given->jsonl, write_jsonl, fleet, output, error);
  if (status == PLATELAG_OK)
    status = cli_write(given->metrics, write_metrics, fleet, output, error);
  if (status == PLATELAG_OK)
    status = write_page(given, store, spec, fleet, output, error);
  const platelag_report_options look = cli_report_options(given->color);
  if (status == PLATELAG_OK && !takes_output(given))
    status = platelag_fleet_write_text(fleet, &look, (size_t)given->most, &output->sink, error);
  platelag_fleet_destroy(fleet);
  return status;
}
