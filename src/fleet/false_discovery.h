/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Of many tests at once, how many of the small p values may be chance. */
#ifndef PLAG_FLEET_FALSE_DISCOVERY_H
#define PLAG_FLEET_FALSE_DISCOVERY_H

#include <stddef.h>

/* Puts in place of each of `count` p values its adjusted one: of all that are no larger, at most
 * that share is expected to be chance. NaN stays and does not count. `order`, scratch for `count`
 * indices, is overwritten. Y. Benjamini, Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289. */
void plag_false_discovery(double *p, size_t count, size_t *order);

#endif
