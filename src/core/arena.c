/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_BLOCK_BYTES = 4096, LARGEST_BLOCK_BYTES = 1 << 16 };

struct plag_arena_block {
  struct plag_arena_block *next;
  size_t used;
  size_t size;
  alignas(max_align_t) unsigned char bytes[];
};

static size_t round_up(size_t size) {
  const size_t step = alignof(max_align_t);
  return (size + step - 1) / step * step;
}

static struct plag_arena_block *add_block(plag_arena *arena, size_t need) {
  size_t size = arena->block == NULL ? FIRST_BLOCK_BYTES : arena->block->size * 2;
  if (size > LARGEST_BLOCK_BYTES)
    size = LARGEST_BLOCK_BYTES;
  if (size < need)
    size = need;
  struct plag_arena_block *block = calloc(1, sizeof *block + size);
  if (block == NULL)
    return NULL;
  block->size = size;
  block->next = arena->block;
  arena->block = block;
  return block;
}

void *plag_arena_take(plag_arena *arena, size_t size) {
  if (size > SIZE_MAX / 2)
    return NULL;
  const size_t need = round_up(size == 0 ? 1 : size);
  struct plag_arena_block *block = arena->block;
  if (block == NULL || block->size - block->used < need)
    block = add_block(arena, need);
  if (block == NULL)
    return NULL;
  void *taken = block->bytes + block->used;
  block->used += need;
  return taken;
}

void *plag_arena_take_array(plag_arena *arena, size_t count, size_t size) {
  if (size != 0 && count > SIZE_MAX / 2 / size)
    return NULL;
  return plag_arena_take(arena, count * size);
}

char *plag_arena_copy_bytes(plag_arena *arena, const char *bytes, size_t length) {
  char *copy = plag_arena_take(arena, length + 1);
  if (copy != NULL && length > 0)
    memcpy(copy, bytes, length);
  return copy;
}

char *plag_arena_copy_text(plag_arena *arena, const char *text) {
  return plag_arena_copy_bytes(arena, text, strlen(text));
}

char *plag_arena_format(plag_arena *arena, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  va_list again;
  va_copy(again, arguments);
  const int length = vsnprintf(NULL, 0, format, arguments);
  va_end(arguments);
  char *text = length < 0 ? NULL : plag_arena_take(arena, (size_t)length + 1);
  if (text != NULL)
    (void)vsnprintf(text, (size_t)length + 1, format, again);
  va_end(again);
  return text;
}

void plag_arena_clear(plag_arena *arena) {
  while (arena->block != NULL) {
    struct plag_arena_block *next = arena->block->next;
    free(arena->block);
    arena->block = next;
  }
}
