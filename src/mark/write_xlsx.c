/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The marks as a workbook, by libxlsxwriter: texts are written as texts, so that none becomes a
 * formula. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include "core/error.h"
#include "core/escape.h"
#include "core/late.h"
#include "core/words.h"
#include "mark/sheet.h"

/* A workbook tells when it was made; the same marks are to give the same bytes. */
#define MADE_UNIX_S 946684800

/* It brings a library for signing, which takes longer to load than all the rest. */
#define LIBRARY "libxlsxwriter.so.4"

#define CALLS(CALL)                                                                                \
  CALL(workbook_new)                                                                               \
  CALL(workbook_set_properties)                                                                    \
  CALL(workbook_add_worksheet)                                                                     \
  CALL(workbook_add_format)                                                                        \
  CALL(workbook_close)                                                                             \
  CALL(worksheet_write_string)                                                                     \
  CALL(worksheet_write_number)                                                                     \
  CALL(worksheet_set_column)                                                                       \
  CALL(worksheet_freeze_panes)                                                                     \
  CALL(worksheet_autofilter)                                                                       \
  CALL(format_set_bold)                                                                            \
  CALL(format_set_align)                                                                           \
  CALL(format_set_num_format)                                                                      \
  CALL(lxw_strerror)

typedef struct calls {
  CALLS(PLAG_LATE_MEMBER)
} calls;

static const char *const call_names[] = {CALLS(PLAG_LATE_NAME)};

typedef struct book {
  calls call;
  lxw_workbook *workbook;
  lxw_worksheet *sheet;
  lxw_format *head, *wrapped, *number[3];
  lxw_row_t row;
  lxw_error trouble;
  bool failed; /* memory */
} book;

/* What a cell can hold; longer texts are cut. */
enum { CELL_BYTES = 32000 };

/* The two characters that UTF-8 has and XML 1.0 (section 2.2) has not become the one for unknown.
 */
static void clean_for_xml(char *text) {
  for (char *at = text; (at = strstr(at, "\xef\xbf")) != NULL; at += 3)
    if (((unsigned char)at[2] & 0xfe) == 0xbe)
      at[2] = (char)0xbd;
}

static void put_text(book *to, lxw_col_t column, const char *text, lxw_format *format) {
  plag_text clean = {0};
  plag_escape_add(&clean, text);
  if (clean.length > CELL_BYTES) {
    size_t cut = CELL_BYTES;
    while (cut > 0 && ((unsigned char)clean.bytes[cut] & 0xc0) == 0x80)
      cut--;
    clean.bytes[cut] = '\0';
  }
  if (clean.bytes != NULL)
    clean_for_xml(clean.bytes);
  const lxw_error trouble = to->call.worksheet_write_string(
      to->sheet, to->row, column, clean.bytes != NULL ? clean.bytes : "", format);
  if (trouble != LXW_NO_ERROR && to->trouble == LXW_NO_ERROR)
    to->trouble = trouble;
  to->failed = to->failed || clean.failed;
  plag_text_clear(&clean);
}

static void take_row(void *context, const plag_sheet_cell *cell, size_t count, bool head) {
  book *to = context;
  for (size_t i = 0; i < count; i++) {
    const lxw_col_t column = (lxw_col_t)i;
    if (cell[i].text != NULL)
      put_text(to, column, cell[i].text, head ? to->head : to->wrapped);
    else if (isfinite(cell[i].number))
      (void)to->call.worksheet_write_number(to->sheet, to->row, column, cell[i].number,
                                            to->number[cell[i].decimals > 0 ? 1 : 0]);
  }
  to->row++;
}

