/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An arena: many small allocations that die together. Every object of the library owns one. */
#ifndef PLAG_CORE_ARENA_H
#define PLAG_CORE_ARENA_H

#include <stddef.h>

typedef struct plag_arena {
  struct plag_arena_block *block; /* newest first */
} plag_arena;

/* Zeroed memory aligned for any type, or NULL. Start from a zero-initialised arena. */
void *plag_arena_take(plag_arena *arena, size_t size);

/* `count` zeroed elements of `size` bytes, or NULL (on overflow too). */
void *plag_arena_take_array(plag_arena *arena, size_t count, size_t size);

/* A copy of a string, or of its first `length` bytes, terminated; NULL without memory. */
char *plag_arena_copy_text(plag_arena *arena, const char *text);
char *plag_arena_copy_bytes(plag_arena *arena, const char *bytes, size_t length);

/* A printf-style sentence, or NULL without memory. Numbers in it must be whole or strings: format
 * doubles with core/number.h, which knows no locale. */
char *plag_arena_format(plag_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Gives everything back; the arena may be used again. */
void plag_arena_clear(plag_arena *arena);

#endif
