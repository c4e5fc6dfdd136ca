/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/practice_scores.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/made_random.h"

enum { BINS = 10, FLOOR_ROUNDS = 200 };

/* A forecast and whether it came true. */
typedef struct forecast {
  double probability;
  bool true_;
} forecast;

static bool is_answered(const practice_case *of) {
  return of->kind != PLATELAG_FINDING_UNDECIDED;
}

bool practice_case_is_right(const practice_case *of) {
  return is_answered(of) && (of->truth.right >> of->kind & 1u) != 0;
}

static bool is_swapped(const practice_case *of) {
  return (of->truth.family == PLATELAG_FAMILY_MECHANICAL &&
          of->family == PLATELAG_FAMILY_SENSOR_CIRCUIT) ||
         (of->truth.family == PLATELAG_FAMILY_SENSOR_CIRCUIT &&
          of->family == PLATELAG_FAMILY_MECHANICAL);
}

/* --- calibration ------------------------------------------------------------------------------ */

static int by_probability(const void *a, const void *b) {
  const double x = ((const forecast *)a)->probability;
  const double y = ((const forecast *)b)->probability;
  return (x > y) - (x < y);
}

/* Expected calibration error over bins of equal mass; `sorted` by probability. */
static double error_of(const forecast *sorted, size_t count) {
  double sum = 0;
  for (size_t bin = 0; bin < BINS; bin++) {
    const size_t from = bin * count / BINS;
    const size_t to = (bin + 1) * count / BINS;
    double off = 0;
    for (size_t i = from; i < to; i++)
      off += sorted[i].probability - sorted[i].true_;
    sum += fabs(off);
  }
  return count > 0 ? sum / (double)count : NAN;
}

/* What a perfect forecaster of the same probabilities would show. */
static double floor_of(const forecast *sorted, size_t count) {
  forecast *drawn = malloc(count * sizeof *drawn + 1);
  assert_non_null(drawn);
  plag_test_random random = {2385};
  double sum = 0;
  for (int round = 0; round < FLOOR_ROUNDS; round++) {
    for (size_t i = 0; i < count; i++)
      drawn[i] = (forecast){sorted[i].probability,
                            plag_test_random_uniform(&random, 0, 1) < sorted[i].probability};
    sum += error_of(drawn, count);
  }
  free(drawn);
  return sum / FLOOR_ROUNDS;
}

static double brier_of(const forecast *of, size_t count) {
  double sum = 0;
  for (size_t i = 0; i < count; i++) {
    const double off = of[i].probability - of[i].true_;
    sum += off * off;
  }
  return sum / (double)count;
}

/* What a perfect forecaster of the same probabilities would show: what is over it is error, the
 * rest is what the records do not tell. */
static double brier_floor_of(const forecast *of, size_t count) {
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += of[i].probability * (1 - of[i].probability);
  return sum / (double)count;
}

/* Whose forecasts. */
typedef enum subject { FAMILIES, FINDINGS, FINDINGS_OF_DECIDABLE, FINDINGS_ANSWERED } subject;

/* Forecasts of the likeliest family, or of the likeliest finding where nothing blocks it. */
static forecast *forecasts(const practice_case *of, size_t count, subject whose, size_t *found) {
  const bool findings = whose != FAMILIES;
  forecast *list = malloc(count * sizeof *list + 1);
  assert_non_null(list);
  *found = 0;
  for (size_t i = 0; i < count; i++) {
    if (findings ? of[i].blocked[of[i].best] : of[i].failed)
      continue;
    if (whose == FINDINGS_OF_DECIDABLE && !of[i].truth.decidable)
      continue;
    if (whose == FINDINGS_ANSWERED && !is_answered(&of[i]))
      continue;
    const bool right = (of[i].truth.right >> of[i].best & 1u) != 0;
    const bool blind = of[i].truth.hidden && of[i].best == PLATELAG_FINDING_FREE;
    list[(*found)++] = findings ? (forecast){of[i].finding_probability, right && !blind}
                                : (forecast){of[i].probability[of[i].likeliest],
                                             of[i].likeliest == of[i].truth.family};
  }
  qsort(list, *found, sizeof *list, by_probability);
  return list;
}

/* --- sums ------------------------------------------------------------------------------------- */

static void count_hidden(practice_scores *sum, const practice_case *of) {
  sum->hidden++;
  sum->hidden_free += of->kind == PLATELAG_FINDING_FREE;
  sum->hidden_wrong += is_answered(of) && !practice_case_is_right(of);
}

