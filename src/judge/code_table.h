/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Generic codes of runner control and its position sensor: wording as publicly listed for SAE J2012
 * / ISO 15031-6 (the standard itself was not opened). */
#ifndef PLAG_JUDGE_CODE_TABLE_H
#define PLAG_JUDGE_CODE_TABLE_H

#include <stddef.h>

/* What a code's name claims. */
typedef enum plag_claim {
  PLAG_CLAIM_STUCK_OPEN,
  PLAG_CLAIM_STUCK_CLOSED,
  PLAG_CLAIM_CONTROL_CIRCUIT,
  PLAG_CLAIM_CONTROL_SHORTED, /* low or high */
  PLAG_CLAIM_PERFORMANCE,
  PLAG_CLAIM_SENSOR_CIRCUIT,
  PLAG_CLAIM_SENSOR_PERFORMANCE,
  PLAG_CLAIM_SENSOR_LOW,
  PLAG_CLAIM_SENSOR_HIGH,
  PLAG_CLAIM_SENSOR_INTERMITTENT,
  PLAG_CLAIM_REFERENCE,
  PLAG_CLAIM_REFERENCE_LOW,
  PLAG_CLAIM_REFERENCE_HIGH,
  PLAG_CLAIM_SUPPLY,
  PLAG_CLAIM_SUPPLY_LOW,
  PLAG_CLAIM_SUPPLY_HIGH,
  PLAG_CLAIM_COUNT
} plag_claim;

typedef struct plag_code_row {
  const char *code;
  const char *name;
  int bank; /* 1, 2; 0: either */
  plag_claim claim;
  int expected; /* whether a trace that meets the claim would set this very code */
} plag_code_row;

size_t plag_code_count(void);
const plag_code_row *plag_code_at(size_t index);

/* The row of a code as a user writes it (upper or lower case); NULL when it is not of this circuit.
 */
const plag_code_row *plag_code_find(const char *code);

#endif
