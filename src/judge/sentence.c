/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/sentence.h"

#include <math.h>

#include "judge/checks.h"
#include "judge/words.h"

/* Places that scatter by less than this are one place, % of travel (a judgement). */
#define NEAR_PCT 6.0
/* A family this probable needs no word of doubt. */
#define SURE_FROM 0.9
/* A second trouble is told from so many held intervals on, a stick band so probably beyond its
 * limit, both stops off by this share of the tolerance (judgements). */
#define HELD_LEAST 3
#define WIDE_FROM  0.75
#define OFF_SHARE  0.5

typedef struct matter {
  const platelag_finding *finding;
  const platelag_fit *fit;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
  const plag_posterior *posterior;
  plag_arena *arena;
} matter;

/* "t63 0.20 s opening and 0.21 s closing (limit 0.70 s)" */
static const char *lags(const matter *of) {
  const platelag_lag *lag = &of->fit->lag;
  return plag_words(of->arena, "t63 #s opening and #s closing (limit #2 s)",
                    plag_words_estimate(of->arena, &lag->opening_t63_s, 2, "s"),
                    plag_words_estimate(of->arena, &lag->closing_t63_s, 2, "s"),
                    of->spec->t63_limit_s);
}

static const char *free_plates(const matter *of) {
  const char *but = of->facts->two_level
                        ? " An on/off command shows friction only where it stops a full pull."
                        : "";
  const char *unseen = of->fit->travel.scale == PLATELAG_SCALE_SPEC
                           ? ""
                           : " The stops are not given: a shifted sensor or a short end would not "
                             "show.";
  if (of->facts->fact[PLAG_FEATURE_T63].present)
    return plag_words(of->arena, "The plates follow the command: #s.#s#s", lags(of), but, unseen);
  return plag_words(of->arena, "The plates follow the command within the limits.#s#s", but, unseen);
}

static const char *slow(const matter *of) {
  return plag_words(of->arena, "The plates follow without holding, but late: #s.", lags(of));
}

static const platelag_held *longest_held(const platelag_fit *fit) {
  const platelag_held *longest = NULL;
  for (size_t i = 0; i < fit->held_count; i++) {
    const platelag_held *held = &fit->held[i];
    if (longest == NULL || held->to_ns - held->from_ns > longest->to_ns - longest->from_ns)
      longest = held;
  }
  return longest;
}

/* "held 29 times while pulled by 8 % of travel or more, for up to 6.0 s, mostly near 36 % of
 * travel"; "" where they were never held. Where a controller ends each pull before it passes the
 * limit, the climb of its effort tells. */
static const char *held(const matter *of) {
  const platelag_held *longest = longest_held(of->fit);
  const plag_fact *place = &of->facts->fact[PLAG_FEATURE_HELD_PLACE];
  const plag_fact *effort = &of->facts->fact[PLAG_FEATURE_EFFORT];
  const bool beyond = of->facts->held_beyond > 0;
  if (longest == NULL)
    return "";
  return plag_words(
      of->arena, "held #c#s, for up to #1 s#s#s",
      beyond ? of->facts->held_beyond : (double)of->fit->held_count, "time",
      beyond ? plag_words(of->arena, " while pulled by #0 % of travel or more",
                          of->spec->stick_band_limit_pct)
             : "",
      platelag_seconds(longest->to_ns - longest->from_ns),
      place->present && place->value < NEAR_PCT
          ? plag_words(of->arena, ", mostly near #0 % of travel", longest->position_pct)
          : "",
      effort->present && effort->value > 0
          ? plag_words(of->arena, ", while the effort climbed by #0 %", effort->value)
          : "");
}

/* A stick band within its limit is no sticking and is not told. */
static const char *sticking(const matter *of) {
  const platelag_estimate *band = &of->fit->friction.stick_band_pct;
  const char *held_words = held(of);
  const bool wide = band->known != PLATELAG_KNOWN_NOTHING && of->facts->stick_above >= 0.5;
  if (held_words == NULL)
    return NULL;
  if (!wide && held_words[0] == '\0')
    return "The plates stick.";
  return plag_words(of->arena, "The plates stick: #s#s#s.", held_words,
                    wide && held_words[0] != '\0' ? "; " : "",
                    wide ? plag_words(of->arena, "stick band #s (limit #0 %)",
                                      plag_words_estimate(of->arena, band, 1, "% of travel"),
                                      of->spec->stick_band_limit_pct)
                         : "");
}