static void count_one(practice_scores *sum, const practice_case *of) {
  const practice_draw draw = practice_set_draw(of->set, of->number);
  sum->captures++;
  sum->failed += of->failed;
  sum->decidable += of->truth.decidable;
  sum->decidable_answered += of->truth.decidable && is_answered(of);
  /* A wrong answer to a hidden fault is wrong; only `free` is set apart. */
  if (is_answered(of) && !(of->truth.hidden && of->kind == PLATELAG_FINDING_FREE)) {
    sum->answered++;
    sum->right += practice_case_is_right(of);
  }
  if (of->truth.hidden)
    count_hidden(sum, of);
  if (strcmp(draw.order.fault, "none") == 0) {
    sum->healthy++;
    sum->alarms += is_answered(of) && of->kind != PLATELAG_FINDING_FREE;
  }
  if (is_swapped(of)) {
    sum->swapped++;
    sum->swapped_surest = fmax(sum->swapped_surest, of->probability[of->family]);
  }
  if (strchr(draw.order.fault, '+') != NULL && is_answered(of)) {
    sum->mixtures++;
    sum->mixtures_right += practice_case_is_right(of);
    sum->mixtures_told += of->tells_other;
  }
}

static practice_brier brier_among(const practice_case *of, size_t count, subject whose) {
  size_t found = 0;
  forecast *list = forecasts(of, count, whose, &found);
  const practice_brier brier = {brier_of(list, found), brier_floor_of(list, found)};
  free(list);
  return brier;
}

practice_scores practice_scores_sum(const practice_case *of, size_t count) {
  practice_scores sum = {0};
  for (size_t i = 0; i < count; i++)
    count_one(&sum, &of[i]);
  size_t found = 0;
  forecast *list = forecasts(of, count, FAMILIES, &found);
  sum.ece = error_of(list, found);
  sum.ece_floor = floor_of(list, found);
  free(list);
  list = forecasts(of, count, FINDINGS, &found);
  sum.finding_ece = error_of(list, found);
  sum.finding_ece_floor = floor_of(list, found);
  free(list);
  sum.brier = brier_among(of, count, FINDINGS);
  sum.brier_of_decidable = brier_among(of, count, FINDINGS_OF_DECIDABLE);
  sum.brier_of_answered = brier_among(of, count, FINDINGS_ANSWERED);
  return sum;
}

/* --- tables ----------------------------------------------------------------------------------- */

static double pct(size_t part, size_t whole) {
  return whole > 0 ? 100.0 * (double)part / (double)whole : NAN;
}

void practice_scores_print(const practice_scores *s) {
  print_message("%zu captures, %zu refused\n", s->captures, s->failed);
  print_message("right of answered          %5.1f %%  (%zu of %zu; %.1f %% with hidden faults told "
                "free counted as wrong)\n",
                pct(s->right, s->answered), s->right, s->answered,
                pct(s->right, s->answered + s->hidden_free));
  print_message("answered of decidable      %5.1f %%  (%zu of %zu)\n",
                pct(s->decidable_answered, s->decidable), s->decidable_answered, s->decidable);
  print_message("hidden faults              %zu, told free %zu, told wrong %zu\n", s->hidden,
                s->hidden_free, s->hidden_wrong);
  print_message("false alarms               %zu of %zu healthy\n", s->alarms, s->healthy);
  print_message("swaps plates and sensor    %zu, %.2f %% of answered, the surest %.3f\n",
                s->swapped, pct(s->swapped, s->answered + s->hidden_free), s->swapped_surest);
  print_message("mixtures                   %zu answered, %zu right, %zu tell the other trouble\n",
                s->mixtures, s->mixtures_right, s->mixtures_told);
  print_message("calibration of families    %.4f (floor %.4f)\n", s->ece, s->ece_floor);
  print_message("calibration of findings    %.4f (floor %.4f)\n", s->finding_ece,
                s->finding_ece_floor);
  print_message(
      "Brier score of findings    %.4f answered (floor %.4f), %.4f decidable (%.4f), %.4f "
      "all (%.4f)\n",
      s->brier_of_answered.score, s->brier_of_answered.floor, s->brier_of_decidable.score,
      s->brier_of_decidable.floor, s->brier.score, s->brier.floor);
}

static void print_head(const char *corner) {
  print_message("%-22s", corner);
  for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
    print_message("%9.8s", platelag_finding_name((platelag_finding_kind)k));
  print_message(" |");
  for (int f = 0; f <= PLATELAG_FAMILY_COUNT; f++)
    print_message("%7.6s", platelag_family_name((platelag_family)f));
  print_message("\n");
}

