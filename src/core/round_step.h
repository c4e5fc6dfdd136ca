/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps that people count in. */
#ifndef PLAG_CORE_ROUND_STEP_H
#define PLAG_CORE_ROUND_STEP_H

/* The smallest of 1, 2 and 5 times a power of ten that is not less than `least` (above 0). */
double plag_round_step(double least);

#endif
