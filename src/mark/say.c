/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mark/say.h"

#include <assert.h>

const char *plag_say_truth(platelag_finding_kind finding) {
  static const char *const clause[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = "the vehicle has plates that move freely",
      [PLATELAG_FINDING_SLOW] = "the vehicle has slow plates",
      [PLATELAG_FINDING_STICKING] = "the vehicle has sticking plates",
      [PLATELAG_FINDING_SHORT_TRAVEL] = "the vehicle has plates that end short of a stop",
      [PLATELAG_FINDING_STILL] = "the vehicle has plates that do not move",
      [PLATELAG_FINDING_SIGNAL_HIGH] = "the vehicle has a signal past its high limit",
      [PLATELAG_FINDING_SIGNAL_LOW] = "the vehicle has a signal past its low limit",
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = "the vehicle has an erratic signal",
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = "the vehicle has a shifted signal",
      [PLATELAG_FINDING_UNDECIDED] = "what the vehicle has is open",
  };
  assert(finding < PLATELAG_FINDING_COUNT);
  return clause[finding];
}

const char *plag_say_shown(platelag_finding_kind finding) {
  static const char *const clause[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = "the recording shows plates that move freely",
      [PLATELAG_FINDING_SLOW] = "the recording shows slow plates",
      [PLATELAG_FINDING_STICKING] = "the recording shows sticking plates",
      [PLATELAG_FINDING_SHORT_TRAVEL] = "the recording shows plates that end short of a stop",
      [PLATELAG_FINDING_STILL] = "the recording shows plates that do not move",
      [PLATELAG_FINDING_SIGNAL_HIGH] = "the recording shows a signal past its high limit",
      [PLATELAG_FINDING_SIGNAL_LOW] = "the recording shows a signal past its low limit",
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = "the recording shows an erratic signal",
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = "the recording shows a shifted signal",
      [PLATELAG_FINDING_UNDECIDED] = "the recording alone cannot tell",
  };
  assert(finding < PLATELAG_FINDING_COUNT);
  return clause[finding];
}

const char *plag_say_place(platelag_family family) {
  static const char *const clause[PLATELAG_FAMILY_COUNT + 1] = {
      [PLATELAG_FAMILY_FREE] = "there is no fault",
      [PLATELAG_FAMILY_MECHANICAL] = "the fault lies in the plates or their shaft",
      [PLATELAG_FAMILY_SENSOR_CIRCUIT] = "the fault lies in the sensor or its circuit",
      [PLATELAG_FAMILY_DRIVE] = "the fault lies in the actuator or its supply",
      [PLATELAG_FAMILY_UNDECIDED] = "the place of the fault is open",
  };
  assert(family <= PLATELAG_FAMILY_UNDECIDED);
  return clause[family];
}

const char *plag_say_shown_place(platelag_family family) {
  static const char *const clause[PLATELAG_FAMILY_COUNT + 1] = {
      [PLATELAG_FAMILY_FREE] = "the recording points to no fault",
      [PLATELAG_FAMILY_MECHANICAL] = "the recording points to the plates or their shaft",
      [PLATELAG_FAMILY_SENSOR_CIRCUIT] = "the recording points to the sensor or its circuit",
      [PLATELAG_FAMILY_DRIVE] = "the recording points to the actuator or its supply",
      [PLATELAG_FAMILY_UNDECIDED] = "the recording alone cannot tell",
  };
  assert(family <= PLATELAG_FAMILY_UNDECIDED);
  return clause[family];
}
