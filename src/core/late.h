/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Libraries that few runs need are loaded when they are, so that the program starts as fast, and
 * runs, without them. A caller lists the calls that it uses:
 *
 *   #define CALLS(CALL) CALL(first_name) CALL(second_name)
 *   typedef struct library { CALLS(PLAG_LATE_MEMBER) } library;
 *   static const char *const names[] = {CALLS(PLAG_LATE_NAME)};
 */
#ifndef PLAG_CORE_LATE_H
#define PLAG_CORE_LATE_H

#include <stdbool.h>
#include <stddef.h>

#define PLAG_LATE_MEMBER(name) __typeof__ (&(name))(name);
#define PLAG_LATE_NAME(name)   #name,

/* Finds `count` names in a shared library and fills the members of `calls`, pointers to functions
 * in the order of the names. The library stays loaded. False when it or one of the names is
 * missing. */
bool plag_late_load(const char *file, const char *const *name, size_t count, void *calls);

#endif
