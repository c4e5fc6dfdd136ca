/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include <math.h>
#include <string.h>

#include "report/words.h"

enum { MOST_REASONS = 3, MOST_SLIGHT = 2, MOST_AGAINST = 2, MOST_FOR_OTHERS = 2, MOST_TESTS = 3 };

/* Families below this probability are no longer open: the tests need not tell them apart. */
#define OPEN_FROM 0.05
/* Below this a report says "<1 %" and tells no story. */
#define TOLD_FROM 0.005

static plag_tone tone_of(const platelag_finding *finding) {
  if (finding->kind == PLATELAG_FINDING_FREE)
    return PLAG_TONE_GOOD;
  return finding->kind == PLATELAG_FINDING_UNDECIDED ? PLAG_TONE_OPEN : PLAG_TONE_BAD;
}

static void add_heading(plag_document *document, const char *label) {
  (void)plag_document_add(document, PLAG_BLOCK_HEADING, PLAG_TONE_PLAIN, label, "");
}

static void add_drafted(plag_document *document, plag_block_kind kind, const char *label) {
  const char *text = plag_document_take(document);
  (void)plag_document_add(document, kind, PLAG_TONE_PLAIN, label, text);
}

static void say_percent(plag_document *document, double probability) {
  if (probability > 0.99)
    plag_document_say(document, "over 99 %");
  else {
    plag_document_say_number(document, 100 * probability, 0);
    plag_document_say(document, " %");
  }
}

/* "bank 1: STICKING  (97 %), after the repair: REPAIRED" */
static void add_verdict(plag_document *document, const platelag_case *judged) {
  const platelag_finding *finding = judged->finding;
  plag_document_say(document, judged->valve);
  plag_document_say(document, ": ");
  plag_document_say(document, plag_words_finding(finding->kind));
  const char *label = plag_document_take(document);
  if (finding->kind != PLATELAG_FINDING_UNDECIDED) {
    plag_document_say(document, "(");
    say_percent(document, finding->finding_probability);
    plag_document_say(document, ")");
  }
  if (judged->repair != PLATELAG_REPAIR_NONE) {
    plag_document_say(document, finding->kind != PLATELAG_FINDING_UNDECIDED ? ", " : "");
    plag_document_say(document, "after the repair: ");
    plag_document_say(document, plag_words_repair(judged->repair));
  }
  const char *text = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_VERDICT, tone_of(finding), label, text);
}

/* What the sentence does not say already. */
static void add_lacking(plag_document *document, const platelag_finding *finding) {
  for (size_t i = 0; i < finding->lacking_count; i++)
    if (finding->sentence == NULL || strstr(finding->sentence, finding->lacking[i]) == NULL)
      (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "", finding->lacking[i]);
}

void plag_compose_verdict(plag_document *document, const platelag_case *judged) {
  const platelag_finding *finding = judged->finding;
  add_verdict(document, judged);
  const bool told = finding->sentence != NULL && finding->sentence[0] != '\0';
  (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "",
                          told ? finding->sentence : plag_words_meaning(finding->kind));
  add_lacking(document, finding);
}

void plag_compose_families(plag_document *document, const platelag_finding *finding) {
  add_heading(document, finding->family == PLATELAG_FAMILY_UNDECIDED
                            ? "Where the fault lies: open, the next test settles it"
                            : "Where the fault lies");
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    const bool chosen = (platelag_family)i == finding->family;
    plag_block *block =
        plag_document_add(document, PLAG_BLOCK_SHARE, chosen ? tone_of(finding) : PLAG_TONE_PLAIN,
                          plag_words_family((platelag_family)i), "");
    if (block != NULL)
      block->share = finding->probability[i];
  }
}

void plag_compose_checks(plag_document *document, const platelag_finding *finding) {
  (void)plag_document_add(document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "Checks of the circuit", "");
  for (int i = 0; i < PLATELAG_CHECK_COUNT; i++) {
    const platelag_check_result *check = &finding->check[i];
    (void)plag_document_add(
        document, PLAG_BLOCK_ROW,
        check->result == PLATELAG_CHECK_FAILED ? PLAG_TONE_BAD : PLAG_TONE_PLAIN, "", "");
    plag_document_cell(document, plag_words_check((platelag_check_kind)i));
    plag_document_cell(document, plag_words_result(check->result));
    plag_document_cell(document, check->figure != NULL ? check->figure : "");
  }
}

static void say_value(plag_document *document, const platelag_evidence *evidence) {
  const char *unit = evidence->unit != NULL ? evidence->unit : "";
  if (!isfinite(evidence->value) || !plag_words_has_plain_unit(unit))
    return;
  plag_document_say(document, ": ");
  plag_document_say_figure(document, evidence->value);
  plag_document_say(document, unit[0] != '\0' ? " " : "");
  plag_document_say(document, plag_words_unit(unit, evidence->value));
  if (isfinite(evidence->limit)) {
    plag_document_say(document, ", limit ");
    plag_document_say_figure(document, evidence->limit);
  }
}