static const char *short_travel(const matter *of) {
  const plag_facts *facts = of->facts;
  const bool open = -facts->open_error_pct > facts->closed_error_pct;
  return plag_words(of->arena,
                    "The plates move, but the #s end stays #0 % of travel short of its stop (limit "
                    "#0 %).",
                    open ? "open" : "closed",
                    open ? -facts->open_error_pct : facts->closed_error_pct,
                    of->spec->short_travel_limit_pct);
}

/* Where it stands: in volts where no stops are known, for of those a share of travel is one. */
static const char *standing_at(const matter *of) {
  const platelag_travel *travel = &of->fit->travel;
  const double middle_pct = 0.5 * (travel->lowest_pct + travel->highest_pct);
  const double middle_v =
      travel->closed_v + 0.01 * middle_pct * (travel->open_v - travel->closed_v);
  return travel->scale == PLATELAG_SCALE_NOMINAL && isfinite(middle_v)
             ? plag_words(of->arena, "#2 V", middle_v)
             : plag_words(of->arena, "#0 % of travel", middle_pct);
}

static const char *still(const matter *of) {
  const plag_fact *frozen = &of->facts->fact[PLAG_FEATURE_FROZEN_SHARE];
  const double command = of->fit->coverage.command_span_pct;
  if (frozen->present && frozen->value > 0.5)
    return plag_words(
        of->arena,
        "The reading repeats itself to the last digit for #0 % of the record while the "
        "command moves by #0 %.",
        100 * frozen->value, command);
  return plag_words(of->arena, "The position stands at #s while the command moves by #0 %.",
                    standing_at(of), command);
}

static const char *signal_high(const matter *of) {
  const platelag_signal *signal = &of->fit->signal;
  return plag_words(of->arena,
                    "The signal is high: #1 % of reference for #0 % of the record (limit #0 %).",
                    signal->high_level_pct, 100 * signal->high_share, of->spec->high_limit_pct);
}

static const char *signal_low(const matter *of) {
  const platelag_signal *signal = &of->fit->signal;
  return plag_words(of->arena,
                    "The signal is low: #1 % of reference for #0 % of the record (limit #0 %).",
                    signal->low_level_pct, 100 * signal->low_share, of->spec->low_limit_pct);
}

static const char *signal_erratic(const matter *of) {
  const platelag_signal *signal = &of->fit->signal;
  const plag_fact *place = &of->facts->fact[PLAG_FEATURE_VOID_PLACE];
  if (signal->void_count == 0)
    return plag_words(of->arena,
                      "The signal is noisy: #1 % of travel while the plates stand still.",
                      signal->noise_pct);
  return plag_words(
      of->arena, "The signal is erratic: #c it reads what no plate can have made#s.",
      (double)signal->void_count, "time",
      place->present && place->value < NEAR_PCT
          ? plag_words(of->arena, ", mostly near #0 % of travel", signal->void_travel_pct)
          : "");
}

static const char *signal_shifted(const matter *of) {
  return plag_words(of->arena,
                    "The plates follow, but both stops read off: closed by #0 %, open by #0 % of "
                    "travel (limit #0 %).",
                    of->facts->closed_error_pct, of->facts->open_error_pct,
                    of->facts->tolerance_pct);
}

static const char *undecided(const matter *of) {
  if (of->finding->lacking_count > 0)
    return plag_words(of->arena, "Cannot tell: #s.", of->finding->lacking[0]);
  return plag_words(of->arena, "Cannot tell: the record fits both #s and #s.",
                    platelag_finding_name(of->posterior->best),
                    platelag_finding_name(of->posterior->second));
}

/* A second trouble in the same record is told, though it does not lead. */
static const char *with_dropouts(const matter *of, const char *sentence) {
  const platelag_finding_kind kind = of->finding->kind;
  if (sentence == NULL || kind == PLATELAG_FINDING_SIGNAL_ERRATIC ||
      kind == PLATELAG_FINDING_SIGNAL_HIGH || kind == PLATELAG_FINDING_SIGNAL_LOW ||
      of->facts->by_hand || of->fit->signal.dropout_count < PLAG_DROPOUTS_LEAST)
    return sentence;
  return plag_words(of->arena, "#s The signal also dropped out #c.", sentence,
                    (double)of->fit->signal.dropout_count, "time");
}

