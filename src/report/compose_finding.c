/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include <math.h>

#include "report/words.h"

enum { MOST_REASONS = 6, MOST_TESTS = 3 };

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

/* "bank 1: STICKING  (97 % sure) ..." */
static void add_verdict(plag_document *document, const char *valve,
                        const platelag_finding *finding) {
  plag_document_say(document, valve);
  plag_document_say(document, ": ");
  plag_document_say(document, plag_words_finding(finding->kind));
  const char *label = plag_document_take(document);
  if (finding->kind != PLATELAG_FINDING_UNDECIDED) {
    plag_document_say(document, "(");
    say_percent(document, finding->finding_probability);
    plag_document_say(document, ")");
  }
  const char *text = plag_document_take(document);
  (void)plag_document_add(document, PLAG_BLOCK_VERDICT, tone_of(finding), label, text);
}

static void add_lacking(plag_document *document, const platelag_finding *finding) {
  for (size_t i = 0; i < finding->lacking_count; i++)
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "", finding->lacking[i]);
}

static void add_families(plag_document *document, const platelag_finding *finding) {
  add_heading(document, finding->family == PLATELAG_FAMILY_UNDECIDED
                            ? "Where the fault lies (open; a test below settles it)"
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

void plag_compose_verdict(plag_document *document, const char *valve,
                          const platelag_finding *finding, platelag_repair repair, bool of_case) {
  add_verdict(document, valve, finding);
  const bool told = finding->sentence != NULL && finding->sentence[0] != '\0';
  (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "",
                          told ? finding->sentence : plag_words_meaning(finding->kind));
  add_lacking(document, finding);
  if (of_case && repair != PLATELAG_REPAIR_NONE)
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "repair",
                            plag_words_repair(repair));
  add_families(document, finding);
}

void plag_compose_checks(plag_document *document, const platelag_finding *finding) {
  add_heading(document, "Four questions to the circuit");
  plag_block *head = plag_document_add(document, PLAG_BLOCK_TABLE, PLAG_TONE_PLAIN, "", "");
  if (head == NULL)
    return;
  plag_document_cell(document, "question");
  plag_document_cell(document, "answer");
  plag_document_cell(document, "figure");
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

static void add_reason(plag_document *document, const platelag_evidence *evidence) {
  if (isfinite(evidence->value)) {
    plag_document_say_figure(document, evidence->value);
    plag_document_say(document, evidence->unit != NULL && evidence->unit[0] != '\0' ? " " : "");
    plag_document_say(document, evidence->unit != NULL ? evidence->unit : "");
  }
  if (isfinite(evidence->limit)) {
    plag_document_say(document, " (limit ");
    plag_document_say_figure(document, evidence->limit);
    plag_document_say(document, ")");
  }
  plag_document_say(document, isfinite(evidence->value) ? "; " : "");
  plag_document_say(document, plag_words_weight(evidence->weight));
  plag_document_say(document, " for: ");
  plag_document_say(document, plag_words_family(evidence->speaks_for));
  add_drafted(document, PLAG_BLOCK_POINT, evidence->what);
}

/* The likeliest story of each family that was not chosen, and what it would take. */
static void add_others(plag_document *document, const platelag_finding *finding) {
  bool headed = false;
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    if ((platelag_family)i == finding->family)
      continue;
    for (size_t k = 0; k < finding->hypothesis_count; k++) {
      const platelag_hypothesis_result *other = &finding->hypothesis[k];
      if (other->family != (platelag_family)i)
        continue;
      if (!headed)
        add_heading(document, "Why not the others");
      headed = true;
      plag_document_say(document, "the likeliest is \"");
      plag_document_say(document, other->name);
      plag_document_say(document, "\", at ");
      plag_document_say_number(document, 100 * other->probability, other->probability < 0.01);
      plag_document_say(document, " %");
      add_drafted(document, PLAG_BLOCK_POINT, plag_words_family((platelag_family)i));
      break;
    }
  }
}

void plag_compose_reasons(plag_document *document, const platelag_finding *finding) {
  if (finding->evidence_count > 0)
    add_heading(document, "Reasons");
  for (size_t i = 0; i < finding->evidence_count && i < MOST_REASONS; i++)
    add_reason(document, &finding->evidence[i]);
  if (finding->kind != PLATELAG_FINDING_UNDECIDED && finding->family != PLATELAG_FAMILY_UNDECIDED)
    add_others(document, finding);
}

void plag_compose_codes(plag_document *document, const platelag_finding *finding) {
  if (finding->code_count > 0)
    add_heading(document, "Trouble codes");
  for (size_t i = 0; i < finding->code_count; i++) {
    const platelag_code *code = &finding->code[i];
    if (code->stored)
      plag_document_say(document, code->supported ? "stored, and the trace supports it: "
                                                  : "stored, but the trace does not support it: ");
    else
      plag_document_say(document, "to be expected: ");
    plag_document_say(document, code->basis != NULL ? code->basis : "");
    if (isfinite(code->at_s)) {
      plag_document_say(document, "; first at ");
      plag_document_say_number(document, code->at_s, 1);
      plag_document_say(document, " s");
    }
    add_drafted(document, PLAG_BLOCK_POINT, code->code);
    if (code->name != NULL && code->name[0] != '\0')
      (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN, "", code->name);
  }
}

static void add_first_test(plag_document *document, const platelag_next_test *test) {
  plag_document_say(document, test->test);
  if (isfinite(test->minutes) && test->minutes > 0) {
    plag_document_say(document, " (about ");
    plag_document_say_number(document, test->minutes, 0);
    plag_document_say(document, " min)");
  }
  add_drafted(document, PLAG_BLOCK_POINT, "");
  for (int k = 0; k < PLATELAG_FAMILY_COUNT; k++)
    if (test->expect[k] != NULL)
      (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN,
                              plag_words_family((platelag_family)k), test->expect[k]);
  if (test->caution != NULL && test->caution[0] != '\0')
    (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN, "CAUTION", test->caution);
}

void plag_compose_next_tests(plag_document *document, const platelag_finding *finding) {
  if (finding->next_test_count == 0)
    return;
  add_heading(document, "Next test");
  add_first_test(document, &finding->next_test[0]);
  for (size_t i = 1; i < finding->next_test_count && i < MOST_TESTS; i++)
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "or",
                            finding->next_test[i].test);
}
