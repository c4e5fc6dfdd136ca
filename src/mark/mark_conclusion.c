/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the conclusion is right: against the key, and against what the recording can tell. Saying
 * that it cannot is right where it cannot. */
#include <math.h>
#include <string.h>

#include "mark/book.h"
#include "mark/say.h"

/* Of a forecast's points: nothing is advised beyond. */
#define NEARLY_ALL 0.95

/* How an answer stands to the key and to the recording. */
typedef enum standing {
  STANDS_RIGHT,       /* as the key, and the recording shows it */
  STANDS_OPEN,        /* "cannot tell", and it cannot */
  STANDS_UNSUPPORTED, /* as the key, which the recording cannot tell */
  STANDS_AS_RECORDED, /* not as the key, but as the recording shows */
  STANDS_NEAR,        /* another finding of the key's family */
  STANDS_WRONG
} standing;

static double setting(const plag_class_book *book, plag_criterion criterion, size_t index) {
  return book->rubric->setting[criterion][index];
}

/* The family that a finding speaks for; undecided where that is open by nature. */
static platelag_family family_of(platelag_finding_kind finding) {
  switch (finding) {
  case PLATELAG_FINDING_FREE:
    return PLATELAG_FAMILY_FREE;
  case PLATELAG_FINDING_SLOW:
  case PLATELAG_FINDING_STICKING:
  case PLATELAG_FINDING_SHORT_TRAVEL:
    return PLATELAG_FAMILY_MECHANICAL;
  case PLATELAG_FINDING_SIGNAL_LOW:
  case PLATELAG_FINDING_SIGNAL_ERRATIC:
  case PLATELAG_FINDING_SIGNAL_SHIFTED:
    return PLATELAG_FAMILY_SENSOR_CIRCUIT;
  default:
    return PLATELAG_FAMILY_UNDECIDED;
  }
}

static platelag_family key_family(const plag_key_row *key) {
  return key->family_given ? key->family : family_of(key->finding);
}

static standing stand_finding(const plag_entry *entry) {
  const platelag_finding_kind said = entry->answer.finding;
  const platelag_finding_kind truth = entry->key->finding;
  const bool open = entry->shown.finding == PLATELAG_FINDING_UNDECIDED;
  if (said == PLATELAG_FINDING_UNDECIDED)
    return open || truth == PLATELAG_FINDING_UNDECIDED ? STANDS_OPEN : STANDS_WRONG;
  if (said == truth)
    return open ? STANDS_UNSUPPORTED : STANDS_RIGHT;
  if (said == entry->shown.finding)
    return STANDS_AS_RECORDED;
  const platelag_family family = family_of(said);
  return family != PLATELAG_FAMILY_UNDECIDED && family == key_family(entry->key) ? STANDS_NEAR
                                                                                 : STANDS_WRONG;
}

static standing stand_family(const plag_entry *entry) {
  const platelag_family said = entry->answer.family;
  const platelag_family truth = key_family(entry->key);
  const bool open = entry->shown.family == PLATELAG_FAMILY_UNDECIDED;
  if (said == PLATELAG_FAMILY_UNDECIDED)
    return open || truth == PLATELAG_FAMILY_UNDECIDED ? STANDS_OPEN : STANDS_WRONG;
  if (said == truth)
    return open ? STANDS_UNSUPPORTED : STANDS_RIGHT;
  return said == entry->shown.family ? STANDS_AS_RECORDED : STANDS_WRONG;
}

/* "signal high" for "signal_high". */
static const char *plain(plag_class_book *book, const char *key) {
  char *text = plag_arena_copy_text(&book->arena, key);
  for (char *at = text; at != NULL && *at != '\0'; at++)
    if (*at == '_')
      *at = ' ';
  return text;
}

static const char *said_words(plag_class_book *book, const char *said, bool undecided) {
  return undecided ? "cannot tell" : plain(book, said);
}

/* The reason in words: what was said, what is true, what the recording shows; `same`: it shows what
 * is true. */
static const char *reason_of(plag_class_book *book, standing stands, const char *said,
                             const char *truth, const char *shown, bool same) {
  switch (stands) {
  case STANDS_RIGHT:
    return same ? plag_words(&book->arena, "\"#s\" is right, and the recording shows it", said)
                : plag_words(&book->arena, "\"#s\" is right, though #s", said, shown);
  case STANDS_OPEN:
    return plag_words(&book->arena, "\"#s\" is right: the recording alone cannot tell", said);
  case STANDS_UNSUPPORTED:
    return plag_words(&book->arena, "\"#s\" is right, but the recording alone cannot tell", said);
  case STANDS_AS_RECORDED:
    return plag_words(&book->arena, "\"#s\" is what the recording shows; #s", said, truth);
  case STANDS_NEAR:
    return plag_words(&book->arena, "\"#s\" is near: #s", said, truth);
  default:
    return plag_words(&book->arena, "#s, and #s; the answer was \"#s\"", truth,
                      same ? "the recording shows it" : shown, said);
  }
}