static void say_fact(plag_document *document, const platelag_evidence *evidence) {
  plag_document_say(document, evidence->what);
  say_value(document, evidence);
}

/* "stick band: 23.9 % of travel, limit 8 (fair)" */
static void say_reason(plag_document *document, const platelag_evidence *evidence, double weight) {
  say_fact(document, evidence);
  plag_document_say(document, " (");
  plag_document_say(document, plag_words_weight(weight));
  plag_document_say(document, ")");
}

/* The heaviest reasons of the record that speak for a family, each a point of its own; slight ones
 * only where no other does. Returns how many. */
static size_t add_reasons_for(plag_document *document, const platelag_finding *finding,
                              platelag_family family) {
  size_t count = 0;
  for (size_t i = 0; i < finding->evidence_count && count < MOST_REASONS; i++) {
    const platelag_evidence *evidence = &finding->evidence[i];
    if (evidence->source != PLATELAG_EVIDENCE_RECORD || evidence->speaks_for != family)
      continue;
    if (evidence->weight < PLAG_WORDS_FAIR && count > 0 &&
        (finding->evidence[0].weight >= PLAG_WORDS_FAIR || count >= MOST_SLIGHT))
      break;
    say_reason(document, evidence, evidence->weight);
    add_drafted(document, PLAG_BLOCK_POINT, "");
    count++;
  }
  return count;
}

/* What the user tested himself, whichever way it speaks. */
static size_t add_tests_made(plag_document *document, const platelag_finding *finding) {
  size_t count = 0;
  for (size_t i = 0; i < finding->evidence_count; i++) {
    const platelag_evidence *evidence = &finding->evidence[i];
    if (evidence->source != PLATELAG_EVIDENCE_TEST)
      continue;
    say_fact(document, evidence);
    plag_document_say(document, " (");
    plag_document_say(document, plag_words_weight(evidence->weight));
    plag_document_say(document, " for ");
    plag_document_say(document, plag_words_family(evidence->speaks_for));
    plag_document_say(document, ")");
    add_drafted(document, PLAG_BLOCK_POINT, "tested");
    count++;
  }
  return count;
}

static const platelag_hypothesis_result *likeliest_of(const platelag_finding *finding,
                                                      platelag_family family) {
  for (size_t i = 0; i < finding->hypothesis_count; i++)
    if (finding->hypothesis[i].family == family)
      return &finding->hypothesis[i];
  return NULL;
}

/* The likeliest story of a family that is still open, "as a weak drive". */
static bool say_story(plag_document *document, const platelag_finding *finding,
                      platelag_family family) {
  const platelag_hypothesis_result *story = likeliest_of(finding, family);
  if (story == NULL || family == PLATELAG_FAMILY_FREE || finding->probability[family] < OPEN_FROM)
    return false;
  plag_document_say(document, "likeliest ");
  plag_document_say(document, story->name);
  return true;
}

/* The heaviest reasons that speak for a family, drafted behind one another. */
static size_t say_for(plag_document *document, const platelag_finding *finding,
                      platelag_family family, const char *before) {
  size_t count = 0;
  for (size_t i = 0; i < finding->evidence_count && count < MOST_FOR_OTHERS; i++) {
    const platelag_evidence *evidence = &finding->evidence[i];
    if (evidence->source != PLATELAG_EVIDENCE_RECORD || evidence->speaks_for != family)
      continue;
    plag_document_say(document, count == 0 ? before : "; ");
    say_reason(document, evidence, evidence->weight);
    count++;
  }
  return count;
}

/* How much less likely `family` makes a fact than the family that is blamed. */
static double against(const platelag_finding *finding, const platelag_evidence *evidence,
                      platelag_family family) {
  return evidence->log_likelihood[finding->family] - evidence->log_likelihood[family];
}

/* The reasons that speak against a family beside the one that is blamed, the heaviest first; a
 * strong one is enough. */
static size_t say_against(plag_document *document, const platelag_finding *finding,
                          platelag_family family) {
  size_t count = 0;
  double last = INFINITY;
  for (; count < MOST_AGAINST && (count == 0 || last < PLAG_WORDS_STRONG); count++) {
    const platelag_evidence *heaviest = NULL;
    for (size_t i = 0; i < finding->evidence_count; i++) {
      const double weight = against(finding, &finding->evidence[i], family);
      if (weight >= PLAG_WORDS_FAIR && weight < last &&
          (heaviest == NULL || weight > against(finding, heaviest, family)))
        heaviest = &finding->evidence[i];
    }
    if (heaviest == NULL)
      break;
    last = against(finding, heaviest, family);
    plag_document_say(document, count == 0 ? "against it: " : "; ");
    say_reason(document, heaviest, last);
  }
  return count;
}

