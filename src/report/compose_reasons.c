/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why the family that is blamed, and why not the others: the judgement's own evidence, as few rows
 * of it as say enough. */
#include "report/compose.h"

#include <math.h>

#include "report/words.h"

enum { MOST_REASONS = 3, MOST_SLIGHT = 2, MOST_AGAINST = 2, MOST_FOR_OTHERS = 2 };

/* Below this a report says "<1 %" and tells no story. */
#define TOLD_FROM 0.005

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
    plag_document_add_taken(document, PLAG_BLOCK_POINT, "");
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
    plag_document_add_taken(document, PLAG_BLOCK_POINT, "tested");
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
  if (story == NULL || family == PLATELAG_FAMILY_FREE ||
      finding->probability[family] < PLAG_COMPOSE_OPEN_FROM)
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
  if (finding->probability[family] >= PLAG_COMPOSE_OPEN_FROM)
    (void)say_for(document, finding, family, "; for it: ");
  plag_document_add_taken(document, PLAG_BLOCK_POINT, plag_words_family(family));
}

/* What speaks for a family where none is blamed, in one point. */
static void add_candidate(plag_document *document, const platelag_finding *finding,
                          platelag_family family) {
  const bool told = say_story(document, finding, family);
  if (say_for(document, finding, family, told ? "; for it: " : "for it: ") == 0)
    plag_document_say(document, told ? "; no single fact for it" : "no single fact for it");
  plag_document_add_taken(document, PLAG_BLOCK_POINT, plag_words_family(family));
}

static void compose_open_reasons(plag_document *document, const platelag_finding *finding,
                                 const platelag_family *order) {
  plag_document_head(document, "What speaks for each");
  (void)add_tests_made(document, finding);
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (finding->probability[order[i]] >= TOLD_FROM)
      add_candidate(document, finding, order[i]);
}

void plag_compose_reasons(plag_document *document, const platelag_finding *finding) {
  platelag_family order[PLATELAG_FAMILY_COUNT] = {PLATELAG_FAMILY_FREE};
  plag_compose_rank(finding, order);
  if (finding->family == PLATELAG_FAMILY_UNDECIDED) {
    compose_open_reasons(document, finding, order);
    return;
  }
  plag_document_say(document, "Why ");
  plag_document_say(document, plag_words_family(finding->family));
  plag_document_head(document, plag_document_take(document));
  const size_t record = add_reasons_for(document, finding, finding->family);
  if (record + add_tests_made(document, finding) == 0)
    (void)plag_document_add(document, PLAG_BLOCK_POINT, PLAG_TONE_PLAIN, "",
                            "no single fact, but all together");
  plag_document_head(document, "Why not the others");
  for (int i = 0; i < PLATELAG_FAMILY_COUNT; i++)
    if (order[i] != finding->family)
      add_other(document, finding, order[i]);
}