static void set_looks(book *to) {
  to->head = to->call.workbook_add_format(to->workbook);
  to->wrapped = to->call.workbook_add_format(to->workbook);
  to->number[0] = to->call.workbook_add_format(to->workbook);
  to->number[1] = to->call.workbook_add_format(to->workbook);
  to->call.format_set_bold(to->head);
  to->call.format_set_align(to->wrapped, LXW_ALIGN_VERTICAL_TOP);
  to->call.format_set_num_format(to->number[0], "0");
  to->call.format_set_num_format(to->number[1], "0.0");
  to->call.format_set_align(to->number[0], LXW_ALIGN_VERTICAL_TOP);
  to->call.format_set_align(to->number[1], LXW_ALIGN_VERTICAL_TOP);
  (void)to->call.worksheet_set_column(to->sheet, 0, 2, 20, NULL);
  (void)to->call.worksheet_set_column(to->sheet, 3, 6, 9, NULL);
  (void)to->call.worksheet_set_column(to->sheet, 7, 10, 24, NULL);
  (void)to->call.worksheet_set_column(to->sheet, 11, 10 + PLATELAG_CRITERIA, 11, NULL);
  (void)to->call.worksheet_set_column(to->sheet, 11 + PLATELAG_CRITERIA, 15 + PLATELAG_CRITERIA, 60,
                                      NULL);
  to->call.worksheet_freeze_panes(to->sheet, 1, 1);
}

static platelag_status write_workbook(const platelag_class *marked, const char *path,
                                      platelag_error *error) {
  book to = {0};
  if (!plag_late_load(LIBRARY, call_names, sizeof call_names / sizeof call_names[0], &to.call))
    return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, NULL, 0, 0,
                          "a workbook needs the library " LIBRARY " (Debian: libxlsxwriter4)");
  to.workbook = to.call.workbook_new(path);
  if (to.workbook == NULL)
    return plag_error_memory(error, "the workbook");
  lxw_doc_properties made = {.title = "Marks", .created = MADE_UNIX_S};
  (void)to.call.workbook_set_properties(to.workbook, &made);
  to.sheet = to.call.workbook_add_worksheet(to.workbook, "marks");
  platelag_status status = PLATELAG_OK;
  if (to.sheet == NULL) {
    status = plag_error_memory(error, "the workbook");
  } else {
    set_looks(&to);
    status = plag_sheet_walk(marked, take_row, &to, error);
    if (to.row > 1)
      (void)to.call.worksheet_autofilter(to.sheet, 0, 0, to.row - 1, 15 + PLATELAG_CRITERIA);
  }
  errno = 0;
  const lxw_error closed = to.call.workbook_close(to.workbook);
  const lxw_error trouble = to.trouble != LXW_NO_ERROR ? to.trouble : closed;
  if (status == PLATELAG_OK && to.failed)
    status = plag_error_memory(error, "the workbook");
  if (status == PLATELAG_OK && trouble != LXW_NO_ERROR)
    status = plag_error_set(error, PLATELAG_ERROR_IO, NULL, 0, 0, "the workbook: %s",
                            errno != 0 ? strerror(errno) : to.call.lxw_strerror(trouble));
  return status;
}

platelag_status platelag_class_write_xlsx(const platelag_class *marked, const char *path,
                                          platelag_error *error) {
  plag_arena arena = {0};
  const char *named = plag_words(&arena, "#s.XXXXXX", path);
  char *temporary = named != NULL ? plag_arena_copy_text(&arena, named) : NULL;
  if (temporary == NULL) {
    plag_arena_clear(&arena);
    return plag_error_memory(error, "the workbook's name");
  }
  const int handle = mkstemp(temporary);
  platelag_status status =
      handle < 0 ? plag_error_set(error, PLATELAG_ERROR_IO, path, 0, 0, "%s", strerror(errno))
                 : PLATELAG_OK;
  if (handle >= 0) {
    const mode_t mask = umask(0);
    (void)umask(mask);
    (void)fchmod(handle, 0666 & ~mask);
    (void)close(handle);
    status = write_workbook(marked, temporary, error);
  }
  if (status == PLATELAG_OK && rename(temporary, path) != 0)
    status = plag_error_set(error, PLATELAG_ERROR_IO, path, 0, 0, "%s", strerror(errno));
  if (status != PLATELAG_OK && handle >= 0)
    (void)unlink(temporary);
  plag_arena_clear(&arena);
  return status;
}
