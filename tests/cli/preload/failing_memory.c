/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Stands between a whole program, its libraries too, and the memory it asks for (LD_PRELOAD):
 * PLATELAG_FAIL_FROM=n the n-th allocation fails, PLATELAG_FAIL_COUNT=k and the k - 1 after it (1).
 * PLATELAG_COUNT_TO=file takes the count of allocations at the end. See tests/cli/test_memory. */
#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What glibc's own functions are called beside their public names. */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *memory, size_t size);

void *malloc(size_t size);
void *calloc(size_t count, size_t size);
void *realloc(void *memory, size_t size);

static atomic_ulong seen;
static unsigned long first, last; /* those that fail; 0: none */

static unsigned long number_of(const char *name, unsigned long otherwise) {
  const char *text = getenv(name);
  return text != NULL ? strtoul(text, NULL, 10) : otherwise;
}

__attribute__((constructor)) static void begin(void) {
  first = number_of("PLATELAG_FAIL_FROM", 0);
  last = first > 0 ? first + number_of("PLATELAG_FAIL_COUNT", 1) - 1 : 0;
  atomic_store(&seen, 0);
}

__attribute__((destructor)) static void end(void) {
  const char *path = getenv("PLATELAG_COUNT_TO");
  char text[32];
  size_t at = sizeof text;
  if (path == NULL)
    return;
  for (unsigned long left = atomic_load(&seen); at == sizeof text || left > 0; left /= 10)
    text[--at] = (char)('0' + left % 10);
  const int handle = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (handle < 0)
    return;
  if (write(handle, text + at, sizeof text - at) < 0)
    _exit(99);
  (void)close(handle);
}

static bool fails_now(void) {
  const unsigned long nth = atomic_fetch_add(&seen, 1) + 1;
  if (nth < first || nth > last)
    return false;
  errno = ENOMEM;
  return true;
}

void *malloc(size_t size) {
  return fails_now() ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size) {
  return fails_now() ? NULL : __libc_calloc(count, size);
}

void *realloc(void *memory, size_t size) {
  return fails_now() ? NULL : __libc_realloc(memory, size);
}
