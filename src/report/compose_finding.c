/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/compose.h"

#include <math.h>
#include <string.h>

#include "core/words.h"
#include "report/words.h"

enum { MOST_TESTS = 3 };

static plag_tone tone_of(const platelag_finding *finding) {
  if (finding->kind == PLATELAG_FINDING_FREE)
    return PLAG_TONE_GOOD;
  return finding->kind == PLATELAG_FINDING_UNDECIDED ? PLAG_TONE_OPEN : PLAG_TONE_BAD;
}

/* "bank 1: STICKING  (97 %), after the repair: REPAIRED" */
static void add_verdict(plag_document *document, const platelag_case *judged) {
  const platelag_finding *finding = judged->finding;
  plag_document_say(document, judged->valve);
  plag_document_say(document, ": ");
  plag_document_say(document, plag_words_finding(finding->kind));
  const char *label = plag_document_take(document);
  if (finding->kind != PLATELAG_FINDING_UNDECIDED) {
    char sure[PLAG_PROBABILITY_BYTES];
    plag_document_say(document, "(");
    plag_document_say(document, plag_probability_words(finding->finding_probability, sure));
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
  plag_document_head(document, finding->family == PLATELAG_FAMILY_UNDECIDED
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
void plag_compose_rank(const platelag_finding *finding,
                       platelag_family order[PLATELAG_FAMILY_COUNT]) {
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++) {
    int at = i;
    for (; at > 0 && finding->probability[order[at - 1]] < finding->probability[i]; at--)
      order[at] = order[at - 1];
    order[at] = (platelag_family)i;
  }
}

void plag_compose_codes(plag_document *document, const platelag_finding *finding) {
  static const char *const words[] = {
      [PLATELAG_CODE_SUPPORTED] = "stored, and the trace supports it",
      [PLATELAG_CODE_CONTRADICTED] = "stored, but the trace contradicts it",
      [PLATELAG_CODE_CANNOT_TELL] = "stored; this trace cannot tell"};
  if (finding->code_count > 0)
    plag_document_head(document, "Trouble codes");
  for (size_t i = 0; i < finding->code_count; i++) {
    const platelag_code *code = &finding->code[i];
    plag_document_say(document, code->stored ? words[code->verdict] : "to be expected");
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
    plag_document_add_taken(document, PLAG_BLOCK_POINT, code->code);
  }
}

/* The families a test is still to tell apart: those that are open, and at least the two
 * likeliest. */
static bool is_open(const platelag_finding *finding, const platelag_family *order, int at) {
  return at < 2 || finding->probability[order[at]] >= PLAG_COMPOSE_OPEN_FROM;
}

static void add_test(plag_document *document, const platelag_next_test *test, const char *label) {
  plag_document_say(document, test->test);
  if (isfinite(test->minutes) && test->minutes > 0) {
    plag_document_say(document, " (about ");
    plag_document_say_number(document, test->minutes, 0);
    plag_document_say(document, " min)");
  }
  plag_document_add_taken(document, PLAG_BLOCK_POINT, label);
}

static void add_first_test(plag_document *document, const platelag_finding *finding) {
  const platelag_next_test *test = &finding->next_test[0];
  add_test(document, test, "");
  platelag_family order[PLATELAG_FAMILY_COUNT] = {PLATELAG_FAMILY_FREE};
  plag_compose_rank(finding, order);
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (is_open(finding, order, i) && test->expect[order[i]] != NULL)
      (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN,
                              plag_words_family(order[i]), test->expect[order[i]]);
  if (test->caution != NULL && test->caution[0] != '\0')
    (void)plag_document_add(document, PLAG_BLOCK_MORE, PLAG_TONE_PLAIN, "CAUTION", test->caution);
}

void plag_compose_next_tests(plag_document *document, const platelag_case *judged) {
  const platelag_finding *finding = judged->finding;
  if (judged->repair == PLATELAG_REPAIR_REPAIRED) {
    plag_document_head(document, "Next test");
    (void)plag_document_add(document, PLAG_BLOCK_PARAGRAPH, PLAG_TONE_PLAIN, "",
                            "Nothing further: these captures prove the repair.");
    return;
  }
  if (finding->next_test_count == 0)
    return;
  const bool settled = finding->kind == PLATELAG_FINDING_FREE;
  plag_document_head(document, settled ? "Next test, where a doubt stays" : "Next test");
  add_first_test(document, finding);
  for (size_t i = 1; !settled && i < finding->next_test_count && i < MOST_TESTS; i++)
    add_test(document, &finding->next_test[i], "or");
}
