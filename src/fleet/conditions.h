/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The word for how a capture was taken, read. */
#ifndef PLAG_FLEET_CONDITIONS_H
#define PLAG_FLEET_CONDITIONS_H

#include <stddef.h>

#include "platelag/trace.h"

/* "road", "rest", "hand_sweep", "after", in any case of letters, also with a blank or hyphen for
 * the underscore; nothing is a road capture. False, and a road capture, for another word. */
bool plag_condition_read(const char *text, size_t length, platelag_condition *out);

#endif
