/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/sentence.h"

#include <math.h>

#include "judge/checks.h"
#include "judge/words.h"

typedef struct matter {
  const platelag_finding *finding;
  const platelag_fit *fit;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
  const plag_posterior *posterior;
  plag_arena *arena;
} matter;

/* "0.23 s", "at most 0.41 s", "0.30 to 0.52 s", "not measured". */
static const char *figure(const matter *of, const platelag_estimate *estimate, int decimals,
                          const char *unit) {
  static const char *const value[] = {"#0 #s", "#1 #s", "#2 #s"};
  static const char *const most[] = {"at most #0 #s", "at most #1 #s", "at most #2 #s"};
  static const char *const least[] = {"at least #0 #s", "at least #1 #s", "at least #2 #s"};
  static const char *const range[] = {"#0 to #0 #s", "#1 to #1 #s", "#2 to #2 #s"};
  switch (estimate->known) {
  case PLATELAG_KNOWN_VALUE:
    return plag_words(of->arena, value[decimals], estimate->value, unit);
  case PLATELAG_KNOWN_UPPER_LIMIT:
    return plag_words(of->arena, most[decimals], estimate->high, unit);
  case PLATELAG_KNOWN_LOWER_LIMIT:
    return plag_words(of->arena, least[decimals], estimate->low, unit);
  case PLATELAG_KNOWN_BRACKET:
    return isfinite(estimate->high)
               ? plag_words(of->arena, range[decimals], estimate->low, estimate->high, unit)
               : plag_words(of->arena, least[decimals], estimate->low, unit);
  case PLATELAG_KNOWN_NOTHING:
    break;
  }
  return "not measured";
}

static const char *lags(const matter *of) {
  const char *opening = figure(of, &of->fit->lag.opening_t63_s, 2, "s");
  const char *closing = figure(of, &of->fit->lag.closing_t63_s, 2, "s");
  if (opening == NULL || closing == NULL)
    return NULL;
  return plag_words(of->arena, "opening t63 #s, closing t63 #s (limit #2 s)", opening, closing,
                    of->spec->t63_limit_s);
}

static const char *free_plates(const matter *of) {
  const char *timed = lags(of);
  const char *but = of->facts->two_level
                        ? " An on/off command shows friction only where it stops a full pull."
                        : "";
  if (timed == NULL || of->facts->fact[PLAG_FEATURE_T63].present)
    return timed == NULL
               ? NULL
               : plag_words(of->arena, "The plates follow the command: #s.#s", timed, but);
  return plag_words(of->arena, "The plates follow the command within the limits.#s", but);
}

static const char *slow(const matter *of) {
  const char *timed = lags(of);
  return timed == NULL
             ? NULL
             : plag_words(of->arena, "The plates follow without holding, but late: #s.", timed);
}

static const char *sticking(const matter *of) {
  const char *band = figure(of, &of->fit->friction.stick_band_pct, 1, "% of travel");
  if (band == NULL)
    return NULL;
  const plag_fact *place = &of->facts->fact[PLAG_FEATURE_HELD_PLACE];
  const platelag_held *longest = NULL;
  for (size_t i = 0; i < of->fit->held_count; i++) {
    const platelag_held *held = &of->fit->held[i];
    if (longest == NULL || held->to_ns - held->from_ns > longest->to_ns - longest->from_ns)
      longest = held;
  }
  if (longest == NULL)
    return plag_words(of->arena, "The plates stick: stick band #s (limit #0 %).", band,
                      of->spec->stick_band_limit_pct);
  return plag_words(
      of->arena,
      "The plates stick: #0 held interval#s#s, the longest #1 s, stick band #s (limit #0 %).",
      (double)of->fit->held_count, of->fit->held_count == 1 ? "" : "s",
      place->present && place->value < 6
          ? plag_words(of->arena, ", most near #0 % of travel", longest->position_pct)
          : "",
      platelag_seconds(longest->to_ns - longest->from_ns), band, of->spec->stick_band_limit_pct);
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

static const char *still(const matter *of) {
  return plag_words(of->arena,
                    "The position stands at #0 % of travel while the command moves by #0 %#s.",
                    0.5 * (of->fit->travel.lowest_pct + of->fit->travel.highest_pct),
                    of->fit->coverage.command_span_pct,
                    of->finding->family == PLATELAG_FAMILY_UNDECIDED
                        ? ": seized plates, no drive or a frozen signal, which this record alone "
                          "does not tell apart"
                        : "");
}

static const char *signal_high(const matter *of) {
  const platelag_signal *signal = &of->fit->signal;
  return plag_words(of->arena,
                    "The signal is high: #1 % of reference for #0 % of the record (limit #0 %)#s.",
                    signal->high_level_pct, 100 * signal->high_share, of->spec->high_limit_pct,
                    of->finding->family == PLATELAG_FAMILY_UNDECIDED ||
                            of->finding->probability[of->finding->family] < 0.9
                        ? signal->high_level_pct >= PLAG_PINNED_PCT
                              ? "; an open or shorted wire is likelier, plates jammed past their "
                                "open stop are not excluded"
                              : "; plates jammed past their open stop are likely, a wire is not "
                                "excluded"
                        : "");
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
      of->arena, "The signal is erratic: #0 #s that no plate can have made#s.",
      (double)signal->void_count,
      signal->void_count == 1 ? "reading or stretch" : "readings or stretches",
      place->present && place->value < 6
          ? plag_words(of->arena, ", most near #0 % of travel", signal->void_travel_pct)
          : "");
}

static const char *signal_shifted(const matter *of) {
  return plag_words(of->arena,
                    "The valve follows, but both stops read off: closed by #0 %, open by #0 % of "
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
      of->fit->signal.dropout_count < PLAG_DROPOUTS_LEAST)
    return sentence;
  return plag_words(of->arena, "#s The signal also dropped out #0 times.", sentence,
                    (double)of->fit->signal.dropout_count);
}

static const char *with_held(const matter *of, const char *sentence) {
  if (sentence == NULL || of->finding->kind != PLATELAG_FINDING_SIGNAL_ERRATIC ||
      of->facts->held_beyond < 3)
    return sentence;
  return plag_words(of->arena, "#s The plates also seem to stick: #0 held intervals.", sentence,
                    of->facts->held_beyond);
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
  return with_held(&of, with_dropouts(&of, say[finding->kind](&of)));
}
