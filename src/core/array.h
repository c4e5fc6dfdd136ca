/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Growing a plain array. */
#ifndef PLAG_CORE_ARRAY_H
#define PLAG_CORE_ARRAY_H

#include <stdbool.h>
#include <stddef.h>

/* Makes room for at least `need` elements of `size` bytes in `*array`, which holds room for
 * `*capacity` (both 0 and NULL at first). Small ones grow two- to fourfold; from 128 KiB on they
 * grow by half, and move their pages rather than being copied. False without memory or on overflow;
 * the array then stands as it was. The caller frees it. */
bool plag_array_reserve(void **array, size_t *capacity, size_t need, size_t size);

#endif
