/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/notes.h"

#include "core/words.h"
#include "fleet/calendar.h"

const char *plag_fleet_summary(const platelag_fleet *fleet, plag_arena *arena) {
  char date[PLAG_DATE_BYTES] = "";
  const bool dated = fleet->latest_unix_s > 0;
  return plag_words(arena, "#c, #c, #c#s#s", (double)fleet->vehicles, "vehicle",
                    (double)fleet->valve_count, "valve", (double)fleet->captures, "capture",
                    dated ? ", the last log of " : "",
                    dated ? plag_date_format(fleet->latest_unix_s, date) : "");
}

size_t plag_fleet_notes(const platelag_fleet *fleet, plag_arena *arena,
                        const char *out[PLAG_NOTES_MOST]) {
  size_t count = 0;
  if (fleet->nameless > 0)
    out[count++] = plag_words(arena,
                              "#c of no known vehicle, each counted as a vehicle of its own. A "
                              "manifest or a pattern tells whose it is (--manifest, --pattern).",
                              (double)fleet->nameless, "log");
  if (fleet->undated > 0)
    out[count++] =
        plag_words(arena, "#c without a date, left out of trends (--manifest, --pattern).",
                   (double)fleet->undated, "log");
  if (fleet->outdated > 0)
    out[count++] =
        plag_words(arena, "#c judged by another version of platelag; --redo judges them again.",
                   (double)fleet->outdated, "log");
  out[count++] =
      "A place in this list is a reason to look, not a repair order. The vehicles' service "
      "information overrides every limit; follow its cautions.";
  return count;
}
