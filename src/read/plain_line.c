/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/plain_line.h"

#include <endian.h>
#include <string.h>

static bool is_blank(char character) {
  return character == ' ' || character == '\t' || character == '\n';
}

static bool begins_with_no_break_space(const char *text, size_t length) {
  return length >= 2 && text[0] == '\xc2' && text[1] == '\xa0';
}

static void trim(plag_cell *cell) {
  for (;;) {
    if (cell->length > 0 && is_blank(cell->text[0])) {
      cell->text++;
      cell->length--;
    } else if (begins_with_no_break_space(cell->text, cell->length)) {
      cell->text += 2;
      cell->length -= 2;
    } else {
      break;
    }
  }
  while (cell->length > 0) {
    if (is_blank(cell->text[cell->length - 1]))
      cell->length--;
    else if (cell->length >= 2 && begins_with_no_break_space(cell->text + cell->length - 2, 2))
      cell->length -= 2;
    else
      break;
  }
}

void plag_cell_trim(plag_cell *cell) {
  if (cell->length == 0)
    return;
  const unsigned char first = (unsigned char)cell->text[0];
  const unsigned char last = (unsigned char)cell->text[cell->length - 1];
  if (first <= ' ' || first == 0xc2 || last <= ' ' || last == 0xa0)
    trim(cell);
}

#define EACH_BYTE UINT64_C(0x0101010101010101)
#define TOP_BITS  UINT64_C(0x8080808080808080)

/* Of eight bytes at once, the top bit of those that are nothing, exactly. */
static uint64_t nothing_in(uint64_t bytes) {
  return ~(((bytes & ~TOP_BITS) + ~TOP_BITS) | bytes | ~TOP_BITS);
}

/* Of eight bytes at once, top bits where any of them may be trimmed: up to the blank, or 0xa2 and
 * more, as a no-break space begins. A borrow may set one more. */
static uint64_t trimmable_in(uint64_t bytes) {
  return (bytes - EACH_BYTE * (' ' + 1)) & TOP_BITS;
}

/* Cells as they are found. */
typedef struct cutter {
  plag_cell *cell;
  size_t count, room;
  const char *from; /* of the open cell */
  uint64_t trimmable;
} cutter;

static inline void cut_at(cutter *at, const char *stop) {
  at->cell[at->count++] = (plag_cell){.text = at->from, .length = (size_t)(stop - at->from)};
  at->from = stop + 1;
}

/* Eight bytes, of which those below `skip` were looked at before. */
static inline void cut_block(cutter *at, const char *block, uint64_t separators, unsigned skip) {
  uint64_t bytes;
  memcpy(&bytes, block, sizeof bytes);
  bytes = le64toh(bytes);
  uint64_t found = nothing_in(bytes ^ separators);
  at->trimmable |= trimmable_in(bytes) & ~found;
  for (found = found >> skip << skip; found != 0 && at->count < at->room; found &= found - 1)
    cut_at(at, block + (__builtin_ctzll(found) >> 3));
}

/* Eight bytes at a time: a third quicker than one by one, and cells are most of what is read. Few
 * lines hold anything to trim, and they are told as they are split. */
size_t plag_plain_line_split(const char *from, const char *end, char separator, plag_cell *cell,
                             size_t room, const char **rest) {
  const uint64_t separators = EACH_BYTE * (unsigned char)separator;
  cutter all = {.cell = cell, .room = room, .from = from};
  const char *at = from;
  for (; end - at >= 8 && all.count < room; at += 8)
    cut_block(&all, at, separators, 0);
  if (end - from >= 8 && at < end && all.count < room) { /* the last eight, some of them again */
    cut_block(&all, end - 8, separators, 8 * (unsigned)(8 - (end - at)));
    at = end;
  }
  for (; at < end && all.count < room; at++) {
    all.trimmable |= trimmable_in((unsigned char)*at * EACH_BYTE);
    if (*at == separator)
      cut_at(&all, at);
  }
  if (all.count < room)
    cut_at(&all, end);
  for (size_t i = 0; i < all.count && all.trimmable != 0; i++)
    plag_cell_trim(&cell[i]);
  *rest = all.from;
  return all.count;
}
