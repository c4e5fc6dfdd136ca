/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The judgement of one capture: facts, gate, posterior, decision, and then what it is told with. */
#include <math.h>

#include "core/error.h"
#include "judge/ambiguity.h"
#include "judge/build.h"
#include "judge/checks.h"
#include "judge/codes.h"
#include "judge/evidence.h"
#include "judge/gate.h"
#include "judge/next_tests.h"
#include "judge/sentence.h"
#include "judge/sweep.h"
#include "judge/words.h"

/* What one judgement works on. */
typedef struct hearing {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  const platelag_circumstances *circumstances;
  plag_facts facts;
  plag_gate gate;
  plag_posterior posterior;
  platelag_finding *finding;
} hearing;

/* What the gate found lacking and that does, or does not, block the likeliest finding. */
static size_t list_lacking(const hearing *of, bool blocks, const char **sentence) {
  size_t count = 0;
  for (size_t i = 0; i < of->gate.count; i++)
    if ((of->gate.blocks[i] >> of->posterior.best & 1u) == blocks)
      sentence[count++] = of->gate.lacking[i];
  return count;
}

/* Why the finding stays open: first what stands in the way of the likeliest one, or else what would
 * tell it from the next; then what else lacks. */
static bool say_why_undecided(hearing *of) {
  const char *sentence[PLAG_GATE_SENTENCES + 1];
  size_t count = list_lacking(of, true, sentence);
  if (count == 0)
    sentence[count++] = plag_ambiguity_between(of->posterior.best, of->posterior.second);
  count += list_lacking(of, false, sentence + count);
  return plag_finding_lack(of->finding, sentence, count);
}

/* Why the finding, or who is to blame, stays open. */
static bool say_what_lacks(hearing *of) {
  platelag_finding *finding = of->finding;
  if (finding->kind == PLATELAG_FINDING_UNDECIDED)
    return say_why_undecided(of);
  const char *sentence =
      finding->family == PLATELAG_FAMILY_UNDECIDED ? plag_ambiguity_of_family(finding->kind) : NULL;
  return sentence == NULL || plag_finding_lack(finding, &sentence, 1);
}

static bool choose_tests(hearing *of, bool swept) {
  platelag_finding *finding = of->finding;
  /* To say how a capture was taken is no test. */
  const char *lacking =
      finding->lacking_count > 0 && !of->gate.by_hand ? finding->lacking[0] : NULL;
  return plag_next_tests_choose(finding->probability, finding->kind, lacking, swept,
                                &finding->store->arena, &finding->next_test,
                                &finding->next_test_count);
}

static bool tell(hearing *of) {
  platelag_finding *finding = of->finding;
  plag_arena *arena = &finding->store->arena;
  const char *seen =
      plag_sentence_compose(finding, of->fit, of->spec, &of->facts, &of->posterior, arena);
  finding->store->seen = seen;
  finding->sentence = plag_words(arena, "#s#s", seen, plag_sentence_doubt(finding, of->fit));
  return finding->sentence != NULL &&
         plag_checks_ask(of->fit, of->trace, of->spec, &of->facts, arena, finding->check) &&
         plag_codes_list(of->fit, of->trace, of->spec, &of->facts, finding->kind, of->circumstances,
                         arena, &finding->code, &finding->code_count);
}

static bool give_reasons(hearing *of) {
  platelag_finding *finding = of->finding;
  plag_arena *arena = &finding->store->arena;
  return plag_evidence_collect(&of->facts, &of->posterior, arena, &finding->evidence,
                               &finding->evidence_count) &&
         plag_codes_tell(finding->code, finding->code_count, arena, &finding->evidence,
                         &finding->evidence_count);
}

