/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Channels of long form by name: a table of hashes, with a guess first, since channels follow each
 * other in the same order again and again. */
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "read/collect.h"
#include "read/roles.h"

enum { SLOTS = 4 * PLAG_MOST_CHANNELS };

typedef struct plag_channel_index {
  uint32_t slot[SLOTS];               /* column + 1; 0: free */
  uint32_t after[PLAG_MOST_CHANNELS]; /* the column that came after it last time */
  uint32_t last;
} plag_channel_index;

static uint32_t hash_of(plag_cell name) {
  uint32_t hash = 2166136261u; /* FNV-1a, public domain */
  for (size_t i = 0; i < name.length; i++)
    hash = (hash ^ (unsigned char)name.text[i]) * 16777619u;
  return hash % SLOTS;
}

static bool is_named(const plag_column *column, plag_cell name) {
  return strlen(column->head.full_name) == name.length &&
         memcmp(column->head.full_name, name.text, name.length) == 0;
}

/* "Runner position (V)": the name without its unit, and the unit. */
static bool part_name(plag_arena *arena, plag_cell name, plag_cell unit, plag_column_head *head) {
  head->full_name = plag_arena_copy_bytes(arena, name.text, name.length);
  head->name = head->full_name;
  head->unit = plag_arena_copy_bytes(arena, unit.text, unit.length);
  if (head->full_name == NULL || head->unit == NULL)
    return false;
  const char close = name.length > 0 ? name.text[name.length - 1] : '\0';
  const char *open = close == ')'   ? strrchr(head->full_name, '(')
                     : close == ']' ? strrchr(head->full_name, '[')
                                    : NULL;
  if (open == NULL || unit.length > 0)
    return true;
  const size_t inside = name.length - (size_t)(open - head->full_name) - 2;
  if (inside > 0 && plag_unit_find(open + 1, inside) == NULL)
    return true;
  size_t length = (size_t)(open - head->full_name);
  while (length > 0 && head->full_name[length - 1] == ' ')
    length--;
  head->unit = plag_arena_copy_bytes(arena, open + 1, inside);
  head->name = plag_arena_copy_bytes(arena, head->full_name, length);
  return head->unit != NULL && head->name != NULL;
}

static platelag_status add_channel(plag_collector *collector, plag_cell name, plag_cell unit,
                                   platelag_error *error) {
  if (collector->column_count == PLAG_MOST_CHANNELS)
    return plag_error_set(
        error, PLATELAG_ERROR_INPUT, collector->file, 0, collector->shape.name_column + 1,
        "more than %d names of channels; expected a channel's name in this column",
        (int)PLAG_MOST_CHANNELS);
  void *grown = collector->column;
  plag_column_head head;
  if (!plag_array_reserve(&grown, &collector->column_capacity, collector->column_count + 1,
                          sizeof *collector->column))
    return plag_error_memory(error, "the channels");
  collector->column = grown;
  if (!part_name(&collector->arena, name, unit, &head))
    return plag_error_memory(error, "the channels");
  plag_column *column = &collector->column[collector->column_count];
  plag_column_begin(column, &head, (int)collector->column_count, collector->notation, NULL, NULL);
  plag_roles_recognise(column, collector->options->spec);
  collector->column_count++;
  column->kept =
      !collector->options->keep_none && plag_roles_keep(collector->column, collector->column_count,
                                                        collector->column_count - 1, false);
  return PLATELAG_OK;
}

platelag_status plag_channel_of(plag_collector *collector, plag_cell name, plag_cell unit,
                                plag_column **out, platelag_error *error) {
  *out = NULL;
  plag_channel_index *index = collector->index;
  if (index == NULL) {
    collector->index = index = calloc(1, sizeof *index);
    if (index == NULL)
      return plag_error_memory(error, "the channels");
  }
  uint32_t found = index->after[index->last];
  if (found >= collector->column_count || !is_named(&collector->column[found], name)) {
    uint32_t slot = hash_of(name);
    while (index->slot[slot] != 0 && !is_named(&collector->column[index->slot[slot] - 1], name))
      slot = (slot + 1) % SLOTS;
    if (index->slot[slot] == 0) {
      const platelag_status status = add_channel(collector, name, unit, error);
      if (status != PLATELAG_OK)
        return status;
      index->slot[slot] = (uint32_t)collector->column_count;
    }
    found = index->slot[slot] - 1;
    index->after[index->last] = found;
  }
  index->last = found;
  *out = &collector->column[found];
  return PLATELAG_OK;
}

void plag_channel_index_destroy(struct plag_channel_index *index) {
  free(index);
}
