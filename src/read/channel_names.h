/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a channel is, by its name and unit. The words are data: channel_names.c. */
#ifndef PLAG_READ_CHANNEL_NAMES_H
#define PLAG_READ_CHANNEL_NAMES_H

#include "core/arena.h"
#include "platelag/capture.h"

/* Classes of words about a valve. */
typedef enum plag_word_class {
  PLAG_WORD_VALVE,      /* says by itself that a runner valve is meant */
  PLAG_WORD_WEAK_VALVE, /* says so only in a name that holds nothing unknown */
  PLAG_WORD_COMMAND,
  PLAG_WORD_WEAK_COMMAND, /* one, unless the name tells a position: "swirl control valve position"
                           */
  PLAG_WORD_DUTY,         /* a command that is no desired position, whatever stands beside it */
  PLAG_WORD_DESIRED,
  PLAG_WORD_POSITION,
  PLAG_WORD_FEEDBACK,     /* a position, unless a word of position's makes a desired one of it */
  PLAG_WORD_OTHER_PART,   /* another part of the vehicle: no valve of ours */
  PLAG_WORD_OTHER_UNLESS, /* likewise, unless a word of the first class stands there too */
  PLAG_WORD_NEUTRAL,      /* says nothing */
  PLAG_WORD_CLASS_COUNT
} plag_word_class;

/* A word, folded (read/fold.h): "=dc" a whole word, "^pos" how a word begins, "runner" anywhere,
 * blanks part words. */
typedef struct plag_name_word {
  const char *word;
  plag_word_class class;
} plag_name_word;

/* A rule of one of the other roles: all of `need` (parted by '&'), none of `forbid`. */
typedef struct plag_name_rule {
  platelag_role role;
  const char *need;
  const char *forbid; /* NULL: nothing */
  const char *unit;   /* folded units of which one must stand, parted by '&'; NULL: any or none */
} plag_name_rule;

extern const plag_name_word plag_name_words[];
extern const size_t plag_name_word_count;
extern const plag_name_rule plag_name_rules[];
extern const size_t plag_name_rule_count;
extern const char *const plag_clock_words[]; /* of clock columns, NULL at the end */
extern const char *const plag_count_words[]; /* of row numbers, which are no clock */
extern const char *const plag_run_words[];   /* of columns that tell vehicles or runs apart */

#endif
