/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * libplatelag: is the runner valve at fault, or its sensor? The headers read top to bottom as the
 * pipeline: status, spec, capture, trace, fit, finding, review, report, practice,
 * fleet.
 *
 * The grammar of names: platelag_<noun>_<verb>.
 *
 * - read, build, create, judge: make a new object, may fail, you destroy it; *out is NULL on
 * failure.
 *
 * - destroy: accepts NULL.
 *
 * - count, at, name, is: cannot fail; what they give is lent and lives as long as its object.
 *
 * - write: goes to a sink, and every write is checked.
 *
 * Units stand in the names: _s, _ns, _pct (of travel, unless it says of reference), _v, _a.
 *
 * There is no global state; objects may be used from several threads, one thread an object at a
 * time. Call platelag_library_start once before threads. */
#ifndef PLATELAG_PLATELAG_H
#define PLATELAG_PLATELAG_H

#include "platelag/fleet.h"
#include "platelag/mark.h"
#include "platelag/practice.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Turns off the numerical library's own error handler, which would end the process. Once, before
 * threads; calling it again does no harm. */
PLATELAG_API void platelag_library_start(void);

#ifdef __cplusplus
}
#endif
#endif
