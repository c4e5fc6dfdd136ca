/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/codes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "judge/checks.h"
#include "judge/code_table.h"
#include "judge/words.h"

typedef struct record {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
  platelag_finding_kind seen;
  plag_arena *arena;
} record;

/* Whether a claim is met, since when, and what shows it. */
typedef struct verdict {
  bool met;
  double at_s;
  const char *basis;
} verdict;

/* Settled this near a stop counts as standing at it, % of travel. */
#define AT_STOP_PCT 20.0

static verdict high(const record *at) {
  const platelag_signal *signal = &at->fit->signal;
  if (signal->rails_visible && signal->first_high_ns >= 0)
    return (verdict){true, platelag_seconds(signal->first_high_ns),
                     plag_words(at->arena, "at or above #0 % of reference for #1 s at the longest",
                                at->spec->high_limit_pct, signal->longest_high_s)};
  return (verdict){false, NAN,
                   plag_words(at->arena, "never at or above #0 % of reference for #1 s",
                              at->spec->high_limit_pct, at->spec->hold_time_s)};
}

static verdict low(const record *at) {
  const platelag_signal *signal = &at->fit->signal;
  if (signal->rails_visible && signal->first_low_ns >= 0)
    return (verdict){true, platelag_seconds(signal->first_low_ns),
                     plag_words(at->arena, "at or below #0 % of reference for #1 s at the longest",
                                at->spec->low_limit_pct, signal->longest_low_s)};
  return (verdict){false, NAN,
                   plag_words(at->arena, "never at or below #0 % of reference for #1 s",
                              at->spec->low_limit_pct, at->spec->hold_time_s)};
}

static verdict circuit(const record *at) {
  const verdict above = high(at);
  return above.met || above.basis == NULL ? above : low(at);
}

static verdict intermittent(const record *at) {
  const platelag_signal *signal = &at->fit->signal;
  double at_s = NAN;
  size_t seen = 0;
  for (size_t i = 0; i < at->fit->span_count && seen < PLAG_DROPOUTS_LEAST; i++)
    if (platelag_mode_is_void(at->fit->span[i].mode) && ++seen == PLAG_DROPOUTS_LEAST)
      at_s = platelag_seconds(at->fit->span[i].from_ns);
  const bool met = signal->dropout_count >= PLAG_DROPOUTS_LEAST && !at->facts->railed;
  return (verdict){met, met ? at_s : NAN,
                   plag_words(at->arena, "#c; #0 or more count", (double)signal->dropout_count,
                              "dropout", (double)PLAG_DROPOUTS_LEAST)};
}

/* The first command change that was not answered as it should, or the first held interval. */
static double first_poor_answer_s(const record *at) {
  int64_t first = INT64_MAX;
  for (size_t i = 0; i < at->fit->held_count; i++)
    if (fabs(at->fit->held[i].pull_pct) >= at->spec->stick_band_limit_pct) {
      first = at->fit->held[i].from_ns;
      break;
    }
  for (size_t i = 0; i < at->fit->step_count; i++) {
    const platelag_step *step = &at->fit->step[i];
    const bool poor = step->end == PLATELAG_STEP_STUCK || step->end == PLATELAG_STEP_NO_MOVE ||
                      step->t63_s > at->spec->t63_limit_s ||
                      fabs(step->rest_error_pct) > at->spec->short_travel_limit_pct;
    if (poor && step->at_ns < first)
      first = step->at_ns;
  }
  return first == INT64_MAX ? 0 : platelag_seconds(first);
}

static verdict performance(const record *at) {
  switch (at->seen) {
  case PLATELAG_FINDING_SLOW:
  case PLATELAG_FINDING_STICKING:
  case PLATELAG_FINDING_SHORT_TRAVEL:
  case PLATELAG_FINDING_STILL:
    return (verdict){true, first_poor_answer_s(at),
                     "the position does not follow the command as it should"};
  default:
    return (verdict){false, NAN, "no poor answer to the command was established"};
  }
}

/* A sensor's range or performance code compares the reading with the command: plates that stick
 * set it as well as a shifted sensor. */
static verdict sensor_performance(const record *at) {
  if (at->seen == PLATELAG_FINDING_SIGNAL_SHIFTED)
    return (verdict){true, first_poor_answer_s(at), "both stops read off"};
  verdict found = performance(at);
  if (found.met)
    found.basis = "plates that do not follow set this code as well as a sensor";
  return found;
}

static double settled_pct(const record *at) {
  return 0.5 * (at->fit->travel.lowest_pct + at->fit->travel.highest_pct);
}

static verdict stuck_at(const record *at, double stop_pct, const char *name) {
  const double where = settled_pct(at);
  const bool still = at->seen == PLATELAG_FINDING_STILL;
  const bool met = still && fabs(where - stop_pct) <= AT_STOP_PCT;
  const char *basis =
      still ? plag_words(at->arena, "stands at #0 % of travel whatever the command", where)
            : plag_words(at->arena, "the plates were not seen to stay #s", name);
  return (verdict){met, met ? first_poor_answer_s(at) : NAN, basis};
}

static verdict stuck_open(const record *at) {
  return stuck_at(at, 100, "open");
}
static verdict stuck_closed(const record *at) {
  return stuck_at(at, 0, "closed");
}

