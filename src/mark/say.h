/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is so, in clauses that students and instructors read. */
#ifndef PLAG_MARK_SAY_H
#define PLAG_MARK_SAY_H

#include "platelag/finding.h"

/* "the vehicle has sticking plates"; "what the vehicle has is open". Static. */
const char *plag_say_truth(platelag_finding_kind finding);
/* "the recording shows sticking plates"; "the recording alone cannot tell". Static. */
const char *plag_say_shown(platelag_finding_kind finding);

/* "the fault lies in the sensor or its circuit"; "there is no fault"; "its place is open". */
const char *plag_say_place(platelag_family family);
/* "the recording points to the sensor or its circuit". */
const char *plag_say_shown_place(platelag_family family);

#endif
