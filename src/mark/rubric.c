/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rubric's table, its file and back. */
#include "mark/rubric.h"

#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/ini.h"
#include "core/number.h"
#include "core/text.h"

#define POINTS_MOST 1000.0

static const plag_criterion_row rows[PLATELAG_CRITERIA] = {
    {"channels", "command and position recorded", "Both, or half of the points for one", 4, {{0}}},
    {"length",
     "length of the recording",
     "A shorter one gets its share",
     4,
     {{"minutes", 4, 0.1, 600, "that suffice"}}},
    {"rate",
     "rate of the recording",
     "A slower one gets its share",
     4,
     {{"rows_per_second", 5, 0.1, 1000, "that suffice"}}},
    {"moves",
     "moves each way",
     "Fewer get their share, by the way that has fewer",
     4,
     {{"each_way", 8, 1, 10000, "openings, and closings, of a tenth of travel or more"}}},
    {"travel",
     "travel visited",
     "Half for the levels visited, a quarter for each stop that was reached",
     4,
     {{"visited_pct", 80, 1, 100, "of the levels between the stops"}}},
    {"precision",
     "how well t63 is known",
     "All where the 90 % interval is as narrow, none where it is three times as wide",
     4,
     {{"width_pct", 40, 1, 1000, "width of the interval, % of t63"}}},
    {"gaps",
     "no gaps, no lost readings",
     "None at three times as much",
     4,
     {{"lost_pct", 2, 0.01, 100, "of the time or the readings may be missing"}}},
    {"reversals",
     "reversals of the command",
     "Fewer get their share: friction shows where the command turns",
     4,
     {{"reversals", 6, 1, 10000, "that suffice"}}},
    {"conditions", "the conditions asked for", "Each recorded one gets its share", 8, {{0}}},
    {"finding",
     "the finding",
     "\"cannot tell\" earns all where the recording cannot tell",
     25,
     {{"near", 0.4, 0, 1, "share for another finding of the same family"},
      {"unsupported", 0.5, 0, 1, "share for the right finding, from a recording that cannot tell"},
      {"as_recorded", 0.5, 0, 1, "share for what the recording shows, where the key says other"}}},
    {"family",
     "where the fault lies",
     "\"undecided\" earns all where the recording leaves it open",
     15,
     {{"unsupported", 0.5, 0, 1, "share for the right one, from a recording that cannot tell"},
      {"as_recorded", 0.5, 0, 1, "share for what the recording shows, where the key says other"}}},
    {"code",
     "what the stored code claims",
     "supported, contradicted or cannot_tell, as the trace has it",
     5,
     {{"cannot_tell", 0.5, 0, 1, "share for \"cannot_tell\" where the trace does tell"}}},
    {"next_test",
     "the next test",
     "All for what the key lists, or for what settles most",
     5,
     {{"second", 0.7, 0, 1, "share for the second best"},
      {"third", 0.4, 0, 1, "share for the third best"}}},
    {"probability",
     "how sure the student is",
     "1 - (stated - right)^2: sure and right earns most, sure and wrong nothing",
     5,
     {{0}}},
    {"figures",
     "figures that were measured",
     "All within the tool's 90 % interval or the tolerance, half within twice that",
     5,
     {{"tolerance_pct", 25, 0, 1000, "of the figure"}}},
};

const plag_criterion_row *plag_criterion_at(size_t index) {
  return &rows[index];
}

size_t platelag_criterion_count(void) {
  return PLATELAG_CRITERIA;
}

const char *platelag_criterion_key(size_t index) {
  return index < PLATELAG_CRITERIA ? rows[index].key : NULL;
}

const char *platelag_criterion_title(size_t index) {
  return index < PLATELAG_CRITERIA ? rows[index].title : NULL;
}

static void set_standard(platelag_rubric *rubric, size_t index) {
  for (size_t i = 0; i < PLAG_CRITERION_SETTINGS; i++)
    rubric->setting[index][i] = rows[index].setting[i].standard;
}

platelag_status platelag_rubric_create(platelag_rubric **out, platelag_error *error) {
  *out = calloc(1, sizeof **out);
  if (*out == NULL)
    return plag_error_memory(error, "the rubric");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++) {
    (*out)->points[i] = rows[i].points;
    set_standard(*out, i);
  }
  return PLATELAG_OK;
}

void platelag_rubric_destroy(platelag_rubric *rubric) {
  free(rubric);
}

/* --- reading --------------------------------------------------------------------------------- */

typedef struct rubric_reader {
  platelag_rubric *rubric;
  bool points_given[PLATELAG_CRITERIA];
  bool given[PLATELAG_CRITERIA][PLAG_CRITERION_SETTINGS];
} rubric_reader;

