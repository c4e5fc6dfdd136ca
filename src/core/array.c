/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/array.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>

enum { FIRST_ELEMENTS = 16, FEW_ELEMENTS = 1024, LARGE_BYTES = 128 * 1024 };

static size_t grown_from(size_t capacity, size_t size) {
  if (capacity * size >= LARGE_BYTES)
    return capacity + capacity / 2;
  return capacity < FEW_ELEMENTS ? 4 * capacity : 2 * capacity;
}

bool plag_array_reserve(void **array, size_t *capacity, size_t need, size_t size) {
  assert(size > 0);
  if (need <= *capacity)
    return true;
  size_t grown = grown_from(*capacity, size);
  if (grown < FIRST_ELEMENTS)
    grown = FIRST_ELEMENTS;
  if (grown < need)
    grown = need;
  if (grown > SIZE_MAX / 2 / size)
    return false;
  void *moved = realloc(*array, grown * size);
  if (moved == NULL)
    return false;
  *array = moved;
  *capacity = grown;
  return true;
}