static const char *advice_of(standing stands, bool undecided, platelag_family family) {
  switch (stands) {
  case STANDS_UNSUPPORTED:
    return "Say what your recording can tell, and which test would settle the rest.";
  case STANDS_NEAR:
    return family == PLATELAG_FAMILY_SENSOR_CIRCUIT
               ? "You found where the fault lies; look at when readings jump, and at what both "
                 "stops "
                 "read."
               : "You found where the fault lies; look at how the plates stop and let go.";
  case STANDS_WRONG:
    if (undecided)
      return "Where a recording can tell, say what it shows: its report lists the reasons.";
    return "Go through the report of your recording: it lists what speaks for each place of the "
           "fault.";
  case STANDS_AS_RECORDED:
    return "Another drive or the next test may show what this recording does not.";
  default:
    return "";
  }
}

/* What is not understood earns nothing until the instructor, who is told, has read it. */
static platelag_status mark_odd(plag_class_book *book, plag_entry *entry, plag_criterion criterion,
                                size_t which, platelag_error *error) {
  return plag_mark_set(book, entry, criterion, 0,
                       plag_words(&book->arena, "\"#s\" is not understood; the instructor marks it",
                                  entry->answer.said[which]),
                       "", error);
}

static platelag_status mark_finding(plag_class_book *book, plag_entry *entry,
                                    platelag_error *error) {
  const plag_criterion criterion = PLAG_CRITERION_FINDING;
  if (entry->answer.odd[PLAG_SAID_FINDING])
    return mark_odd(book, entry, criterion, PLAG_SAID_FINDING, error);
  if (!entry->answer.finding_given)
    return plag_mark_set(book, entry, criterion, 0, "no finding was given",
                         "Say what you see, or that it cannot be told.", error);
  const standing stands = stand_finding(entry);
  const double shares[] = {[STANDS_RIGHT] = 1,
                           [STANDS_OPEN] = 1,
                           [STANDS_UNSUPPORTED] = setting(book, criterion, 1),
                           [STANDS_AS_RECORDED] = setting(book, criterion, 2),
                           [STANDS_NEAR] = setting(book, criterion, 0),
                           [STANDS_WRONG] = 0};
  const bool undecided = entry->answer.finding == PLATELAG_FINDING_UNDECIDED;
  return plag_mark_set(
      book, entry, criterion, shares[stands],
      reason_of(book, stands,
                said_words(book, platelag_finding_name(entry->answer.finding), undecided),
                plag_say_truth(entry->key->finding), plag_say_shown(entry->shown.finding),
                entry->submission.decidable && entry->shown.finding == entry->key->finding),
      advice_of(stands, undecided, key_family(entry->key)), error);
}

static platelag_status mark_family(plag_class_book *book, plag_entry *entry,
                                   platelag_error *error) {
  const plag_criterion criterion = PLAG_CRITERION_FAMILY;
  if (entry->answer.odd[PLAG_SAID_FAMILY])
    return mark_odd(book, entry, criterion, PLAG_SAID_FAMILY, error);
  if (!entry->answer.family_given)
    return plag_mark_set(
        book, entry, criterion, 0, "no place of the fault was named",
        "Say whether the fault lies in the plates, the sensor circuit or the drive, "
        "or that it is open.",
        error);
  const standing stands = stand_family(entry);
  const double shares[] = {[STANDS_RIGHT] = 1,
                           [STANDS_OPEN] = 1,
                           [STANDS_UNSUPPORTED] = setting(book, criterion, 0),
                           [STANDS_AS_RECORDED] = setting(book, criterion, 1),
                           [STANDS_NEAR] = 0,
                           [STANDS_WRONG] = 0};
  const bool undecided = entry->answer.family == PLATELAG_FAMILY_UNDECIDED;
  return plag_mark_set(
      book, entry, criterion, shares[stands],
      reason_of(book, stands,
                said_words(book, platelag_family_name(entry->answer.family), undecided),
                plag_say_place(key_family(entry->key)), plag_say_shown_place(entry->shown.family),
                entry->shown.family != PLATELAG_FAMILY_UNDECIDED &&
                    entry->shown.family == key_family(entry->key)),
      advice_of(stands, undecided, key_family(entry->key)), error);
}