static bool judge_running(hearing *of) {
  plag_facts_take(of->fit, of->trace, of->spec, &of->facts);
  plag_gate_look(of->fit, of->trace, of->spec, &of->facts, &of->gate);
  if (of->gate.by_hand) { /* nobody has said so: it is no test of the sensor either */
    plag_sweep_take_facts(of->fit, &of->facts);
    of->facts.fact[PLAG_FEATURE_SWEEP].present = false;
  }
  plag_posterior_weigh(&of->facts, of->spec->decide_at, &of->posterior);
  platelag_finding *finding = of->finding;
  return plag_finding_decide(finding, &of->posterior, of->gate.blocked, of->spec->decide_at) &&
         say_what_lacks(of) && tell(of) && choose_tests(of, false) && give_reasons(of);
}

/* Off the manifold there are neither plates nor drive: their hypotheses are out. */
static void keep_signal_only(plag_posterior *posterior, double decide_at) {
  double all = 0;
  for (size_t i = 0; i < plag_hypothesis_count(); i++) {
    const platelag_family family = plag_hypothesis_at(i)->hypothesis->family;
    if (family == PLATELAG_FAMILY_MECHANICAL || family == PLATELAG_FAMILY_DRIVE)
      posterior->probability[i] = 0;
    all += posterior->probability[i];
  }
  for (size_t i = 0; i < plag_hypothesis_count(); i++)
    posterior->probability[i] /= all;
  plag_posterior_sum(posterior, false, true, decide_at);
}

static const char *sweep_sentence(const hearing *of, const plag_sweep *sweep) {
  plag_arena *arena = &of->finding->store->arena;
  const char *unit = sweep->in_volts ? "V" : "% of travel";
  if (sweep->railed)
    return plag_words(arena,
                      "Turned by hand off the manifold, the signal stays at a rail: sensor or "
                      "circuit.");
  if (!sweep->wide)
    return plag_words(arena,
                      "Cannot tell: the sweep covered only #2 #s; turn the shaft slowly by hand "
                      "from stop to stop three times.",
                      sweep->span, unit);
  if (sweep->spots > 0)
    return plag_words(arena, "The sweep shows #c over #2 #s: sensor or circuit.", sweep->spots,
                      "dead or jumping spot", sweep->span, unit);
  return plag_words(arena,
                    "The sensor passes smoothly over #2 #s by hand: no constant fault of sensor or "
                    "circuit.",
                    sweep->span, unit);
}

static bool judge_sweep(hearing *of) {
  static const char *const again =
      "the sweep did not cover the sensor's range; turn the shaft slowly "
      "by hand from stop to stop three times";
  const plag_sweep sweep = plag_sweep_measure(of->fit);
  platelag_finding *finding = of->finding;
  plag_sweep_take_facts(of->fit, &of->facts);
  plag_posterior_weigh(&of->facts, of->spec->decide_at, &of->posterior);
  keep_signal_only(&of->posterior, of->spec->decide_at);
  bool blocked[PLATELAG_FINDING_COUNT];
  for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
    blocked[k] = !sweep.wide && !sweep.railed;
  const bool open = blocked[0];
  if (!plag_finding_decide(finding, &of->posterior, blocked, of->spec->decide_at) ||
      (open && !plag_finding_lack(finding, &again, 1)) || !tell(of) || !choose_tests(of, !open) ||
      !give_reasons(of))
    return false;
  finding->sentence = finding->store->seen = sweep_sentence(of, &sweep);
  return finding->sentence != NULL;
}

platelag_status platelag_finding_judge(const platelag_fit *fit, const platelag_trace *trace,
                                       const platelag_valve_spec *spec,
                                       const platelag_circumstances *circumstances,
                                       platelag_finding **out, platelag_error *error) {
  *out = NULL;
  hearing of = {.fit = fit, .trace = trace, .spec = spec, .circumstances = circumstances};
  of.finding = plag_finding_begin();
  if (of.finding == NULL)
    return plag_error_memory(error, "a finding");
  const bool told =
      trace->condition == PLATELAG_CONDITION_HAND_SWEEP ? judge_sweep(&of) : judge_running(&of);
  if (!told) {
    platelag_finding_destroy(of.finding);
    return plag_error_memory(error, "a finding");
  }
  *out = of.finding;
  return PLATELAG_OK;
}
