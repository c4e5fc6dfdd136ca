/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A case: what all captures of one valve say together, and whether a repair helped. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "judge/ambiguity.h"
#include "judge/build.h"
#include "judge/checks.h"
#include "judge/codes.h"
#include "judge/evidence.h"
#include "judge/fusion.h"
#include "judge/next_tests.h"
#include "judge/repair.h"
#include "judge/sentence.h"
#include "judge/sweep.h"
#include "judge/words.h"

/* What one case works on. */
typedef struct hearing {
  const platelag_case_input *input;
  size_t count;
  const platelag_valve_spec *spec;
  const platelag_meter *meter;
  plag_fusion fusion;
  platelag_finding *finding;
  platelag_repair repair;
  bool out_of_memory;
} hearing;

/* Captures lend their texts only as long as their findings live; a case outlives them. */
static const char *keep(hearing *of, const char *text) {
  const char *kept = text == NULL ? NULL : plag_arena_copy_text(&of->finding->store->arena, text);
  of->out_of_memory |= text != NULL && kept == NULL;
  return kept;
}

static const platelag_case_input *leading(const hearing *of) {
  return of->fusion.main != NULL ? of->fusion.main : of->fusion.sweep;
}

static void copy_checks(hearing *of) {
  for (int i = 0; i < PLATELAG_CHECK_COUNT; i++) {
    of->finding->check[i] = leading(of)->finding->check[i];
    of->finding->check[i].figure = keep(of, leading(of)->finding->check[i].figure);
  }
}

static bool has_code(const platelag_code *code, size_t count, const char *name) {
  for (size_t i = 0; i < count; i++)
    if (strcmp(code[i].code, name) == 0)
      return true;
  return false;
}

/* Codes of all captures before the repair, each once: as the first capture that supports it tells
 * it, else as the first that contradicts it, else as the first that names it. */
static void merge_codes(hearing *of) {
  size_t most = 0;
  for (size_t c = 0; c < of->count; c++)
    most += of->input[c].finding->code_count;
  if (most == 0)
    return;
  platelag_code *list =
      plag_arena_take_array(&of->finding->store->arena, most, sizeof(platelag_code));
  of->out_of_memory |= list == NULL;
  if (list == NULL)
    return;
  size_t found = 0;
  for (int wanted = PLATELAG_CODE_SUPPORTED; wanted <= PLATELAG_CODE_CANNOT_TELL; wanted++)
    for (size_t c = 0; c < of->count; c++) {
      const platelag_finding *finding = of->input[c].finding;
      if (of->input[c].condition == PLATELAG_CONDITION_AFTER && of->fusion.main != &of->input[c])
        continue;
      for (size_t i = 0; i < finding->code_count; i++) {
        const platelag_code *code = &finding->code[i];
        if ((int)code->verdict != wanted || has_code(list, found, code->code))
          continue;
        list[found] = *code;
        list[found].code = keep(of, code->code);
        list[found].name = keep(of, code->name);
        list[found].basis = keep(of, code->basis);
        list[found].unit = keep(of, code->unit);
        if (of->out_of_memory)
          return;
        found++;
      }
    }
  of->finding->code = list;
  of->finding->code_count = found;
}

