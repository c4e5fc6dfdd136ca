/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/array.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>

enum { FIRST_ELEMENTS = 16, FEW_ELEMENTS = 1024, MANY_ELEMENTS = 16384 };

static size_t grown_from(size_t capacity) {
  if (capacity < FEW_ELEMENTS)
    return 4 * capacity;
  return capacity < MANY_ELEMENTS ? 2 * capacity : capacity + capacity / 2;
}

bool plag_array_reserve(void **array, size_t *capacity, size_t need, size_t size) {
  assert(size > 0);
  if (need <= *capacity)
    return true;
  size_t grown = grown_from(*capacity);
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
