/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a recording is fit to decide from, and what would make it so, in numbers. */
#include <math.h>

#include "core/error.h"
#include "mark/book.h"

platelag_status plag_mark_set(plag_class_book *book, plag_entry *entry, plag_criterion criterion,
                              double share, const char *reason, const char *advice,
                              platelag_error *error) {
  platelag_mark *mark = &entry->submission.mark[criterion];
  if (reason == NULL || advice == NULL)
    return plag_error_memory(error, "a reason");
  mark->of = book->rubric->points[criterion];
  mark->applies = mark->of > 0;
  mark->points = mark->of * fmin(fmax(share, 0), 1);
  mark->reason = reason;
  mark->advice = advice;
  return PLATELAG_OK;
}

static double setting(const plag_class_book *book, plag_criterion criterion) {
  return book->rubric->setting[criterion][0];
}

static platelag_status mark_channels(plag_class_book *book, plag_entry *entry,
                                     platelag_error *error) {
  const plag_shown *shown = &entry->shown;
  const char *reason = shown->command && shown->position ? "both are in it"
                       : shown->position                 ? "the position alone is in it"
                                                         : "no position is in it";
  return plag_mark_set(
      book, entry, PLAG_CRITERION_CHANNELS, 0.5 * shown->command + 0.5 * shown->position, reason,
      !shown->position  ? "Add the position (volts or per cent) to the list of channels."
      : !shown->command ? "Add the command (duty) to the list of channels."
                        : "",
      error);
}

static platelag_status mark_length(plag_class_book *book, plag_entry *entry,
                                   platelag_error *error) {
  const double asked = setting(book, PLAG_CRITERION_LENGTH);
  const double is = entry->shown.minutes;
  return plag_mark_set(book, entry, PLAG_CRITERION_LENGTH, is / asked,
                       plag_words(&book->arena, "#1 minutes, asked for #1", is, asked),
                       is < asked ? plag_words(&book->arena, "#1 more minutes would do.",
                                               ceil(10 * (asked - is)) / 10)
                                  : "",
                       error);
}

static platelag_status mark_rate(plag_class_book *book, plag_entry *entry, platelag_error *error) {
  const double asked = setting(book, PLAG_CRITERION_RATE);
  const double is = entry->shown.rows_per_second;
  return plag_mark_set(
      book, entry, PLAG_CRITERION_RATE, is / asked,
      plag_words(&book->arena, "#1 rows a second, asked for #1", is, asked),
      is < 0.95 * asked
          ? "Record fewer channels at once: the fewer there are, the oftener each is read."
          : "",
      error);
}

/* "6 more openings and 1 more closing would do."; "" where none is wanted. */
static const char *more_each_way(plag_class_book *book, double openings, double closings) {
  const char *opening = plag_words(&book->arena, "#c", openings, "more opening");
  const char *closing = plag_words(&book->arena, "#c", closings, "more closing");
  if (openings > 0 && closings > 0)
    return plag_words(&book->arena, "#s and #s would do.", opening, closing);
  return openings > 0 || closings > 0
             ? plag_words(&book->arena, "#s would do.", openings > 0 ? opening : closing)
             : "";
}

static platelag_status mark_moves(plag_class_book *book, plag_entry *entry, platelag_error *error) {
  const double asked = setting(book, PLAG_CRITERION_MOVES);
  const double openings = entry->shown.openings;
  const double closings = entry->shown.closings;
  return plag_mark_set(book, entry, PLAG_CRITERION_MOVES, fmin(openings, closings) / asked,
                       plag_words(&book->arena,
                                  "#c and #c were asked of the plates, wanted #0 each way",
                                  openings, "opening", closings, "closing", asked),
                       more_each_way(book, ceil(asked - openings), ceil(asked - closings)), error);
}

static const char *travel_advice(const plag_shown *shown, double asked) {
  if (!shown->closed_asked)
    return "Let the plates come to rest closed, for two seconds at least.";
  if (!shown->open_asked)
    return "Drive once so that the plates are asked to open fully, for two seconds at least.";
  return shown->visited_pct < asked
             ? "Open the throttle by other amounts each time, so that the plates are sent to every "
               "part of their travel."
             : "";
}

static platelag_status mark_travel(plag_class_book *book, plag_entry *entry,
                                   platelag_error *error) {
  const plag_shown *shown = &entry->shown;
  const double asked = setting(book, PLAG_CRITERION_TRAVEL);
  const double share = 0.5 * fmin(shown->visited_pct / asked, 1) + 0.25 * shown->closed_asked +
                       0.25 * shown->open_asked;
  const char *stops = shown->closed_asked && shown->open_asked ? "both stops were asked for"
                      : shown->closed_asked                    ? "the open stop was never asked for"
                      : shown->open_asked ? "the closed stop was never asked for"
                                          : "neither stop was asked for";
  return plag_mark_set(book, entry, PLAG_CRITERION_TRAVEL, share,
                       plag_words(&book->arena,
                                  "#0 % of travel was visited or asked for, wanted "
                                  "#0 %; #s",
                                  shown->visited_pct, asked, stops),
                       travel_advice(shown, asked), error);
}

