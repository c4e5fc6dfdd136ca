/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dates as people write them beside captures: in manifests and in names of files. */
#ifndef PLAG_FLEET_CALENDAR_H
#define PLAG_FLEET_CALENDAR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/calendar.h"

enum { PLAG_DATE_BYTES = PLAG_CALENDAR_BYTES };

/* Reads 2026-03-14, 20260314, 2026_03_14 or 2026.03.14, with or without a time behind a T, a blank,
 * _ or -: 07:41, 07:41:12, 0741, 074112, 07-41-12; a Z at the end is allowed. Seconds since
 * 1970-01-01. False for anything else; day and month never change places. */
bool plag_date_read(const char *text, size_t length, int64_t *unix_s);

/* "2026-03-14", of RFC 3339. Returns `text`. */
const char *plag_date_format(int64_t unix_s, char text[PLAG_DATE_BYTES]);

/* "2026-03-14T07:41:12". Returns `text`. */
const char *plag_stamp_format(int64_t unix_s, char text[PLAG_DATE_BYTES]);

#endif
