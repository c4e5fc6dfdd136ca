/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keys of reports. */
#include "platelag/finding.h"

#include <assert.h>

const char *platelag_finding_name(platelag_finding_kind kind) {
  static const char *const name[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = "free",
      [PLATELAG_FINDING_SLOW] = "slow",
      [PLATELAG_FINDING_STICKING] = "sticking",
      [PLATELAG_FINDING_SHORT_TRAVEL] = "short_travel",
      [PLATELAG_FINDING_STILL] = "still",
      [PLATELAG_FINDING_SIGNAL_HIGH] = "signal_high",
      [PLATELAG_FINDING_SIGNAL_LOW] = "signal_low",
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = "signal_erratic",
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = "signal_shifted",
      [PLATELAG_FINDING_UNDECIDED] = "undecided",
  };
  assert(kind < PLATELAG_FINDING_COUNT);
  return name[kind];
}

const char *platelag_family_name(platelag_family family) {
  static const char *const name[PLATELAG_FAMILY_COUNT + 1] = {
      [PLATELAG_FAMILY_FREE] = "free",
      [PLATELAG_FAMILY_MECHANICAL] = "mechanical",
      [PLATELAG_FAMILY_SENSOR_CIRCUIT] = "sensor_circuit",
      [PLATELAG_FAMILY_DRIVE] = "drive",
      [PLATELAG_FAMILY_UNDECIDED] = "undecided",
  };
  assert(family <= PLATELAG_FAMILY_UNDECIDED);
  return name[family];
}

const char *platelag_code_verdict_name(platelag_code_verdict verdict) {
  static const char *const name[] = {"supported", "contradicted", "cannot_tell"};
  assert(verdict <= PLATELAG_CODE_CANNOT_TELL);
  return name[verdict];
}

const char *platelag_check_name(platelag_check check) {
  static const char *const name[] = {"passed", "failed", "not_evaluable"};
  assert(check <= PLATELAG_CHECK_NOT_EVALUABLE);
  return name[check];
}

const char *platelag_check_kind_name(platelag_check_kind kind) {
  static const char *const name[PLATELAG_CHECK_COUNT] = {
      [PLATELAG_CHECK_CONTINUITY] = "continuity",
      [PLATELAG_CHECK_RANGE] = "range",
      [PLATELAG_CHECK_RATIONALITY] = "rationality",
      [PLATELAG_CHECK_FUNCTIONAL_RESPONSE] = "functional_response",
  };
  assert(kind < PLATELAG_CHECK_COUNT);
  return name[kind];
}

const char *platelag_repair_name(platelag_repair repair) {
  static const char *const name[] = {
      [PLATELAG_REPAIR_NONE] = "none",     [PLATELAG_REPAIR_REPAIRED] = "repaired",
      [PLATELAG_REPAIR_BETTER] = "better", [PLATELAG_REPAIR_UNCHANGED] = "unchanged",
      [PLATELAG_REPAIR_WORSE] = "worse",   [PLATELAG_REPAIR_CANNOT_TELL] = "cannot_tell",
  };
  assert(repair <= PLATELAG_REPAIR_CANNOT_TELL);
  return name[repair];
}