/* An interval narrows with the root of the number of moves. */
static const char *more_moves(plag_class_book *book, const plag_shown *shown, double asked_share) {
  const double moves = fmin(shown->openings, shown->closings);
  const double times = pow(shown->width_share / asked_share, 2);
  const double more = ceil(moves * (times - 1));
  if (!(moves > 0) || !isfinite(more) || more > 500)
    return "Step the command instead of easing it, and wait until the plates rest: each such "
           "step counts most.";
  return plag_words(&book->arena,
                    "#c more each way would narrow the interval of t63 to #0 % of it; four times "
                    "as many as now would halve it.",
                    more, "move", 100 * asked_share);
}

static platelag_status mark_precision(plag_class_book *book, plag_entry *entry,
                                      platelag_error *error) {
  const plag_shown *shown = &entry->shown;
  const double asked = setting(book, PLAG_CRITERION_PRECISION) / 100;
  if (isnan(shown->width_share))
    return PLATELAG_OK; /* plates that do not move have no t63 */
  if (isinf(shown->width_share))
    return plag_mark_set(
        book, entry, PLAG_CRITERION_PRECISION, 0, "t63 is only known to lie below a limit",
        "A faster recording would show it: fewer channels, or a recorder with more rows a second.",
        error);
  return plag_mark_set(
      book, entry, PLAG_CRITERION_PRECISION, (3 * asked - shown->width_share) / (2 * asked),
      plag_words(&book->arena, "the interval of t63 is #0 % of it wide, wanted #0 %",
                 100 * shown->width_share, 100 * asked),
      shown->width_share > asked ? more_moves(book, shown, asked) : "", error);
}

static platelag_status mark_gaps(plag_class_book *book, plag_entry *entry, platelag_error *error) {
  const double asked = setting(book, PLAG_CRITERION_GAPS);
  const double is = entry->shown.lost_pct;
  return plag_mark_set(
      book, entry, PLAG_CRITERION_GAPS, (3 * asked - is) / (2 * asked),
      plag_words(&book->arena,
                 "#1 % of the time or the readings are missing, "
                 "at most #1 % may be",
                 is, asked),
      is > asked ? "Keep the recorder plugged in and awake; close other programs." : "", error);
}

static platelag_status mark_reversals(plag_class_book *book, plag_entry *entry,
                                      platelag_error *error) {
  const double asked = setting(book, PLAG_CRITERION_REVERSALS);
  const double is = entry->shown.reversals;
  return plag_mark_set(
      book, entry, PLAG_CRITERION_REVERSALS, is / asked,
      plag_words(&book->arena, "#c of the command, wanted #0", is, "reversal", asked),
      is < asked
          ? plag_words(&book->arena, "#0 more would do: open and close the throttle by turns.",
                       ceil(asked - is))
          : "",
      error);
}

/* "a road drive, a sweep by hand" of the conditions that are in `wanted` and not in `there`. */
static const char *missing_of(plag_class_book *book, unsigned wanted, unsigned there) {
  static const char *const words[] = {"a road drive", "a capture with the engine off",
                                      "a sweep by hand", "a capture after the repair"};
  const char *list = "";
  for (int i = 0; i <= PLATELAG_CONDITION_AFTER; i++)
    if ((wanted & ~there & (1U << i)) != 0)
      list = plag_words(&book->arena, "#s#s#s", list, list != NULL && list[0] != '\0' ? ", " : "",
                        words[i]);
  return list;
}

static double bits(unsigned set) {
  double count = 0;
  for (; set != 0; set &= set - 1)
    count++;
  return count;
}

static platelag_status mark_conditions(plag_class_book *book, plag_entry *entry,
                                       platelag_error *error) {
  const unsigned wanted = entry->key->conditions;
  const unsigned there = entry->shown.conditions & wanted;
  const char *missing = missing_of(book, wanted, there);
  const bool all = there == wanted;
  return plag_mark_set(book, entry, PLAG_CRITERION_CONDITIONS, bits(there) / bits(wanted),
                       plag_words(&book->arena, "#0 of #0 recordings that were asked for",
                                  bits(there), bits(wanted)),
                       all ? "" : plag_words(&book->arena, "Missing: #s.", missing), error);
}

/* What is asked of a drive earns nothing without one, and does not apply where none was asked for.
 */
static platelag_status mark_no_drive(plag_class_book *book, plag_entry *entry,
                                     platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  if ((entry->key->conditions & (1U << PLATELAG_CONDITION_ROAD)) == 0)
    return PLATELAG_OK;
  for (int i = PLAG_CRITERION_CHANNELS; i < PLAG_CRITERION_CONDITIONS && status == PLATELAG_OK; i++)
    status = plag_mark_set(book, entry, (plag_criterion)i, 0, "no drive was recorded", "", error);
  return status;
}

platelag_status plag_entry_mark_recording(plag_class_book *book, plag_entry *entry,
                                          platelag_error *error) {
  static platelag_status (*const marks[])(plag_class_book *, plag_entry *, platelag_error *) = {
      mark_channels, mark_length,    mark_rate, mark_moves,
      mark_travel,   mark_precision, mark_gaps, mark_reversals};
  platelag_status status = PLATELAG_OK;
  if (!entry->shown.road)
    status = mark_no_drive(book, entry, error);
  for (size_t i = 0; i < sizeof marks / sizeof marks[0] && status == PLATELAG_OK; i++)
    if (entry->shown.road)
      status = marks[i](book, entry, error);
  return status == PLATELAG_OK ? mark_conditions(book, entry, error) : status;
}