static size_t find_criterion(const char *key) {
  size_t index = 0;
  while (index < PLATELAG_CRITERIA && strcmp(rows[index].key, key) != 0)
    index++;
  return index;
}

static platelag_status refuse_section(const plag_ini_key *key, platelag_error *error) {
  plag_text list = {0};
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    plag_text_add_format(&list, "%s[%s]", i > 0 ? ", " : "one of ", rows[i].key);
  const platelag_status status =
      plag_ini_refuse(key, "a key in section", key->section,
                      list.bytes != NULL ? list.bytes : "a criterion", error);
  plag_text_clear(&list);
  return status;
}

static platelag_status refuse_key(const plag_ini_key *key, size_t index, platelag_error *error) {
  plag_text list = {0};
  plag_text_add(&list, "points");
  for (size_t i = 0; i < PLAG_CRITERION_SETTINGS && rows[index].setting[i].name != NULL; i++)
    plag_text_add_format(&list, ", %s", rows[index].setting[i].name);
  const platelag_status status = plag_ini_refuse(
      key, "unknown key", key->name, list.bytes != NULL ? list.bytes : "a known key", error);
  plag_text_clear(&list);
  return status;
}

static platelag_status take_number(const plag_ini_key *key, bool *given, double low, double high,
                                   double *out, platelag_error *error) {
  if (*given)
    return plag_ini_refuse(key, "a second", key->name, "each key once in a section", error);
  *given = true;
  return plag_ini_number(key, low, high, out, error);
}

static platelag_status take_key(void *context, const plag_ini_key *key, platelag_error *error) {
  rubric_reader *reader = context;
  const size_t index = find_criterion(key->section);
  if (index == PLATELAG_CRITERIA)
    return refuse_section(key, error);
  if (strcmp(key->name, "points") == 0)
    return take_number(key, &reader->points_given[index], 0, POINTS_MOST,
                       &reader->rubric->points[index], error);
  for (size_t i = 0; i < PLAG_CRITERION_SETTINGS && rows[index].setting[i].name != NULL; i++)
    if (strcmp(rows[index].setting[i].name, key->name) == 0)
      return take_number(key, &reader->given[index][i], rows[index].setting[i].low,
                         rows[index].setting[i].high, &reader->rubric->setting[index][i], error);
  return refuse_key(key, index, error);
}

platelag_status platelag_rubric_read(const char *path, platelag_rubric **out,
                                     platelag_error *error) {
  rubric_reader reader = {0};
  *out = NULL;
  platelag_status status = platelag_rubric_create(&reader.rubric, error);
  if (status != PLATELAG_OK)
    return status;
  double all = 0;
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    reader.rubric->points[i] = 0; /* what is not named gives none */
  status = plag_ini_read(path, "the rubric", take_key, &reader, error);
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    all += reader.rubric->points[i];
  if (status == PLATELAG_OK && !(all > 0))
    status = plag_error_set(error, PLATELAG_ERROR_INPUT, path, 0, 0,
                            "no criterion gives points; expected a section such as [finding] with "
                            "\"points = 25\"");
  if (status == PLATELAG_OK)
    *out = reader.rubric;
  else
    platelag_rubric_destroy(reader.rubric);
  return status;
}

/* --- writing --------------------------------------------------------------------------------- */

static void add_pair(plag_text *text, const char *name, double value, const char *comment) {
  char number[PLAG_NUMBER_TEXT_BYTES];
  plag_text_add_format(text, "%s = %s", name, plag_number_format_json(value, 6, number));
  if (comment != NULL)
    plag_text_add_format(text, "  ; %s", comment);
  plag_text_add_char(text, '\n');
}

static void add_criterion(plag_text *text, const platelag_rubric *rubric, size_t index) {
  plag_text_add_format(text, "\n; %s. %s.\n[%s]\n", rows[index].title, rows[index].comment,
                       rows[index].key);
  add_pair(text, "points", rubric->points[index], NULL);
  for (size_t i = 0; i < PLAG_CRITERION_SETTINGS && rows[index].setting[i].name != NULL; i++)
    add_pair(text, rows[index].setting[i].name, rubric->setting[index][i],
             rows[index].setting[i].comment);
}

platelag_status platelag_rubric_write(const platelag_rubric *rubric, const platelag_sink *sink,
                                      platelag_error *error) {
  plag_text text = {0};
  plag_text_add(&text, "; What each criterion gives. A criterion that is left out gives nothing; "
                       "one that does not apply\n; to a recording counts neither for nor against "
                       "it.\n");
  for (size_t i = 0; i < PLATELAG_CRITERIA; i++)
    add_criterion(&text, rubric, i);
  const platelag_status status = text.failed
                                     ? plag_error_memory(error, "the rubric")
                                     : sink->write(sink->context, text.bytes, text.length, error);
  plag_text_clear(&text);
  return status;
}