/* Why a family is not blamed, in one point. */
static void add_other(plag_document *document, const platelag_finding *finding,
                      platelag_family family) {
  if (say_story(document, finding, family))
    plag_document_say(document, "; ");
  const size_t against_it = say_against(document, finding, family);
  if (against_it == 0)
    plag_document_say(document, "no single fact against it");
  if (finding->probability[family] >= OPEN_FROM)
    (void)say_for(document, finding, family, "; for it: ");
  add_drafted(document, PLAG_BLOCK_POINT, plag_words_family(family));
}

/* What speaks for a family where none is blamed, in one point. */
static void add_candidate(plag_document *document, const platelag_finding *finding,
                          platelag_family family) {
  const bool told = say_story(document, finding, family);
  if (say_for(document, finding, family, told ? "; for it: " : "for it: ") == 0)
    plag_document_say(document, told ? "; no single fact for it" : "no single fact for it");
  add_drafted(document, PLAG_BLOCK_POINT, plag_words_family(family));
}

/* Families in order of probability, those alike in their own order. */
static void rank(const platelag_finding *finding, platelag_family *order) {
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    int at = i;
    for (; at > 0 && finding->probability[order[at - 1]] < finding->probability[i]; at--)
      order[at] = order[at - 1];
    order[at] = (platelag_family)i;
  }
}

static void compose_open_reasons(plag_document *document, const platelag_finding *finding,
                                 const platelag_family *order) {
  add_heading(document, "What speaks for each");
  (void)add_tests_made(document, finding);
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (finding->probability[order[i]] >= TOLD_FROM)
      add_candidate(document, finding, order[i]);
}

void plag_compose_reasons(plag_document *document, const platelag_finding *finding) {
  platelag_family order[PLATELAG_FAMILY_COUNT] = {PLATELAG_FAMILY_FREE};
  rank(finding, order);
  if (finding->family == PLATELAG_FAMILY_UNDECIDED) {
    compose_open_reasons(document, finding, order);
    return;
  }
  plag_document_say(document, "Why ");
  plag_document_say(document, plag_words_family(finding->family));
  add_heading(document, plag_document_take(document));
  const size_t record = add_reasons_for(document, finding, finding->family);
  if (record + add_tests_made(document, finding) == 0)
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "",
                            "no single fact, but all together");
  add_heading(document, "Why not the others");
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (order[i] != finding->family)
      add_other(document, finding, order[i]);
}

void plag_compose_codes(plag_document *document, const platelag_finding *finding) {
  if (finding->code_count > 0)
    add_heading(document, "Trouble codes");
  for (size_t i = 0; i < finding->code_count; i++) {
    const platelag_code *code = &finding->code[i];
    if (code->stored)
      plag_document_say(document, code->supported ? "stored, and the trace supports it"
                                                  : "stored, but the trace does not support it");
    else
      plag_document_say(document, "to be expected");
    if (isfinite(code->at_s)) {
      plag_document_say(document, " from ");
      plag_document_say_number(document, code->at_s, 1);
      plag_document_say(document, " s on");
    }
    if (code->basis != NULL && code->basis[0] != '\0') {
      plag_document_say(document, ": ");
      plag_document_say(document, code->basis);
    }
    if (code->name != NULL && code->name[0] != '\0') {
      plag_document_say(document, " (");
      plag_document_say(document, code->name);
      plag_document_say(document, ")");
    }
    add_drafted(document, PLAG_BLOCK_POINT, code->code);
  }
}

/* The families a test is still to tell apart: those that are open, and at least the two
 * likeliest. */
static bool is_open(const platelag_finding *finding, const platelag_family *order, int at) {
  return at < 2 || finding->probability[order[at]] >= OPEN_FROM;
}

static void add_test(plag_document *document, const platelag_next_test *test, const char *label) {
  plag_document_say(document, test->test);
  if (isfinite(test->minutes) && test->minutes > 0) {
    plag_document_say(document, " (about ");
    plag_document_say_number(document, test->minutes, 0);
    plag_document_say(document, " min)");
  }
  add_drafted(document, PLAG_BLOCK_POINT, label);
}

static void add_first_test(plag_document *document, const platelag_finding *finding) {
  const platelag_next_test *test = &finding->next_test[0];
  add_test(document, test, "");
  platelag_family order[PLATELAG_FAMILY_COUNT] = {PLATELAG_FAMILY_FREE};
  rank(finding, order);
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (is_open(finding, order, i) && test->expect[order[i]] != NULL)
      (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN,
                              plag_words_family(order[i]), test->expect[order[i]]);
  if (test->caution != NULL && test->caution[0] != '\0')
    (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN, "CAUTION", test->caution);
}

void plag_compose_next_tests(plag_document *document, const platelag_case *judged) {
  const platelag_finding *finding = judged->finding;
  if (finding->next_test_count == 0)
    return;
  const bool settled =
      finding->kind == PLATELAG_FINDING_FREE || judged->repair == PLATELAG_REPAIR_REPAIRED;
  add_heading(document, settled ? "Next test, where a doubt stays" : "Next test");
  add_first_test(document, finding);
  for (size_t i = 1; !settled && i < finding->next_test_count && i < MOST_TESTS; i++)
    add_test(document, &finding->next_test[i], "or");
}