static verdict control_circuit(const record *at) {
  const plag_fact *current = &at->facts->fact[PLAG_FEATURE_CURRENT];
  if (!current->present)
    return (verdict){false, NAN, "the actuator current was not recorded"};
  const bool none = current->value <= current->limit;
  const bool met = none && at->facts->commanded && !at->facts->moved;
  return (verdict){met, met ? 0 : NAN,
                   plag_words(at->arena, "actuator current #2 A while commanded", current->value)};
}

static verdict unseen(const record *at) {
  (void)at;
  return (verdict){false, NAN, "this record does not show what the code claims; measure it"};
}

static verdict (*const judge[PLAG_CLAIM_COUNT])(const record *) = {
    [PLAG_CLAIM_STUCK_OPEN] = stuck_open,
    [PLAG_CLAIM_STUCK_CLOSED] = stuck_closed,
    [PLAG_CLAIM_CONTROL_CIRCUIT] = control_circuit,
    [PLAG_CLAIM_PERFORMANCE] = performance,
    [PLAG_CLAIM_SENSOR_CIRCUIT] = circuit,
    [PLAG_CLAIM_SENSOR_PERFORMANCE] = sensor_performance,
    [PLAG_CLAIM_SENSOR_LOW] = low,
    [PLAG_CLAIM_SENSOR_HIGH] = high,
    [PLAG_CLAIM_SENSOR_INTERMITTENT] = intermittent,
    [PLAG_CLAIM_REFERENCE] = unseen,
    [PLAG_CLAIM_SUPPLY] = unseen,
};

/* What the codes of the other bank are told with. */
static verdict other_bank(const record *at) {
  (void)at;
  return (verdict){false, NAN,
                   "it names the other bank, of which this valve's record says nothing"};
}

/* A sweep by hand, off the manifold, sets no code and shows none. */
static verdict by_hand(const record *at) {
  (void)at;
  return (verdict){false, NAN, "a sweep by hand does not show what the code claims"};
}

static bool is_stored(const platelag_circumstances *circumstances, const char *code) {
  for (size_t i = 0; circumstances != NULL && i < circumstances->code_count; i++)
    if (strcasecmp(circumstances->code[i], code) == 0)
      return true;
  return false;
}

static size_t count_stored(const platelag_circumstances *circumstances, int bank) {
  size_t count = 0;
  for (size_t i = 0; i < plag_code_count(); i++)
    count += plag_code_at(i)->bank == bank && is_stored(circumstances, plag_code_at(i)->code);
  return count;
}

/* A valve that the file gives no bank is the one that the stored codes name; bank 1 without any. */
static int bank_of(const platelag_trace *trace, const platelag_circumstances *circumstances) {
  if (trace->bank > 0)
    return trace->bank;
  return count_stored(circumstances, 2) > count_stored(circumstances, 1) ? 2 : 1;
}

/* A stored code that no row knows, as the user wrote it. */
static platelag_code foreign_code(const char *code, plag_arena *arena) {
  return (platelag_code){.code = plag_arena_copy_text(arena, code),
                         .name = "not a code of this circuit that is known here",
                         .at_s = NAN,
                         .basis = "look it up in the service information",
                         .stored = true,
                         .supported = false};
}

static platelag_code told(const plag_code_row *row, const verdict *found, bool stored) {
  return (platelag_code){row->code, row->name, found->at_s, found->basis, stored, found->met};
}

static int earlier_first(const void *a, const void *b) {
  const platelag_code *left = a;
  const platelag_code *right = b;
  const double left_s = left->supported ? left->at_s : INFINITY;
  const double right_s = right->supported ? right->at_s : INFINITY;
  if (left_s != right_s)
    return left_s < right_s ? -1 : 1;
  return strcmp(left->code, right->code);
}

static bool is_listed(const platelag_circumstances *circumstances, size_t index) {
  for (size_t i = 0; i < index; i++)
    if (strcasecmp(circumstances->code[i], circumstances->code[index]) == 0)
      return true;
  return plag_code_find(circumstances->code[index]) != NULL;
}

bool plag_codes_list(const platelag_fit *fit, const platelag_trace *trace,
                     const platelag_valve_spec *spec, const plag_facts *facts,
                     platelag_finding_kind seen, const platelag_circumstances *circumstances,
                     plag_arena *arena, const platelag_code **code, size_t *count) {
  const record at = {fit, trace, spec, facts, seen, arena};
  const size_t given = circumstances == NULL ? 0 : circumstances->code_count;
  platelag_code *list =
      plag_arena_take_array(arena, plag_code_count() + given, sizeof(platelag_code));
  if (list == NULL)
    return false;
  const int bank = bank_of(trace, circumstances);
  const bool swept = facts->by_hand;
  size_t found = 0;
  for (size_t i = 0; i < plag_code_count(); i++) {
    const plag_code_row *row = plag_code_at(i);
    const bool stored = is_stored(circumstances, row->code);
    const bool ours = row->bank == 0 || row->bank == bank;
    const verdict answer = !ours ? other_bank(&at) : swept ? by_hand(&at) : judge[row->claim](&at);
    if (answer.basis == NULL)
      return false;
    if (stored || (answer.met && row->expected))
      list[found++] = told(row, &answer, stored);
  }
  for (size_t i = 0; i < given; i++)
    if (!is_listed(circumstances, i))
      list[found++] = foreign_code(circumstances->code[i], arena);
  for (size_t i = 0; i < found; i++)
    if (list[i].code == NULL || list[i].basis == NULL)
      return false;
  if (found > 0)
    qsort(list, found, sizeof list[0], earlier_first);
  *code = list;
  *count = found;
  return true;
}
