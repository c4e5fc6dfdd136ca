/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What to record where a record fits two things. */
#ifndef PLAG_JUDGE_AMBIGUITY_H
#define PLAG_JUDGE_AMBIGUITY_H

#include "platelag/finding.h"

/* What would tell two findings apart, as a sentence of the kind "... ; record ...". Static. */
const char *plag_ambiguity_between(platelag_finding_kind one, platelag_finding_kind other);

/* What would tell whose fault a sure finding is; NULL where nothing recorded would. Static. */
const char *plag_ambiguity_of_family(platelag_finding_kind finding);

#endif