static const char *with_held(const matter *of, const char *sentence) {
  const platelag_finding_kind kind = of->finding->kind;
  const bool wide = of->fit->friction.stick_band_pct.known != PLATELAG_KNOWN_NOTHING &&
                    of->facts->stick_above >= WIDE_FROM;
  if (sentence == NULL || (of->facts->held_beyond < HELD_LEAST && !wide) ||
      (kind != PLATELAG_FINDING_SIGNAL_ERRATIC && kind != PLATELAG_FINDING_SIGNAL_SHIFTED &&
       kind != PLATELAG_FINDING_SHORT_TRAVEL))
    return sentence;
  if (of->facts->held_beyond >= HELD_LEAST)
    return plag_words(of->arena, "#s The plates also seem to stick: held #c while pulled.",
                      sentence, of->facts->held_beyond, "time");
  return plag_words(
      of->arena, "#s The plates also seem to stick: stick band #s (limit #0 %).", sentence,
      plag_words_estimate(of->arena, &of->fit->friction.stick_band_pct, 1, "% of travel"),
      of->spec->stick_band_limit_pct);
}

/* What the given stops tell beside plates that stick or are late: both off the same way, or one. */
static const char *with_stops(const matter *of, const char *sentence) {
  const plag_facts *facts = of->facts;
  const platelag_finding_kind kind = of->finding->kind;
  const double closed = facts->closed_error_pct;
  const double open = facts->open_error_pct;
  if (sentence == NULL || of->fit->travel.scale != PLATELAG_SCALE_SPEC || !isfinite(closed) ||
      !isfinite(open) || (kind != PLATELAG_FINDING_STICKING && kind != PLATELAG_FINDING_SLOW))
    return sentence;
  if (closed * open > 0 && fmin(fabs(closed), fabs(open)) >= OFF_SHARE * facts->tolerance_pct)
    return plag_words(of->arena,
                      "#s Both stops also read off: closed by #0 %, open by #0 % of travel.",
                      sentence, closed, open);
  if (fmax(closed, -open) < of->spec->short_travel_limit_pct)
    return sentence;
  return plag_words(of->arena, "#s The #s end also stays #0 % of travel short of its stop.",
                    sentence, -open > closed ? "open" : "closed", fmax(closed, -open));
}

const char *plag_sentence_compose(const platelag_finding *finding, const platelag_fit *fit,
                                  const platelag_valve_spec *spec, const plag_facts *facts,
                                  const plag_posterior *posterior, plag_arena *arena) {
  static const char *(*const say[PLATELAG_FINDING_COUNT])(const matter *) = {
      [PLATELAG_FINDING_FREE] = free_plates,
      [PLATELAG_FINDING_SLOW] = slow,
      [PLATELAG_FINDING_STICKING] = sticking,
      [PLATELAG_FINDING_SHORT_TRAVEL] = short_travel,
      [PLATELAG_FINDING_STILL] = still,
      [PLATELAG_FINDING_SIGNAL_HIGH] = signal_high,
      [PLATELAG_FINDING_SIGNAL_LOW] = signal_low,
      [PLATELAG_FINDING_SIGNAL_ERRATIC] = signal_erratic,
      [PLATELAG_FINDING_SIGNAL_SHIFTED] = signal_shifted,
      [PLATELAG_FINDING_UNDECIDED] = undecided,
  };
  const matter of = {finding, fit, spec, facts, posterior, arena};
  return with_stops(&of, with_held(&of, with_dropouts(&of, say[finding->kind](&of))));
}

const char *plag_sentence_doubt(const platelag_finding *finding, const platelag_fit *fit) {
  const bool undecided = finding->family == PLATELAG_FAMILY_UNDECIDED;
  if (finding->kind == PLATELAG_FINDING_STILL && undecided)
    return " Seized plates, no drive or a frozen signal: this alone does not tell them apart.";
  if (finding->kind != PLATELAG_FINDING_SIGNAL_HIGH ||
      (!undecided && finding->probability[finding->family] >= SURE_FROM))
    return "";
  return fit->signal.high_level_pct >= PLAG_PINNED_PCT
             ? " An open or shorted wire is likelier, plates jammed past their open stop are not "
               "excluded."
             : " Plates jammed past their open stop are likelier, a wire is not excluded.";
}
