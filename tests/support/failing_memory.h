/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Makes one allocation of the code under test fail. The linker puts these in place of malloc,
 * calloc and realloc for the library's and the tests' own objects (tests/CMakeLists.txt); other
 * libraries keep theirs. */
#ifndef PLATELAG_TESTS_FAILING_MEMORY_H
#define PLATELAG_TESTS_FAILING_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/* The `nth` allocation from now on (from 1) fails, once; 0: none. */
void plag_test_fail_allocation(size_t nth);

/* From now on none fails, and it is noted through which calls each one comes. */
void plag_test_watch_allocations(void);

/* Of those that were watched last: is the `nth` (from 1) one of the first three, of all that this
 * program ever watched, that came through the same calls? A fourth would fail in the same lines.
 * With EACH_ALLOCATION in the environment all of them are. */
bool plag_test_allocation_is_new(size_t nth);

/* How many allocations there were since either. */
size_t plag_test_allocation_count(void);

/* Whether that allocation was reached and did fail. */
bool plag_test_allocation_failed(void);

#endif