static platelag_status mark_code(plag_class_book *book, plag_entry *entry, platelag_error *error) {
  const plag_key_row *key = entry->key;
  if (key->code[0] == '\0' || (!key->verdict_given && !entry->shown.verdict_known))
    return PLATELAG_OK; /* nothing was asked */
  const platelag_code_verdict truth = key->verdict_given ? key->verdict : entry->shown.verdict;
  const plag_answer *said = &entry->answer;
  if (said->odd[PLAG_SAID_VERDICT])
    return mark_odd(book, entry, PLAG_CRITERION_CODE, PLAG_SAID_VERDICT, error);
  if (!said->verdict_given)
    return plag_mark_set(book, entry, PLAG_CRITERION_CODE, 0,
                         plag_words(&book->arena, "nothing was said of #s", key->code),
                         "Hold what the code's name claims against the trace.", error);
  const bool right = said->verdict == truth;
  const double share = right ? 1
                       : said->verdict == PLATELAG_CODE_CANNOT_TELL
                           ? setting(book, PLAG_CRITERION_CODE, 0)
                           : 0;
  return plag_mark_set(book, entry, PLAG_CRITERION_CODE, share,
                       right ? plag_words(&book->arena, "#s: \"#s\" is right", key->code,
                                          plain(book, platelag_code_verdict_name(truth)))
                             : plag_words(&book->arena, "#s: said #s, the trace says #s", key->code,
                                          plain(book, platelag_code_verdict_name(said->verdict)),
                                          plain(book, platelag_code_verdict_name(truth))),
                       right ? ""
                             : "A code names what the controller suspects; the trace shows whether "
                               "its condition was met.",
                       error);
}

/* Where the test stands in a list; `count` when it is not in it. */
static size_t place_of(const char *test, const char *const *list, size_t count) {
  size_t at = 0;
  while (at < count && strcmp(list[at], test) != 0)
    at++;
  return at;
}

static double test_share(const plag_class_book *book, const plag_entry *entry) {
  const plag_key_row *key = entry->key;
  const plag_shown *shown = &entry->shown;
  if (key->test_count > 0)
    return place_of(entry->answer.test, key->test, key->test_count) < key->test_count ? 1 : 0;
  switch (place_of(entry->answer.test, shown->test, shown->test_count)) {
  case 0:
    return shown->test_count > 0 ? 1 : 0;
  case 1:
    return shown->test_count > 1 ? setting(book, PLAG_CRITERION_NEXT_TEST, 0) : 0;
  case 2:
    return shown->test_count > 2 ? setting(book, PLAG_CRITERION_NEXT_TEST, 1) : 0;
  default:
    return 0;
  }
}

static platelag_status mark_next_test(plag_class_book *book, plag_entry *entry,
                                      platelag_error *error) {
  const plag_key_row *key = entry->key;
  const plag_shown *shown = &entry->shown;
  if (key->test_count == 0 && shown->test_count == 0)
    return PLATELAG_OK; /* nothing is left to test */
  const char *best = plain(book, key->test_count > 0 ? key->test[0] : shown->test[0]);
  if (entry->answer.odd[PLAG_SAID_TEST])
    return mark_odd(book, entry, PLAG_CRITERION_NEXT_TEST, PLAG_SAID_TEST, error);
  if (entry->answer.test == NULL)
    return plag_mark_set(book, entry, PLAG_CRITERION_NEXT_TEST, 0, "no next test was chosen",
                         plag_words(&book->arena, "Here it would be: #s.", best), error);
  const double share = test_share(book, entry);
  return plag_mark_set(
      book, entry, PLAG_CRITERION_NEXT_TEST, share,
      share >= 1 ? plag_words(&book->arena, "\"#s\" is a test that settles it",
                              plain(book, entry->answer.test))
                 : plag_words(&book->arena, "chose \"#s\"; \"#s\" settles more",
                              plain(book, entry->answer.test), best),
      share >= 1 ? ""
                 : "Ask of each test what it would show for each cause, and how long it takes.",
      error);
}

/* Brier, Mon. Weather Rev. 78 (1950) 1: nobody gains by stating other than he believes. */
static platelag_status mark_probability(plag_class_book *book, plag_entry *entry,
                                        platelag_error *error) {
  const double stated = entry->answer.probability;
  const plag_answer *said = &entry->answer;
  if (isnan(stated) || !said->finding_given || said->finding == PLATELAG_FINDING_UNDECIDED)
    return PLATELAG_OK;
  const bool right = said->finding == entry->key->finding;
  const double off = stated - (right ? 1 : 0);
  const double share = 1 - off * off;
  return plag_mark_set(
      book, entry, PLAG_CRITERION_PROBABILITY, share,
      plag_words(&book->arena, right ? "#0 % sure, and it is so" : "#0 % sure, and it is otherwise",
                 100 * stated),
      share >= NEARLY_ALL ? ""
      : right             ? "The recording allows to be surer than that."
              : "Being sure of what is not so costs most, here and in a shop: keep near 50 % what "
                "the recording leaves open.",
      error);
}

