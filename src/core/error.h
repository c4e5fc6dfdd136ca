/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Errors as values: filling the caller's platelag_error. */
#ifndef PLAG_CORE_ERROR_H
#define PLAG_CORE_ERROR_H

#include "platelag/status.h"

/* Writes the first error: status, place and a printf-style sentence. A later call on the same error
 * changes nothing; `error` may be NULL. `file` may be NULL. Returns `status`, so that a caller can
 * `return plag_error_set(...)`. */
platelag_status plag_error_set(platelag_error *error, platelag_status status, const char *file,
                               int64_t line, int64_t column, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* The same for an input that a setting, a key of platelag_error's, would help with. Returns
 * PLATELAG_ERROR_INPUT. */
platelag_status plag_error_set_with(platelag_error *error, const char *setting, const char *file,
                                    int64_t line, int64_t column, const char *format, ...)
    __attribute__((format(printf, 6, 7)));

/* The same for memory that could not be had; `what` says for what. */
platelag_status plag_error_memory(platelag_error *error, const char *what);

#endif
