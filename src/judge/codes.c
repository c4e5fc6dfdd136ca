/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/codes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "judge/code_claims.h"
#include "judge/words.h"

/* Whose bank a valve is, and who turned it, decide before the record does. */
static plag_code_answer ask(const plag_code_row *row, int bank, const plag_code_record *at) {
  const bool ours = row->bank == 0 || row->bank == bank;
  if (!ours)
    return plag_code_claims_unknown(
        "it names the other bank, of which this valve's record says nothing");
  /* A sweep by hand, off the manifold, sets no code of plates or signal and shows none. */
  if (at->facts->by_hand && row->bank != 0)
    return plag_code_claims_unknown("a sweep by hand does not show what the code claims");
  return plag_code_claims_ask(row->claim, at);
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
                         .value = NAN,
                         .limit = NAN,
                         .unit = "",
                         .stored = true,
                         .verdict = PLATELAG_CODE_CANNOT_TELL};
}

static platelag_code told(const plag_code_row *row, const plag_code_answer *found, bool stored) {
  return (platelag_code){row->code,    row->name,   found->at_s, found->basis,  found->value,
                         found->limit, found->unit, stored,      found->verdict};
}

static int earlier_first(const void *a, const void *b) {
  const platelag_code *left = a;
  const platelag_code *right = b;
  const double left_s = left->verdict == PLATELAG_CODE_SUPPORTED ? left->at_s : INFINITY;
  const double right_s = right->verdict == PLATELAG_CODE_SUPPORTED ? right->at_s : INFINITY;
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
  static const platelag_meter none = PLATELAG_METER_NONE;
  const platelag_meter meter = circumstances == NULL ? none : circumstances->meter;
  const plag_code_record at = {fit, trace, spec, facts, seen, meter, arena};
  const size_t given = circumstances == NULL ? 0 : circumstances->code_count;
  platelag_code *list =
      plag_arena_take_array(arena, plag_code_count() + given, sizeof(platelag_code));
  if (list == NULL)
    return false;
  const int bank = bank_of(trace, circumstances);
  size_t found = 0;
  for (size_t i = 0; i < plag_code_count(); i++) {
    const plag_code_row *row = plag_code_at(i);
    const bool stored = is_stored(circumstances, row->code);
    const plag_code_answer answer = ask(row, bank, &at);
    if (answer.basis == NULL)
      return false;
    const bool met = answer.verdict == PLATELAG_CODE_SUPPORTED && !answer.indirect;
    if (stored || (met && row->expected))
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

static const char *claim_words(const platelag_code *code, plag_arena *arena) {
  static const char *const said[] = {[PLATELAG_CODE_SUPPORTED] = "supported",
                                     [PLATELAG_CODE_CONTRADICTED] = "contradicted",
                                     [PLATELAG_CODE_CANNOT_TELL] = "cannot be told"};
  return plag_words(arena, "stored #s (#s): #s; #s", code->code, code->name, said[code->verdict],
                    code->basis);
}

bool plag_codes_tell(const platelag_code *code, size_t count, plag_arena *arena,
                     const platelag_evidence **rows, size_t *row_count) {
  platelag_evidence *list =
      plag_arena_take_array(arena, *row_count + count, sizeof(platelag_evidence));
  if (list == NULL)
    return false;
  size_t found = 0;
  for (size_t i = 0; i < *row_count; i++)
    if ((*rows)[i].source != PLATELAG_EVIDENCE_CODE)
      list[found++] = (*rows)[i];
  for (size_t i = 0; i < count; i++) {
    if (!code[i].stored)
      continue;
    const char *what = claim_words(&code[i], arena);
    if (what == NULL)
      return false;
    list[found++] = (platelag_evidence){.what = what,
                                        .value = code[i].value,
                                        .limit = code[i].limit,
                                        .unit = code[i].unit,
                                        .speaks_for = PLATELAG_FAMILY_UNDECIDED,
                                        .source = PLATELAG_EVIDENCE_CODE};
  }
  *rows = list;
  *row_count = found;
  return true;
}