/* The leading capture's reasons, the sweep's and the meter's, and the figures of the repair. */
static void merge_evidence(hearing *of) {
  plag_arena *arena = &of->finding->store->arena;
  const platelag_finding *lead = leading(of)->finding;
  const size_t most = lead->evidence_count + PLAG_EVIDENCE_ROWS + PLAG_REPAIR_FIGURES;
  platelag_evidence *list = plag_arena_take_array(arena, most, sizeof(platelag_evidence));
  const platelag_evidence *own = NULL;
  size_t own_count = 0;
  of->out_of_memory |=
      list == NULL ||
      !plag_evidence_collect(&of->fusion.facts, &of->fusion.posterior, arena, &own, &own_count);
  if (of->out_of_memory)
    return;
  size_t count = 0;
  for (size_t i = 0; i < lead->evidence_count; i++) {
    if (lead->evidence[i].source == PLATELAG_EVIDENCE_CODE)
      continue; /* told anew, as all captures have it */
    list[count] = lead->evidence[i];
    list[count].what = keep(of, lead->evidence[i].what);
    list[count++].unit = keep(of, lead->evidence[i].unit);
  }
  for (size_t i = 0; i < own_count; i++)
    if (leading(of) != of->fusion.sweep || of->fusion.main != NULL)
      list[count++] = own[i];
  size_t figures = 0;
  if (of->repair != PLATELAG_REPAIR_NONE && of->fusion.main != NULL)
    of->out_of_memory |= !plag_repair_tell(of->fusion.main, of->fusion.after, of->spec, arena,
                                           list + count, &figures);
  count += figures;
  if (count > 0)
    qsort(list, count, sizeof list[0], plag_evidence_heavier_first);
  of->finding->evidence = list;
  of->finding->evidence_count = count;
  of->out_of_memory |= !plag_codes_tell(of->finding->code, of->finding->code_count, arena,
                                        &of->finding->evidence, &of->finding->evidence_count);
}

static const char *repair_words(const hearing *of) {
  switch (of->repair) {
  case PLATELAG_REPAIR_NONE:
    return "";
  case PLATELAG_REPAIR_REPAIRED:
    return " After the repair the valve follows within its limits: repaired.";
  case PLATELAG_REPAIR_BETTER:
    return " After the repair it is better, but not within its limits.";
  case PLATELAG_REPAIR_UNCHANGED:
    return " The capture after the repair shows no change.";
  case PLATELAG_REPAIR_WORSE:
    return " After the repair it is worse.";
  case PLATELAG_REPAIR_CANNOT_TELL:
    return " Whether the repair helped, these captures cannot tell.";
  }
  return "";
}

static const char *sweep_words(hearing *of) {
  plag_arena *arena = &of->finding->store->arena;
  if (of->fusion.main == NULL || of->fusion.sweep == NULL)
    return "";
  const plag_sweep sweep = plag_sweep_measure(of->fusion.sweep->fit);
  if (!of->fusion.swept)
    return " The hand sweep did not cover enough of the sensor's range to count.";
  if (sweep.railed)
    return " By hand off the manifold the signal stays at its rail too.";
  if (sweep.spots > 0)
    return plag_words(arena, " By hand off the manifold the signal shows #c.", sweep.spots,
                      "dead or jumping spot");
  return plag_words(arena,
                    " By hand off the manifold the sensor passes smoothly over #2 #s: no constant "
                    "fault of sensor or circuit.",
                    sweep.span, sweep.in_volts ? "V" : "% of travel");
}

/* An actuator without its supply does nothing, whatever else is wrong. */
static const char *supply_words(hearing *of) {
  const double supply_v = of->meter == NULL ? NAN : of->meter->supply_v;
  const bool low = supply_v < PLAG_SUPPLY_LOW_V; /* NaN: no */
  if (!low && !(supply_v > PLAG_SUPPLY_HIGH_V))
    return "";
  return plag_words(&of->finding->store->arena,
                    " The actuator's supply measures #2 V (limit #1 V): put that right first, then "
                    "record again.",
                    supply_v, low ? PLAG_SUPPLY_LOW_V : PLAG_SUPPLY_HIGH_V);
}

static const char *meter_words(hearing *of) {
  if (!of->fusion.meter_disagrees)
    return "";
  return plag_words(
      &of->finding->store->arena,
      " Meter and capture disagree: #2 V at the connector, #2 V recorded; look at the "
      "wiring between connector and controller, or measure again.",
      of->meter->signal_v, of->fusion.capture_signal_v);
}

static void compose_sentence(hearing *of) {
  const char *sweep = sweep_words(of);
  const char *meter = meter_words(of);
  const char *supply = supply_words(of);
  of->out_of_memory |= sweep == NULL || meter == NULL || supply == NULL;
  if (of->out_of_memory)
    return;
  of->finding->sentence = plag_words(
      &of->finding->store->arena, "#s#s#s#s#s#s", leading(of)->finding->store->seen, sweep,
      plag_sentence_doubt(of->finding, leading(of)->fit), meter, supply, repair_words(of));
  of->out_of_memory |= of->finding->sentence == NULL;
}

