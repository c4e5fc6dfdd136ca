/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How every fallible call of libplatelag answers, and what it says when it fails. */
#ifndef PLATELAG_STATUS_H
#define PLATELAG_STATUS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#if defined(__GNUC__)
#define PLATELAG_API __attribute__((visibility("default")))
#else
#define PLATELAG_API
#endif

#ifdef __cplusplus
extern "C" {
#endif

/* What happened. The numbers from 64 up are the program's exit statuses. */
typedef enum platelag_status {
  PLATELAG_OK = 0,
  PLATELAG_ERROR_USAGE = 64,     /* the call or the options make no sense */
  PLATELAG_ERROR_INPUT = 65,     /* a file was read and is refused */
  PLATELAG_ERROR_NOT_FOUND = 66, /* a file is not there or may not be opened */
  PLATELAG_ERROR_MEMORY = 71,    /* the machine has no memory left to give */
  PLATELAG_ERROR_IO = 74         /* reading or writing failed half way */
} platelag_status;

/* One failure, told so that its reader can act: where (file, line, column; a line or column of 0
 * is not known) and one sentence that names what was found and what was expected. Where a setting
 * would help, `setting` is its key (a constant: "command", "position" or "rows_per_second") and the
 * sentence ends so that " by" or " under" and the setting's place may follow; else it is NULL. The
 * caller owns it, zero-initialised ({0}); the first error written into it wins. */
typedef struct platelag_error {
  platelag_status status;
  char file[256];
  int64_t line;
  int64_t column;
  char message[512];
  const char *setting;
} platelag_error;

/* Writes "file:line:column: message" (with the parts that are known) into `text`, always
 * terminated, cut at `size` bytes. Returns the length that the whole sentence has. */
PLATELAG_API size_t platelag_error_describe(const platelag_error *error, char *text, size_t size);

/* Reads the whole of `text` as one number with a decimal point, whatever the locale; false, and
 * `*value` untouched, when it is none. */
PLATELAG_API bool platelag_number_read(const char *text, double *value);

/* The version of the library, "0.1.0". */
PLATELAG_API const char *platelag_version(void);

#ifdef __cplusplus
}
#endif
#endif
