/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "platelag/trace.h"

const char *platelag_condition_name(platelag_condition condition) {
  static const char *const name[] = {"road", "rest", "hand_sweep", "after"};
  return name[condition];
}
