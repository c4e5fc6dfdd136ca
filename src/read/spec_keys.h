/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keys of a spec on their way into it. */
#ifndef PLAG_READ_SPEC_KEYS_H
#define PLAG_READ_SPEC_KEYS_H

#include "core/arena.h"
#include "core/ini.h"
#include "platelag/spec.h"

enum { PLAG_SPEC_BANKS = 2, PLAG_SPEC_KEYS = 13 };

struct platelag_spec {
  plag_arena arena;
  platelag_valve_spec valve[PLAG_SPEC_BANKS + 1]; /* 0: [valve]; then a bank each */
};

/* What is given, before the banks take over what [valve] says for all. */
typedef struct plag_spec_value {
  int64_t line; /* 0: not given */
  const char *text;
  double number;
} plag_spec_value;

typedef struct plag_spec_given {
  platelag_spec *spec; /* owns the texts */
  plag_spec_value value[PLAG_SPEC_BANKS + 1][PLAG_SPEC_KEYS];
} plag_spec_given;

/* A plag_take_key; `context` is a plag_spec_given. */
platelag_status plag_spec_take_key(void *context, const plag_ini_key *key, platelag_error *error);

/* Puts what is given into the spec, and looks whether the whole makes sense. */
platelag_status plag_spec_apply(const plag_spec_given *given, const char *path,
                                platelag_error *error);

#endif
