/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/failing_memory.h"

#include <stdatomic.h>

/* Some tests have several threads, in which nothing fails. */
static atomic_size_t left;
static atomic_size_t seen;
static atomic_bool failed;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);

void plag_test_fail_allocation(size_t nth) {
  left = nth;
  seen = 0;
  failed = false;
}

size_t plag_test_allocation_count(void) {
  return seen;
}

bool plag_test_allocation_failed(void) {
  return failed;
}

static bool fails_now(void) {
  atomic_fetch_add_explicit(&seen, 1, memory_order_relaxed);
  if (atomic_load_explicit(&left, memory_order_relaxed) == 0 || --left > 0)
    return false;
  failed = true;
  return true;
}

void *__wrap_malloc(size_t size) {
  return fails_now() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
  return fails_now() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *memory, size_t size) {
  return fails_now() ? NULL : __real_realloc(memory, size);
}
