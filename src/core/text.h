/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A text buffer that grows. A failure sticks: write on and ask once at the end. */
#ifndef PLAG_CORE_TEXT_H
#define PLAG_CORE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct plag_text {
  char *bytes; /* terminated once anything was added; NULL before */
  size_t length;
  size_t capacity;
  bool failed; /* memory ran out at some point */
} plag_text;

void plag_text_add(plag_text *text, const char *string);
void plag_text_add_bytes(plag_text *text, const char *bytes, size_t length);
void plag_text_add_char(plag_text *text, char character);

/* Whole numbers and strings only; doubles go through plag_text_add_number. */
void plag_text_add_format(plag_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* A whole number: what plag_text_add_format does with "%lld", in a fifth of the time. */
void plag_text_add_integer(plag_text *text, int64_t value);

/* A number with `decimals` places, decimal point whatever the locale; "-" for NaN. */
void plag_text_add_number(plag_text *text, double value, int decimals);

/* Forgets the content and keeps the memory; clears `failed`. */
void plag_text_reset(plag_text *text);

/* Gives the memory back; the buffer may be used again. */
void plag_text_clear(plag_text *text);

#endif
