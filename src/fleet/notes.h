/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences about the fleet as a whole that more than one report says. */
#ifndef PLAG_FLEET_NOTES_H
#define PLAG_FLEET_NOTES_H

#include "core/arena.h"
#include "platelag/fleet.h"

/* "61 vehicles, 61 valves, 361 captures, the last log of 2026-10-26"; NULL without memory. */
const char *plag_fleet_summary(const platelag_fleet *fleet, plag_arena *arena);

enum { PLAG_NOTES_MOST = 4 };
/* Logs without a name or a date or of another version, and at the end what a place in the ranking
 * means. Returns how many sentences; one is NULL without memory. */
size_t plag_fleet_notes(const platelag_fleet *fleet, plag_arena *arena,
                        const char *out[PLAG_NOTES_MOST]);

#endif
