/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "platelag/status.h"

const char *platelag_version(void) {
  return PLATELAG_VERSION;
}
