/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Decimal marks and thousands, column by column. */
#include <string.h>

#include "read/column.h"

typedef struct hint_count {
  size_t plain, either_point, either_comma, point, comma;
} hint_count;

/* All of one kind, seen from the sample's begin to its end; so much and no more such a column
 * weighs among those of its file. */
enum { SURE_HINTS = 100, ROUNDS = 5 };

static bool is_sure(const hint_count *count) {
  return (count->point >= SURE_HINTS && count->comma == 0) ||
         (count->comma >= SURE_HINTS && count->point == 0);
}

static void count_hint(hint_count *count, plag_cell cell) {
  switch (plag_cell_hint(cell.text, cell.length)) {
  case PLAG_HINT_PLAIN:
    count->plain++;
    break;
  case PLAG_HINT_EITHER_POINT:
    count->either_point++;
    break;
  case PLAG_HINT_EITHER_COMMA:
    count->either_comma++;
    break;
  case PLAG_HINT_DECIMAL_POINT:
    count->point++;
    break;
  case PLAG_HINT_DECIMAL_COMMA:
    count->comma++;
    break;
  default:
    break;
  }
}

/* In rounds over the whole sample, so that a mark that changes on the way is seen in the first. */
static hint_count count_hints(const plag_sample *sample, int column) {
  hint_count count = {0};
  for (size_t round = 0; round < ROUNDS; round++)
    for (size_t i = round; i < sample->count && !is_sure(&count); i += ROUNDS)
      count_hint(&count, plag_row_cell(&sample->row[i], column));
  return count;
}

static plag_notation notation_of(char decimal) {
  return (plag_notation){decimal, decimal == '.' ? ',' : '.'};
}

/* Of all columns; only asked where one leaves it open. */
static hint_count count_all_hints(const plag_sample *sample, const plag_layout *layout) {
  hint_count file = {0};
  for (size_t i = 0; i < layout->column_count; i++) {
    const hint_count count = count_hints(sample, (int)i);
    file.point += count.point;
    file.comma += count.comma;
  }
  return file;
}

/* A column whose own cells leave it open: "1.234" alone, or "1,234" alone. */
static plag_notation decide_open(const hint_count *count, const plag_sample *sample,
                                 const plag_layout *layout, int column, plag_note_list *notes) {
  const hint_count file = count_all_hints(sample, layout);
  const char mark = count->either_point > 0 ? '.' : ',';
  char decimal = mark;
  const char *why = "as the other columns write";
  if (file.point != file.comma) {
    decimal = file.point > file.comma ? '.' : ',';
    if (decimal == mark)
      return notation_of(decimal); /* nothing is open: the file writes decimals so */
  } else if (count->plain > 0) {
    decimal = mark == '.' ? ',' : '.';
    why = "since smaller numbers stand without it";
  } else {
    why = "since it stands in every number";
  }
  (void)plag_note_list_add(
      notes, layout->data_line, column + 1,
      "column \"%s\": \"1%c234\" can be read in two ways; the mark is taken for %s, %s",
      layout->column[column].full_name, mark,
      decimal == mark ? "the decimal mark" : "a mark between thousands", why);
  return notation_of(decimal);
}

void plag_notation_decide(const plag_sample *sample, const plag_layout *layout,
                          plag_notation *notation, plag_note_list *notes) {
  for (size_t i = 0; i < layout->column_count; i++) {
    const hint_count count = count_hints(sample, (int)i);
    notation[i] = notation_of(layout->decimal);
    if (count.point != count.comma)
      notation[i] = notation_of(count.point > count.comma ? '.' : ',');
    else if ((count.either_point > 0) != (count.either_comma > 0))
      notation[i] = decide_open(&count, sample, layout, (int)i, notes);
  }
}