static void print_row(const char *name, const practice_case *of, size_t count,
                      bool (*belongs)(const practice_case *of, const void *what),
                      const void *what) {
  size_t kind[PLATELAG_FINDING_COUNT] = {0};
  size_t family[PLATELAG_FAMILY_COUNT + 1] = {0};
  size_t all = 0;
  for (size_t i = 0; i < count; i++)
    if (belongs(&of[i], what)) {
      all++;
      kind[of[i].kind]++;
      family[of[i].family]++;
    }
  if (all == 0)
    return;
  print_message("%-22s", name);
  for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
    print_message(kind[k] > 0 ? "%9zu" : "        .", kind[k]);
  print_message(" |");
  for (int f = 0; f <= PLATELAG_FAMILY_COUNT; f++)
    print_message(family[f] > 0 ? "%7zu" : "      .", family[f]);
  print_message("\n");
}

static bool has_fault(const practice_case *of, const void *fault) {
  return strcmp(practice_set_draw(of->set, of->number).order.fault, fault) == 0;
}

static bool is_matter(const practice_case *of, const void *kind) {
  return !of->truth.hidden && of->truth.is == *(const platelag_finding_kind *)kind;
}

static bool is_hidden_matter(const practice_case *of, const void *kind) {
  return of->truth.hidden && of->truth.is == *(const platelag_finding_kind *)kind;
}

/* The faults in order of first appearance. */
static size_t list_faults(const practice_case *of, size_t count, const char **fault, size_t room) {
  size_t found = 0;
  for (size_t i = 0; i < count; i++) {
    const char *name = practice_set_draw(of[i].set, of[i].number).order.fault;
    size_t at = 0;
    while (at < found && strcmp(fault[at], name) != 0)
      at++;
    if (at == found && found < room)
      fault[found++] = name;
  }
  return found;
}

static int by_name(const void *a, const void *b) {
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

void practice_scores_print_confusion(const practice_case *of, size_t count) {
  enum { MOST = 64 };
  print_head("in fact \\ told");
  for (int k = 0; k < PLATELAG_FINDING_UNDECIDED; k++)
    print_row(platelag_finding_name((platelag_finding_kind)k), of, count, is_matter, &k);
  print_head("hidden \\ told");
  for (int k = 0; k < PLATELAG_FINDING_UNDECIDED; k++)
    print_row(platelag_finding_name((platelag_finding_kind)k), of, count, is_hidden_matter, &k);
  print_head("fault \\ told");
  const char *fault[MOST];
  const size_t faults = list_faults(of, count, fault, MOST);
  qsort(fault, faults, sizeof fault[0], by_name);
  for (size_t i = 0; i < faults; i++)
    print_row(fault[i], of, count, has_fault, fault[i]);
}

void practice_scores_print_reliability(const practice_case *of, size_t count) {
  for (int findings = 0; findings < 2; findings++) {
    size_t found = 0;
    forecast *list = forecasts(of, count, findings == 1 ? FINDINGS : FAMILIES, &found);
    print_message("%s: told / came true\n", findings == 1 ? "findings" : "families");
    for (size_t bin = 0; bin < BINS; bin++) {
      const size_t from = bin * found / BINS;
      const size_t to = (bin + 1) * found / BINS;
      double told = 0;
      double came = 0;
      for (size_t i = from; i < to; i++) {
        told += list[i].probability;
        came += list[i].true_;
      }
      print_message("  %.3f / %.3f", told / (double)(to - from), came / (double)(to - from));
      if (bin % 5 == 4)
        print_message("\n");
    }
    free(list);
  }
}

/* Were the threshold another: how many of the decidable were answered, and how many wrong. */
void practice_scores_print_coverage(const practice_case *of, size_t count) {
  static const double threshold[] = {0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 0.99};
  print_message("threshold  answered of decidable  wrong of answered\n");
  for (size_t t = 0; t < sizeof threshold / sizeof threshold[0]; t++) {
    size_t decidable = 0;
    size_t covered = 0;
    size_t answered = 0;
    size_t wrong = 0;
    for (size_t i = 0; i < count; i++) {
      const practice_case *at = &of[i];
      const bool open = !at->blocked[at->best] && at->finding_probability >= threshold[t];
      decidable += at->truth.decidable;
      covered += at->truth.decidable && open;
      if (!open || (at->truth.hidden && at->best == PLATELAG_FINDING_FREE))
        continue;
      answered++;
      wrong += (at->truth.right >> at->best & 1u) == 0;
    }
    print_message("%9.2f  %19.1f %%  %15.2f %%\n", threshold[t], pct(covered, decidable),
                  pct(wrong, answered));
  }
}

void practice_scores_undecided(const practice_case *of, size_t count, size_t *undecided,
                               size_t *telling) {
  *undecided = *telling = 0;
  for (size_t i = 0; i < count; i++) {
    /* `still` may be sure where the family is not: the design has it so. */
    const bool open = !is_answered(&of[i]) || (of[i].kind == PLATELAG_FINDING_STILL &&
                                               of[i].family == PLATELAG_FAMILY_UNDECIDED);
    *undecided += open;
    *telling += open && of[i].tells_lacking;
  }
}