/* 1, 0.5 or 0; NaN where nothing is known to hold it against. */
static double figure_share(const plag_class_book *book, const plag_entry *entry, size_t index) {
  const double said = entry->answer.figure[index];
  const double truth = entry->key->figure[index];
  const platelag_estimate *shown = &entry->shown.figure[index];
  const double tolerance = setting(book, PLAG_CRITERION_FIGURES, 0) / 100;
  if (isnan(truth) && (isnan(said) || shown->known != PLATELAG_KNOWN_VALUE))
    return NAN;
  const double middle = isnan(truth) ? shown->value : truth;
  const double off = isnan(said) ? INFINITY : fabs(said - middle);
  const bool inside = isnan(truth) && said >= shown->low && said <= shown->high;
  return inside || off <= tolerance * middle ? 1 : off <= 2 * tolerance * middle ? 0.5 : 0;
}

static const char *figure_words(plag_class_book *book, const plag_entry *entry, size_t index) {
  const double truth = entry->key->figure[index];
  const double middle = isnan(truth) ? entry->shown.figure[index].value : truth;
  const double said = entry->answer.figure[index];
  const size_t which = PLAG_SAID_FIGURE + index;
  if (entry->answer.odd[which])
    return plag_words(&book->arena, "#s: \"#s\" is not understood; the instructor marks it",
                      plag_measured_name[index], entry->answer.said[which]);
  return isnan(said) ? plag_words(&book->arena, "#s not given (#2 #s)", plag_measured_name[index],
                                  middle, plag_measured_unit[index])
                     : plag_words(&book->arena, "#s #2, is #2 #s", plag_measured_name[index], said,
                                  middle, plag_measured_unit[index]);
}

/* Nobody is asked for figures unless the key has some; who gives one gets it marked. */
static bool asked_or_given(const plag_entry *entry) {
  for (size_t i = 0; i < PLAG_MEASURED; i++)
    if (!isnan(entry->key->figure[i]) || !isnan(entry->answer.figure[i]))
      return true;
  return false;
}

/* By the figure, the later of several; t63 is the harder one. */
static const char *const figure_advice[PLAG_MEASURED] = {
    "The stick band is the pull that has built up when held plates let go: read command and "
    "position "
    "just before the jump.",
    "Measure t63 from the step of the command to 63 % of the move, on several steps, and take the "
    "middle one.",
    "Measure t63 from the step of the command to 63 % of the move, on several steps, and take the "
    "middle one."};

static platelag_status mark_figures(plag_class_book *book, plag_entry *entry,
                                    platelag_error *error) {
  double sum = 0;
  double count = 0;
  const char *words = "";
  const char *advice = "";
  if (!asked_or_given(entry))
    return PLATELAG_OK;
  for (size_t i = 0; i < PLAG_MEASURED; i++) {
    const double share = figure_share(book, entry, i);
    if (isnan(share))
      continue;
    words = plag_words(&book->arena, "#s#s#s", words, count > 0 ? "; " : "",
                       figure_words(book, entry, i));
    if (share < 1)
      advice = figure_advice[i];
    sum += share;
    count++;
  }
  if (count == 0)
    return PLATELAG_OK;
  return plag_mark_set(book, entry, PLAG_CRITERION_FIGURES, sum / count, words, advice, error);
}

platelag_status plag_entry_mark_conclusion(plag_class_book *book, plag_entry *entry,
                                           platelag_error *error) {
  static platelag_status (*const marks[])(plag_class_book *, plag_entry *, platelag_error *) = {
      mark_finding, mark_family, mark_code, mark_next_test, mark_probability, mark_figures};
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < sizeof marks / sizeof marks[0] && status == PLATELAG_OK; i++)
    status = marks[i](book, entry, error);
  if (status == PLATELAG_OK && entry->answer.finding_given &&
      stand_finding(entry) == STANDS_AS_RECORDED)
    status = plag_entry_remark(
        entry,
        plag_words(&book->arena,
                   "the recording shows #s, the key says #s: another vehicle, or a fault that did "
                   "not show?",
                   plain(book, platelag_finding_name(entry->shown.finding)),
                   plain(book, platelag_finding_name(entry->key->finding))),
        error);
  return status;
}
