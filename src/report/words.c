/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/words.h"

#include <math.h>
#include <string.h>

const char *plag_words_finding(platelag_finding_kind kind) {
  static const char *const words[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = "FREE",
      [PLATELAG_FINDING_SLOW] = "SLOW",
      [PLATELAG_FINDING_STICKING] = "STICKING",
      [PLATELAG_FINDING_SHORT_TRAVEL] = "SHORT TRAVEL",
      [PLATELAG_FINDING_STILL] = "DOES NOT MOVE",
      [PLATELAG_FINDING_SIGNAL_HIGH] = "SIGNAL HIGH",
      [PLATELAG_FINDING_SIGNAL_LOW] = "SIGNAL LOW",
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = "SIGNAL ERRATIC",
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = "SIGNAL SHIFTED",
      [PLATELAG_FINDING_UNDECIDED] = "UNDECIDED"};
  return words[kind];
}

const char *plag_words_meaning(platelag_finding_kind kind) {
  static const char *const words[PLATELAG_FINDING_COUNT] = {
      [PLATELAG_FINDING_FREE] = "The position follows the command within the limits.",
      [PLATELAG_FINDING_SLOW] = "The position follows without holding, but too slowly.",
      [PLATELAG_FINDING_STICKING] = "The plates hold still while they are pulled, and let go late.",
      [PLATELAG_FINDING_SHORT_TRAVEL] = "The plates move, but one end stays short of its stop.",
      [PLATELAG_FINDING_STILL] = "The command moves and the position does not.",
      [PLATELAG_FINDING_SIGNAL_HIGH] = "The signal stays at or above its upper limit.",
      [PLATELAG_FINDING_SIGNAL_LOW] = "The signal stays at or below its lower limit.",
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = "The signal shows readings that no plate can have made.",
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = "The plates follow freely, but both stops read off.",
      [PLATELAG_FINDING_UNDECIDED] = "The capture cannot tell."};
  return words[kind];
}

const char *plag_words_family(platelag_family family) {
  static const char *const words[PLATELAG_FAMILY_COUNT + 1] = {
      [PLATELAG_FAMILY_FREE] = "no fault",
      [PLATELAG_FAMILY_MECHANICAL] = "plates or shaft",
      [PLATELAG_FAMILY_SENSOR_CIRCUIT] = "sensor or wiring",
      [PLATELAG_FAMILY_DRIVE] = "actuator or supply",
      [PLATELAG_FAMILY_UNDECIDED] = "undecided"};
  return words[family];
}

const char *plag_words_check(platelag_check_kind kind) {
  static const char *const words[PLATELAG_CHECK_COUNT] = {
      [PLATELAG_CHECK_CONTINUITY] = "continuity",
      [PLATELAG_CHECK_RANGE] = "range",
      [PLATELAG_CHECK_RATIONALITY] = "rationality",
      [PLATELAG_CHECK_FUNCTIONAL_RESPONSE] = "functional response"};
  return words[kind];
}

const char *plag_words_result(platelag_check result) {
  static const char *const words[] = {[PLATELAG_CHECK_PASSED] = "passed",
                                      [PLATELAG_CHECK_FAILED] = "FAILED",
                                      [PLATELAG_CHECK_NOT_EVALUABLE] = "cannot tell"};
  return words[result];
}

const char *plag_words_condition(platelag_condition condition) {
  static const char *const words[] = {[PLATELAG_CONDITION_ROAD] = "road",
                                      [PLATELAG_CONDITION_REST] = "at rest",
                                      [PLATELAG_CONDITION_HAND_SWEEP] = "hand sweep",
                                      [PLATELAG_CONDITION_AFTER] = "after the repair"};
  return words[condition];
}

const char *plag_words_repair(platelag_repair repair) {
  static const char *const words[] = {
      [PLATELAG_REPAIR_NONE] = "",         [PLATELAG_REPAIR_REPAIRED] = "REPAIRED",
      [PLATELAG_REPAIR_BETTER] = "BETTER", [PLATELAG_REPAIR_UNCHANGED] = "UNCHANGED",
      [PLATELAG_REPAIR_WORSE] = "WORSE",   [PLATELAG_REPAIR_CANNOT_TELL] = "CANNOT TELL"};
  return words[repair];
}