/* What the case lacks: what its leading capture lacks, unless the other captures settled it. */
static void say_what_lacks(hearing *of) {
  platelag_finding *finding = of->finding;
  static const char *const add_road =
      "the hand sweep tells the sensor only; add a road capture in which the valve is opened and "
      "closed at least four times each way";
  if (finding->kind != PLATELAG_FINDING_UNDECIDED && finding->family != PLATELAG_FAMILY_UNDECIDED)
    return;
  const platelag_finding *lead = leading(of)->finding;
  const char *sentence[4];
  size_t count = 0;
  if (of->fusion.main == NULL && of->fusion.swept)
    sentence[count++] = add_road;
  else
    for (; count < lead->lacking_count && count < 4; count++)
      sentence[count] = keep(of, lead->lacking[count]);
  if (count == 0 && finding->kind == PLATELAG_FINDING_UNDECIDED)
    sentence[count++] =
        plag_ambiguity_between(of->fusion.posterior.best, of->fusion.posterior.second);
  of->out_of_memory |= !plag_finding_lack(finding, sentence, count);
}

/* A repair that is proved leaves nothing to test. */
static void choose_tests(hearing *of) {
  platelag_finding *finding = of->finding;
  if (of->repair == PLATELAG_REPAIR_REPAIRED)
    return;
  const char *lacking = finding->lacking_count > 0 ? finding->lacking[0] : NULL;
  of->out_of_memory |= !plag_next_tests_choose(finding->probability, finding->kind, lacking,
                                               of->fusion.swept, &finding->store->arena,
                                               &finding->next_test, &finding->next_test_count);
}

static void fuse(hearing *of) {
  plag_fusion_weigh(of->input, of->count, of->spec, of->meter, &of->fusion);
  if (of->fusion.after != NULL && of->fusion.main != NULL)
    of->repair = of->fusion.main->condition == PLATELAG_CONDITION_AFTER
                     ? PLATELAG_REPAIR_CANNOT_TELL /* nothing to compare with */
                     : plag_repair_judge(of->fusion.main, of->fusion.after);
  of->out_of_memory |= !plag_finding_decide(of->finding, &of->fusion.posterior, of->fusion.blocked,
                                            of->spec->decide_at);
  copy_checks(of);
  merge_codes(of);
  if (!of->out_of_memory)
    merge_evidence(of);
  if (!of->out_of_memory)
    compose_sentence(of);
  if (!of->out_of_memory)
    say_what_lacks(of);
  if (!of->out_of_memory)
    choose_tests(of);
}

platelag_status platelag_case_judge(const char *valve, const platelag_case_input *input,
                                    size_t count, const platelag_valve_spec *spec,
                                    const platelag_circumstances *circumstances,
                                    platelag_case **out, platelag_error *error) {
  *out = NULL;
  if (count == 0)
    return plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                          "a case needs at least one capture of valve \"%s\"", valve);
  hearing of = {.input = input,
                .count = count,
                .spec = spec,
                .meter = circumstances == NULL ? NULL : &circumstances->meter};
  platelag_case *judged = calloc(1, sizeof *judged);
  of.finding = plag_finding_begin();
  if (judged == NULL || of.finding == NULL)
    goto no_memory;
  fuse(&of);
  judged->valve = keep(&of, valve);
  if (of.out_of_memory)
    goto no_memory;
  judged->finding = of.finding;
  judged->repair = of.repair;
  *out = judged;
  return PLATELAG_OK;
no_memory:
  platelag_finding_destroy(of.finding);
  free(judged);
  return plag_error_memory(error, "a case");
}

void platelag_case_destroy(platelag_case *judged) {
  if (judged == NULL)
    return;
  platelag_finding_destroy(judged->finding);
  free(judged);
}
