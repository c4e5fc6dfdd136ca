/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the drop page calls: one vehicle's captures, reviewed inside a browser. The page gives bytes
 * and takes texts by the four calls that it lends; everything else is the library's. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "platelag/platelag.h"

#define FROM_PAGE(name) __attribute__((import_module("page"), import_name(name)))
#define FOR_PAGE(name)  __attribute__((export_name(name)))

/* Fills up to `size` bytes from the file `index`; how many, 0 at its end, negative: it failed. */
FROM_PAGE("read") extern int page_read(int index, void *bytes, int size);
/* Takes a piece of the text that is being written. */
FROM_PAGE("write") extern void page_write(const char *bytes, int size);

enum { CAPTURES_MOST = 16, CODES_MOST = 16, CODE_BYTES = 16, TEXT_BYTES = 1024 };

typedef struct drop_capture {
  int index; /* the page's number of the file */
  platelag_source source;
  char name[TEXT_BYTES];
} drop_capture;

/* One vehicle. */
typedef struct drop {
  drop_capture capture[CAPTURES_MOST];
  platelag_review_file file[CAPTURES_MOST];
  size_t count;
  platelag_spec *spec;
  const char *code[CODES_MOST];
  char code_text[CODES_MOST][CODE_BYTES];
  size_t code_count;
  platelag_meter meter;
  double rows_per_second;
  platelag_workspace *workspace;
  platelag_review *review;
  platelag_capture *look; /* a refused file, read again for its columns; NULL: none */
  int look_index;         /* of that file among the review's captures */
  platelag_error error;
} drop;

static platelag_status read_page(void *context, void *bytes, size_t size, size_t *got,
                                 platelag_error *error) {
  const drop_capture *capture = context;
  const int count = page_read(capture->index, bytes, size < 1048576 ? (int)size : 1048576);
  *got = count > 0 ? (size_t)count : 0;
  if (count >= 0)
    return PLATELAG_OK;
  if (error != NULL && error->status == PLATELAG_OK) {
    error->status = PLATELAG_ERROR_IO;
    (void)strncpy(error->message, "the browser could not read the file", sizeof error->message - 1);
  }
  return PLATELAG_ERROR_IO;
}

static platelag_status write_page(void *context, const char *bytes, size_t size,
                                  platelag_error *error) {
  (void)context;
  (void)error;
  page_write(bytes, (int)size);
  return PLATELAG_OK;
}

static const platelag_sink sink = {NULL, write_page};

/* Room for a text that the page puts in; it is given back by drop_give_back. */
FOR_PAGE("drop_take") void *drop_take(int size) {
  return malloc(size > 0 ? (size_t)size : 1);
}

FOR_PAGE("drop_give_back") void drop_give_back(void *text) {
  free(text);
}

FOR_PAGE("drop_end") void drop_end(drop *d) {
  if (d == NULL)
    return;
  platelag_capture_destroy(d->look);
  platelag_review_destroy(d->review);
  platelag_workspace_destroy(d->workspace);
  platelag_spec_destroy(d->spec);
  free(d);
}

/* A vehicle without captures; NULL without memory. */
FOR_PAGE("drop_begin") drop *drop_begin(void) {
  platelag_library_start();
  drop *d = calloc(1, sizeof *d);
  if (d == NULL)
    return NULL;
  d->meter = (platelag_meter)PLATELAG_METER_NONE;
  if (platelag_spec_create(&d->spec, &d->error) == PLATELAG_OK &&
      platelag_workspace_create(&d->workspace, &d->error) == PLATELAG_OK)
    return d;
  drop_end(d);
  return NULL;
}

/* Adds the file `index` under its name. 0, or what was wrong: see drop_message. */
FOR_PAGE("drop_add") int drop_add(drop *d, int index, int condition, const char *name) {
  if (d->count == CAPTURES_MOST || condition < PLATELAG_CONDITION_ROAD ||
      condition > PLATELAG_CONDITION_AFTER)
    return PLATELAG_ERROR_USAGE;
  drop_capture *capture = &d->capture[d->count];
  *capture = (drop_capture){.index = index};
  (void)strncpy(capture->name, name, sizeof capture->name - 1);
  capture->source = (platelag_source){capture, read_page};
  d->file[d->count++] = (platelag_review_file){.path = capture->name,
                                               .condition = (platelag_condition)condition,
                                               .source = &capture->source};
  return PLATELAG_OK;
}

/* Adds a stored code. */
static platelag_status add_code(drop *d, const char *code) {
  if (d->code_count == CODES_MOST || strlen(code) >= CODE_BYTES)
    return PLATELAG_ERROR_USAGE;
  memcpy(d->code_text[d->code_count], code, strlen(code) + 1);
  d->code[d->code_count] = d->code_text[d->code_count];
  d->code_count++;
  return PLATELAG_OK;
}