bool plag_words_has_plain_unit(const char *unit) {
  static const char *const statistical[] = {"nats", "t"};
  for (size_t i = 0; i < sizeof statistical / sizeof statistical[0]; i++)
    if (strcmp(unit, statistical[i]) == 0)
      return false;
  return true;
}

const char *plag_words_unit(const char *unit, double value) {
  static const struct {
    const char *many, *one;
  } counts[] = {{"dropouts", "dropout"}, {"times", "time"}, {"spots", "spot"}, {"leaps", "leap"}};
  for (size_t i = 0; value == 1 && i < sizeof counts / sizeof counts[0]; i++)
    if (strcmp(unit, counts[i].many) == 0)
      return counts[i].one;
  return unit;
}

/* The bands of Kass and Raftery, J. Am. Stat. Assoc. 90 (1995) 773-795, from memory: twice the
 * natural log of the factor at 2, 6 and 10. */
const char *plag_words_weight(double weight) {
  if (weight < PLAG_WORDS_FAIR)
    return "slight";
  if (weight < PLAG_WORDS_STRONG)
    return "fair";
  return weight < 5 ? "strong" : "very strong";
}

void plag_words_add_share(plag_text *out, double share) {
  if (share > 0 && share < 0.005)
    plag_text_add(out, "<1 %");
  else if (share < 1 && share >= 0.995)
    plag_text_add(out, ">99 %");
  else {
    plag_text_add_number(out, 100 * share, 0);
    plag_text_add(out, " %");
  }
}

void plag_words_say_value(plag_document *document, const platelag_estimate *estimate,
                          int decimals) {
  switch (estimate->known) {
  case PLATELAG_KNOWN_NOTHING:
    plag_document_say(document, "not known");
    break;
  case PLATELAG_KNOWN_VALUE:
    plag_document_say_number(document, estimate->value, decimals);
    break;
  case PLATELAG_KNOWN_UPPER_LIMIT:
    plag_document_say(document, "at most ");
    plag_document_say_number(document, estimate->high, decimals);
    break;
  case PLATELAG_KNOWN_LOWER_LIMIT:
    plag_document_say(document, "at least ");
    plag_document_say_number(document, estimate->low, decimals);
    break;
  case PLATELAG_KNOWN_BRACKET:
    if (!isfinite(estimate->high))
      plag_document_say(document, "at least ");
    plag_document_say_number(document, estimate->low, decimals);
    if (!isfinite(estimate->high))
      break;
    plag_document_say(document, " to ");
    plag_document_say_number(document, estimate->high, decimals);
    break;
  }
}

void plag_words_say_interval(plag_document *document, const platelag_estimate *estimate,
                             int decimals) {
  if (estimate->known != PLATELAG_KNOWN_VALUE)
    return;
  const bool from = isfinite(estimate->low), to = isfinite(estimate->high);
  if (from) {
    plag_document_say_number(document, estimate->low, decimals);
    plag_document_say(document, to ? " to " : " or more");
  } else {
    plag_document_say(document, to ? "up to " : "not known");
  }
  if (to)
    plag_document_say_number(document, estimate->high, decimals);
}

const char *plag_words_against(const platelag_estimate *estimate, double limit) {
  if (!(limit > 0) || estimate->known == PLATELAG_KNOWN_NOTHING)
    return "";
  const bool has_low = estimate->known != PLATELAG_KNOWN_UPPER_LIMIT && isfinite(estimate->low);
  const bool has_high = estimate->known != PLATELAG_KNOWN_LOWER_LIMIT && isfinite(estimate->high);
  if (has_low && estimate->low > limit)
    return "over";
  if (has_high && estimate->high <= limit)
    return "within";
  return estimate->known == PLATELAG_KNOWN_VALUE ? "borderline" : "cannot tell";
}
