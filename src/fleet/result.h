/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What one capture came to, on its way from a worker to the store. */
#ifndef PLAG_FLEET_RESULT_H
#define PLAG_FLEET_RESULT_H

#include "core/arena.h"
#include "fleet/figures.h"
#include "fleet/place.h"

/* A capture's key, terminated: 128 bits of XXH3 of its content in hexadecimal digits, and how it
 * was taken unless that is the road, which the judgement hangs on: "...-hand_sweep". */
enum { PLAG_KEY_BYTES = 48 };

typedef enum plag_result_state {
  PLAG_RESULT_JUDGED,
  PLAG_RESULT_REFUSED,  /* read, and no capture: `why` */
  PLAG_RESULT_TROUBLED, /* could not be read whole: `why`; tried again by the next run */
  PLAG_RESULT_KNOWN,    /* judged or refused before; only where it lies may be new */
  PLAG_RESULT_ELSEWHERE /* another shard's */
} plag_result_state;

/* One valve of one run of the capture. */
typedef struct plag_judged {
  int run;
  const char *run_label;
  const char *valve;
  platelag_finding_kind finding;
  platelag_family family;
  double finding_probability;
  double probability[PLATELAG_FAMILY_COUNT];
  const char *sentence;
  const char *next_test; /* "": none */
  platelag_estimate figure[PLAG_FIGURE_COUNT];
} plag_judged;

typedef struct plag_result {
  plag_result_state state;
  const char *path;
  char key[PLAG_KEY_BYTES];
  int64_t bytes;
  int64_t modified_ns;
  plag_place place;
  bool place_is_new; /* KNOWN: the row that tells where it lies is to be written */
  size_t gone_count; /* paths of the same content that are no more: it was moved */
  const char **gone;
  const char *settings;
  const char *why;
  double duration_s;
  int64_t rows;
  bool started_known;
  int64_t started_unix_s;
  size_t judged_count;
  plag_judged *judged;
  plag_arena arena; /* owns every text */
} plag_result;

/* A result that can take texts; NULL without memory. The caller destroys it. */
plag_result *plag_result_create(const char *path);
void plag_result_destroy(plag_result *result);

#endif
