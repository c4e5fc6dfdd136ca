/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/failing_memory.h"

#include <execinfo.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>

#include "support/check.h"

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

/* --- the watch -------------------------------------------------------------------------------- */

enum { WATCHED_MOST = 16384, WAYS_MOST = 8192, CALLS_MOST = 64, ENOUGH = 3 };

/* One way of calls to an allocation, told by their hash. */
typedef struct way {
  uint64_t calls;
  unsigned seen;
} way;

static atomic_bool watching;
static bool is_new[WATCHED_MOST];
static way ways[WAYS_MOST];

/* FNV-1a over the return addresses; 0 where the stack cannot be read. */
static uint64_t hash_of_calls(void) {
  void *call[CALLS_MOST];
  const int count = backtrace(call, CALLS_MOST);
  uint64_t hash = UINT64_C(0xcbf29ce484222325);
  for (int i = 0; i < count; i++)
    hash = (hash ^ (uint64_t)(uintptr_t)call[i]) * UINT64_C(0x100000001b3);
  return count > 3 ? hash : 0;
}

static bool is_new_way(uint64_t calls) {
  size_t at = calls % WAYS_MOST;
  if (calls == 0)
    return true;
  for (size_t looks = 0; ways[at].seen > 0 && ways[at].calls != calls; looks++) {
    assert_true(looks < WAYS_MOST);
    at = (at + 1) % WAYS_MOST;
  }
  ways[at].calls = calls;
  return ++ways[at].seen <= ENOUGH;
}

void plag_test_watch_allocations(void) {
  plag_test_fail_allocation(0);
  watching = true;
}

bool plag_test_allocation_is_new(size_t nth) {
  assert_in_range(nth, 1, WATCHED_MOST);
  return is_new[nth - 1] || getenv("EACH_ALLOCATION") != NULL;
}

static void watch(size_t nth) {
  assert_true(nth < WATCHED_MOST);
  is_new[nth] = is_new_way(hash_of_calls());
}

/* --- failing ---------------------------------------------------------------------------------- */

void plag_test_fail_allocation(size_t nth) {
  watching = false;
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
  const size_t before = atomic_fetch_add_explicit(&seen, 1, memory_order_relaxed);
  if (atomic_load_explicit(&watching, memory_order_relaxed))
    watch(before);
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
