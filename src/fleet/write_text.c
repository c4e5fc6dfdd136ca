/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The ranking for a person at a terminal: who needs a look, why, and what to do next. */
#include <assert.h>
#include <string.h>

#include "core/escape.h"
#include "core/sheet.h"
#include "core/words.h"
#include "core/wrap.h"
#include "fleet/notes.h"
#include "fleet/write.h"

enum { DEFAULT_WIDTH = 100, DEFAULT_MOST = 20, TROUBLES_SHOWN = 5, INDENT = 6 };

static void say(plag_sheet *s, size_t indent, const char *sentence) {
  plag_sheet_say(s, indent, indent, sentence);
}

static void add_head(plag_sheet *s, const platelag_fleet *fleet) {
  plag_sheet_emphasise(s, "\033[1m", "FLEET");
  plag_text_add(&s->out, "  ");
  const char *words = plag_fleet_summary(fleet, &s->arena);
  plag_text_add(&s->out, words != NULL ? words : "");
  s->out.failed = s->out.failed || words == NULL;
  plag_text_add(&s->out, "\n");
  plag_arena_clear(&s->arena);
}

static void add_valve(plag_sheet *s, const platelag_fleet_valve *valve) {
  static const char *const codes[PLATELAG_FLEET_STANDINGS] = {
      [PLATELAG_FLEET_WORK] = "\033[1;31m",  [PLATELAG_FLEET_WORSE] = "\033[1;33m",
      [PLATELAG_FLEET_AGAIN] = "\033[1;33m", [PLATELAG_FLEET_UNUSUAL] = "\033[1m",
      [PLATELAG_FLEET_UNCLEAR] = "\033[1m",  [PLATELAG_FLEET_SOUND] = "\033[1;32m"};
  plag_text_add_format(&s->out, "%4zu  ", valve->rank);
  assert(valve->standing < PLATELAG_FLEET_STANDINGS);
  plag_sheet_emphasise(s, codes[valve->standing], valve->vehicle);
  if (strcmp(valve->valve, "valve") != 0) {
    plag_text_add(&s->out, ", ");
    plag_escape_add(&s->out, valve->valve);
  }
  if (valve->engine[0] != '\0') {
    plag_text_add(&s->out, " (");
    plag_escape_add(&s->out, valve->engine);
    plag_text_add(&s->out, ")");
  }
  plag_text_add(&s->out, "\n");
  for (size_t i = 0; i < valve->reason_count; i++)
    say(s, INDENT, valve->reason[i]);
  if (valve->standing != PLATELAG_FLEET_SOUND && valve->next_test[0] != '\0')
    say(s, INDENT, plag_words(&s->arena, "Next: #s", valve->next_test));
}

static size_t count_of(const platelag_fleet *fleet, platelag_fleet_standing standing) {
  size_t count = 0;
  for (size_t i = 0; i < fleet->valve_count; i++)
    count += fleet->valve[i].standing == standing;
  return count;
}

/* "WORK LIST (3)": capitals of the standing's name. */
static void add_standing(plag_sheet *s, platelag_fleet_standing standing, size_t count) {
  char name[32] = "";
  const char *plain = platelag_fleet_standing_name(standing);
  for (size_t i = 0; plain[i] != '\0' && i + 1 < sizeof name; i++)
    name[i] = (char)(plain[i] >= 'a' && plain[i] <= 'z' ? plain[i] - 'a' + 'A' : plain[i]);
  plag_text_add(&s->out, "\n");
  plag_sheet_emphasise(s, "\033[1m", name);
  plag_text_add_format(&s->out, " (%zu)\n", count);
}

/* Those that need a look, by standing; what is sound is counted. */
static void add_ranking(plag_sheet *s, const platelag_fleet *fleet, size_t most) {
  size_t shown = 0;
  platelag_fleet_standing last = PLATELAG_FLEET_STANDINGS;
  for (size_t i = 0; i < fleet->valve_count && shown < most; i++) {
    const platelag_fleet_valve *valve = &fleet->valve[i];
    if (valve->standing == PLATELAG_FLEET_SOUND)
      break;
    if (valve->standing != last)
      add_standing(s, valve->standing, count_of(fleet, valve->standing));
    last = valve->standing;
    add_valve(s, valve);
    shown++;
  }
  const size_t sound = count_of(fleet, PLATELAG_FLEET_SOUND);
  const size_t rest = fleet->valve_count - sound - shown;
  plag_text_add(&s->out, "\n");
  if (rest > 0)
    say(s, 0,
        plag_words(&s->arena, "#c more need a look and are not shown here (--most).", (double)rest,
                   "valve"));
  say(s, 0, plag_words(&s->arena, "#c sound.", (double)sound, "valve"));
}

static void add_limits(plag_sheet *s, const platelag_fleet *fleet) {
  for (size_t i = 0; i < fleet->limit_count; i++) {
    const platelag_fleet_limit *limit = &fleet->limit[i];
    const platelag_fleet_figure_kind *kind = platelag_fleet_figure_at(limit->figure);
    if (!limit->learned)
      continue;
    const char *const pattern[] = {"Learned limit#s#s: #s #0 #s (median #0 of #c).",
                                   "Learned limit#s#s: #s #1 #s (median #1 of #c).",
                                   "Learned limit#s#s: #s #2 #s (median #2 of #c)."};
    say(s, 0,
        plag_words(&s->arena, pattern[kind->decimals], limit->engine[0] != '\0' ? " of " : "",
                   limit->engine, kind->name, limit->limit, kind->unit, limit->median,
                   (double)limit->logs, "healthy valve"));
  }
}

static void add_troubles(plag_sheet *s, const platelag_fleet *fleet) {
  if (fleet->trouble_count == 0)
    return;
  plag_text_add(&s->out, "\n");
  plag_sheet_emphasise(s, "\033[1m", "NOT JUDGED");
  plag_text_add_format(&s->out, " (%zu)\n", fleet->trouble_count);
  for (size_t i = 0; i < fleet->trouble_count && i < TROUBLES_SHOWN; i++)
    say(s, 2, plag_words(&s->arena, "#s: #s", fleet->trouble[i].file, fleet->trouble[i].why));
  if (fleet->trouble_count > TROUBLES_SHOWN)
    say(s, 2,
        plag_words(&s->arena, "and #0 more (--html and --metrics count them all)",
                   (double)(fleet->trouble_count - TROUBLES_SHOWN)));
}

static void add_notes(plag_sheet *s, const platelag_fleet *fleet) {
  plag_arena arena = {0};
  const char *note[PLAG_NOTES_MOST];
  const size_t count = plag_fleet_notes(fleet, &arena, note);
  for (size_t i = 0; i < count; i++)
    say(s, 0, note[i]);
  plag_arena_clear(&arena);
}

platelag_status platelag_fleet_write_text(const platelag_fleet *fleet,
                                          const platelag_report_options *options, size_t most,
                                          const platelag_sink *sink, platelag_error *error) {
  plag_sheet s = {.width = options != NULL && options->width > 0 ? (size_t)options->width
                                                                 : DEFAULT_WIDTH,
                  .color = options != NULL && options->color};
  add_head(&s, fleet);
  add_ranking(&s, fleet, most > 0 ? most : DEFAULT_MOST);
  add_limits(&s, fleet);
  add_troubles(&s, fleet);
  plag_text_add(&s.out, "\n");
  add_notes(&s, fleet);
  const platelag_status status = plag_write_text(&s.out, sink, error);
  plag_sheet_clear(&s);
  return status;
}