/* Sets a key of the spec, "meter" or "rows_per_second"; "code" adds one. 0, or what was wrong. */
FOR_PAGE("drop_set") int drop_set(drop *d, const char *key, const char *value) {
  d->error = (platelag_error){0};
  if (strcmp(key, "meter") == 0)
    return platelag_meter_read(value, &d->meter, &d->error);
  if (strcmp(key, "code") == 0)
    return add_code(d, value);
  if (strcmp(key, "rows_per_second") == 0)
    return platelag_number_read(value, &d->rows_per_second) ? PLATELAG_OK : PLATELAG_ERROR_USAGE;
  return platelag_spec_set(d->spec, key, value, &d->error);
}

/* Reviews what was added. 0 when there is something to report; else see drop_message. */
FOR_PAGE("drop_review") int drop_review(drop *d) {
  const platelag_review_options how = {.spec = d->spec,
                                       .circumstances = {d->code, d->code_count, d->meter},
                                       .rows_per_second = d->rows_per_second};
  d->error = (platelag_error){0};
  platelag_review_destroy(d->review);
  d->review = NULL;
  return platelag_review_build(d->file, d->count, &how, d->workspace, &d->review, &d->error);
}

/* How many captures the review holds (a file may hold several), and whether one was refused: its
 * status, 0 for none; drop_message tells why. */
FOR_PAGE("drop_captures") int drop_captures(const drop *d) {
  return d->review != NULL ? (int)d->review->capture_count : 0;
}

FOR_PAGE("drop_refusal") int drop_refusal(drop *d, int index) {
  d->error = d->review->capture[index].refusal;
  return d->error.status;
}

FOR_PAGE("drop_cases") int drop_cases(const drop *d) {
  return d->review != NULL ? (int)d->review->case_count : 0;
}

/* Writes the last message, "file:line: ..." */
FOR_PAGE("drop_message") void drop_message(const drop *d) {
  char text[TEXT_BYTES];
  const size_t length = platelag_error_describe(&d->error, text, sizeof text);
  page_write(text, (int)(length < sizeof text ? length : sizeof text - 1));
}

/* Writes the key of the setting that the last message asks for; nothing where it asks for none. */
FOR_PAGE("drop_setting") void drop_setting(const drop *d) {
  const char *setting = d->error.setting != NULL ? d->error.setting : "";
  page_write(setting, (int)strlen(setting));
}

FOR_PAGE("drop_write_html") int drop_write_html(drop *d) {
  return platelag_report_write_html(d->review, &sink, &d->error);
}

FOR_PAGE("drop_write_json") int drop_write_json(drop *d) {
  return platelag_report_write_json(d->review, &sink, &d->error);
}

/* The number among those added of the file that the review's capture `index` comes from: a file of
 * several runs has several captures, of which the first has the run 0. */
static size_t file_of(const drop *d, int index) {
  size_t count = 0;
  for (int i = 0; i <= index; i++)
    count += d->review->capture[i].run == 0;
  return count > 0 ? count - 1 : 0;
}

/* The capture `index`, for its columns. One that was refused is read again, by its summaries alone
 * (the page begins the file anew): whose command was not found can name it then. NULL: not a table.
 */
static const platelag_capture *look_at(drop *d, int index) {
  const platelag_capture *kept = d->review->capture[index].capture;
  if (kept != NULL || (d->look != NULL && d->look_index == index))
    return kept != NULL ? kept : d->look;
  const platelag_review_file *file = &d->file[file_of(d, index)];
  const platelag_read_options how = {
      .rows_per_second = d->rows_per_second, .display_name = file->path, .keep_none = true};
  platelag_capture_destroy(d->look);
  d->look = NULL;
  d->look_index = index;
  d->error = (platelag_error){0};
  (void)platelag_capture_read_source(file->source, &how, &d->look, &d->error);
  return d->look;
}

/* How the file of the review's capture `index` was understood, as text. */
FOR_PAGE("drop_write_columns") int drop_write_columns(drop *d, int index) {
  const platelag_report_options look = {.width = 110};
  const platelag_capture *capture = look_at(d, index);
  if (capture == NULL)
    return (int)d->error.status;
  return (int)platelag_report_write_columns(capture, &look, &sink, &d->error);
}

/* Its channels, "number name" each with a NUL behind it, for who sets command and position by hand.
 */
FOR_PAGE("drop_write_channels") void drop_write_channels(drop *d, int index) {
  const platelag_capture *capture = look_at(d, index);
  const size_t count = capture != NULL ? platelag_capture_channel_count(capture) : 0;
  for (size_t i = 0; i < count; i++) {
    const platelag_channel *channel = platelag_capture_channel_at(capture, i);
    char number[32];
    page_write(number, snprintf(number, sizeof number, "%d ", channel->column));
    page_write(channel->name, (int)strlen(channel->name));
    page_write("", 1);
  }
}

/* Which of the files that were added the review's capture `index` comes from. */
FOR_PAGE("drop_file") int drop_file(const drop *d, int index) {
  return (int)file_of(d, index);
}
