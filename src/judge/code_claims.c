/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is claimed of the signal, the plates and their control. */
#include "judge/code_claims.h"

#include <math.h>

#include "judge/checks.h"
#include "judge/words.h"

/* Settled this near a stop counts as standing at it, % of travel. */
#define AT_STOP_PCT 20.0

#define NOTHING                                                                                    \
  { .at_s = NAN, .value = NAN, .limit = NAN, .unit = "" }

plag_code_answer plag_code_claims_unknown(const char *basis) {
  plag_code_answer answer = NOTHING;
  answer.verdict = PLATELAG_CODE_CANNOT_TELL;
  answer.basis = basis;
  return answer;
}

static plag_code_answer supported(double at_s, const char *basis) {
  plag_code_answer answer = plag_code_claims_unknown(basis);
  answer.verdict = PLATELAG_CODE_SUPPORTED;
  answer.at_s = at_s;
  return answer;
}

static plag_code_answer contradicted(const char *basis) {
  plag_code_answer answer = plag_code_claims_unknown(basis);
  answer.verdict = PLATELAG_CODE_CONTRADICTED;
  return answer;
}

static plag_code_answer with_figure(plag_code_answer answer, double value, double limit,
                                    const char *unit) {
  answer.value = value;
  answer.limit = limit;
  answer.unit = unit;
  return answer;
}

/* A travel as a share of the reference, %; NaN where volts are hidden. */
static double reference_pct(const plag_code_record *at, double travel_pct) {
  const platelag_travel *travel = &at->fit->travel;
  const double volts = travel->closed_v + 0.01 * travel_pct * (travel->open_v - travel->closed_v);
  return 100.0 * volts / at->spec->reference_v;
}

static const char *const rails_hidden =
    "recorded in % open, which hides the limits of the signal; measure it";

static plag_code_answer high(const plag_code_record *at) {
  const platelag_signal *signal = &at->fit->signal;
  const double limit = at->spec->high_limit_pct;
  if (!signal->rails_visible)
    return plag_code_claims_unknown(rails_hidden);
  if (signal->first_high_ns >= 0)
    return with_figure(
        supported(platelag_seconds(signal->first_high_ns),
                  plag_words(at->arena, "at or above #0 % of reference for #1 s at the longest",
                             limit, signal->longest_high_s)),
        signal->high_level_pct, limit, "% of reference");
  const double highest = fmax(reference_pct(at, at->fit->travel.highest_pct),
                              reference_pct(at, at->fit->travel.lowest_pct));
  return with_figure(
      contradicted(plag_words(at->arena, "never at or above #0 % of reference for #1 s", limit,
                              at->spec->hold_time_s)),
      highest, limit, "% of reference");
}

static plag_code_answer low(const plag_code_record *at) {
  const platelag_signal *signal = &at->fit->signal;
  const double limit = at->spec->low_limit_pct;
  if (!signal->rails_visible)
    return plag_code_claims_unknown(rails_hidden);
  if (signal->first_low_ns >= 0)
    return with_figure(
        supported(platelag_seconds(signal->first_low_ns),
                  plag_words(at->arena, "at or below #0 % of reference for #1 s at the longest",
                             limit, signal->longest_low_s)),
        signal->low_level_pct, limit, "% of reference");
  const double lowest = fmin(reference_pct(at, at->fit->travel.highest_pct),
                             reference_pct(at, at->fit->travel.lowest_pct));
  return with_figure(
      contradicted(plag_words(at->arena, "never at or below #0 % of reference for #1 s", limit,
                              at->spec->hold_time_s)),
      lowest, limit, "% of reference");
}

static plag_code_answer circuit(const plag_code_record *at) {
  const plag_code_answer above = high(at);
  return above.verdict == PLATELAG_CODE_SUPPORTED || above.basis == NULL ? above : low(at);
}

/* What comes and goes need not come while a recorder runs. */
static plag_code_answer intermittent(const plag_code_record *at) {
  const platelag_signal *signal = &at->fit->signal;
  const double seen = (double)signal->dropout_count;
  if (at->facts->railed)
    return plag_code_claims_unknown("past a limit for most of the record: nothing comes and goes");
  double at_s = NAN;
  size_t spans = 0;
  for (size_t i = 0; i < at->fit->span_count && spans < PLAG_DROPOUTS_LEAST; i++)
    if (platelag_mode_is_void(at->fit->span[i].mode) && ++spans == PLAG_DROPOUTS_LEAST)
      at_s = platelag_seconds(at->fit->span[i].from_ns);
  const bool met = signal->dropout_count >= PLAG_DROPOUTS_LEAST;
  const char *basis = plag_words(at->arena,
                                 met ? "#c; #0 or more count"
                                     : "#c, of which #0 count; record while the loom is moved",
                                 seen, "dropout", (double)PLAG_DROPOUTS_LEAST);
  return with_figure(met ? supported(at_s, basis) : plag_code_claims_unknown(basis), seen,
                     PLAG_DROPOUTS_LEAST, "dropouts");
}

/* The first command change that was not answered as it should, or the first held interval. */
static double first_poor_answer_s(const plag_code_record *at) {
  int64_t first = INT64_MAX;
  for (size_t i = 0; i < at->fit->held_count; i++)
    if (fabs(at->fit->held[i].pull_pct) >= at->spec->stick_band_limit_pct) {
      first = at->fit->held[i].from_ns;
      break;
    }
  for (size_t i = 0; i < at->fit->step_count; i++) {
    const platelag_step *step = &at->fit->step[i];
    const bool poor = step->end == PLATELAG_STEP_STUCK || step->end == PLATELAG_STEP_NO_MOVE ||
                      step->t63_s > at->spec->t63_limit_s ||
                      fabs(step->rest_error_pct) > at->spec->short_travel_limit_pct;
    if (poor && step->at_ns < first)
      first = step->at_ns;
  }
  return first == INT64_MAX ? 0 : platelag_seconds(first);
}

/* The slower t63 or the most that it can be; NaN. */
static double slower_t63_s(const platelag_fit *fit) {
  const platelag_estimate *slower = plag_facts_slower(&fit->lag);
  if (slower == NULL)
    return NAN;
  return slower->known == PLATELAG_KNOWN_VALUE ? slower->value : slower->high;
}

static plag_code_answer by_t63(const plag_code_record *at, plag_code_answer answer) {
  return with_figure(answer, slower_t63_s(at->fit), at->spec->t63_limit_s, "s");
}

static plag_code_answer poor_answer(const plag_code_record *at) {
  const plag_facts *facts = at->facts;
  plag_code_answer answer =
      supported(first_poor_answer_s(at), "the position does not follow the command as it should");
  switch (at->seen) {
  case PLATELAG_FINDING_STICKING:
    return with_figure(answer, facts->held_beyond, NAN, "times");
  case PLATELAG_FINDING_SHORT_TRAVEL:
    return with_figure(answer, fmax(facts->closed_error_pct, -facts->open_error_pct),
                       at->spec->short_travel_limit_pct, "% of travel");
  case PLATELAG_FINDING_STILL:
    return with_figure(answer, 100 * facts->fact[PLAG_FEATURE_MOVED].value, NAN,
                       "% of the travel asked for");
  default:
    return by_t63(at, answer);
  }
}

static plag_code_answer performance(const plag_code_record *at) {
  switch (at->seen) {
  case PLATELAG_FINDING_SLOW:
  case PLATELAG_FINDING_STICKING:
  case PLATELAG_FINDING_SHORT_TRAVEL:
  case PLATELAG_FINDING_STILL:
    return poor_answer(at);
  case PLATELAG_FINDING_FREE:
    return by_t63(at, contradicted("the plates follow the command within the limits"));
  default:
    return plag_code_claims_unknown("no poor answer to the command was established");
  }
}

/* A sensor's range or performance code compares the reading with the command: plates that stick
 * set it as well as a shifted sensor. */
static plag_code_answer sensor_performance(const plag_code_record *at) {
  const plag_fact *stops = &at->facts->fact[PLAG_FEATURE_STOPS];
  if (at->seen == PLATELAG_FINDING_SIGNAL_SHIFTED)
    return with_figure(supported(first_poor_answer_s(at), "both stops read off"), stops->value,
                       stops->limit, "% of travel");
  plag_code_answer answer = performance(at);
  if (answer.verdict == PLATELAG_CODE_SUPPORTED)
    answer.basis = "plates that do not follow set this code as well as a sensor";
  if (answer.verdict != PLATELAG_CODE_CONTRADICTED)
    return answer;
  if (!stops->present)
    return plag_code_claims_unknown("the plates follow, but where the stops should read is not "
                                    "given: a shifted sensor would not show");
  return with_figure(contradicted("the plates follow, and the stops read where they should"),
                     stops->value, stops->limit, "% of travel");
}

static plag_code_answer stuck_at(const plag_code_record *at, double stop_pct, const char *name) {
  const platelag_travel *travel = &at->fit->travel;
  const double where = 0.5 * (travel->lowest_pct + travel->highest_pct);
  if (at->facts->railed)
    return plag_code_claims_unknown("the signal is past a limit and hides where the plates are");
  if (!at->facts->commanded)
    return plag_code_claims_unknown("the command did not move");
  if (at->facts->moved)
    return with_figure(
        contradicted(plag_words(at->arena, "the plates were not seen to stay #s", name)),
        travel->highest_pct - travel->lowest_pct, NAN, "% of travel moved");
  if (at->seen != PLATELAG_FINDING_STILL || travel->scale == PLATELAG_SCALE_NOMINAL)
    return plag_code_claims_unknown(
        plag_words(at->arena,
                   "the position does not move, but whether it is #s is not known; give "
                   "the readings at the stops",
                   name));
  const char *basis = plag_words(at->arena, "stands at #0 % of travel whatever the command", where);
  return with_figure(fabs(where - stop_pct) <= AT_STOP_PCT
                         ? supported(first_poor_answer_s(at), basis)
                         : contradicted(basis),
                     where, stop_pct, "% of travel");
}

static plag_code_answer stuck_open(const plag_code_record *at) {
  return stuck_at(at, 100, "open");
}
static plag_code_answer stuck_closed(const plag_code_record *at) {
  return stuck_at(at, 0, "closed");
}

/* Plates that answer are driven. */
static bool answers(const plag_code_record *at) {
  return at->facts->commanded && at->facts->moved && !at->facts->railed;
}

static plag_code_answer control_circuit(const plag_code_record *at) {
  const plag_fact *current = &at->facts->fact[PLAG_FEATURE_CURRENT];
  if (answers(at))
    return with_figure(contradicted("the position answers the command: the actuator is driven"),
                       100 * at->facts->fact[PLAG_FEATURE_MOVED].value, NAN,
                       "% of the travel asked for");
  if (!current->present)
    return plag_code_claims_unknown("the actuator current was not recorded");
  const char *basis =
      plag_words(at->arena, "actuator current #2 A while commanded", current->value);
  if (current->value > current->limit)
    return with_figure(contradicted(basis), current->value, current->limit, "A");
  return with_figure(at->facts->commanded ? supported(0, basis) : plag_code_claims_unknown(basis),
                     current->value, current->limit, "A");
}

/* Shorted either way: only the voltage of the control wire would show it. */
static plag_code_answer control_shorted(const plag_code_record *at) {
  const plag_code_answer answer = control_circuit(at);
  if (answers(at) || answer.basis == NULL)
    return answer;
  return plag_code_claims_unknown("the voltage of the control wire was not recorded; measure it");
}

plag_code_answer plag_code_claims_ask(plag_claim claim, const plag_code_record *at) {
  static plag_code_answer (*const ask[PLAG_CLAIM_COUNT])(const plag_code_record *) = {
      [PLAG_CLAIM_STUCK_OPEN] = stuck_open,
      [PLAG_CLAIM_STUCK_CLOSED] = stuck_closed,
      [PLAG_CLAIM_CONTROL_CIRCUIT] = control_circuit,
      [PLAG_CLAIM_CONTROL_SHORTED] = control_shorted,
      [PLAG_CLAIM_PERFORMANCE] = performance,
      [PLAG_CLAIM_SENSOR_CIRCUIT] = circuit,
      [PLAG_CLAIM_SENSOR_PERFORMANCE] = sensor_performance,
      [PLAG_CLAIM_SENSOR_LOW] = low,
      [PLAG_CLAIM_SENSOR_HIGH] = high,
      [PLAG_CLAIM_SENSOR_INTERMITTENT] = intermittent,
      [PLAG_CLAIM_REFERENCE] = plag_code_voltages_reference,
      [PLAG_CLAIM_REFERENCE_LOW] = plag_code_voltages_reference_low,
      [PLAG_CLAIM_REFERENCE_HIGH] = plag_code_voltages_reference_high,
      [PLAG_CLAIM_SUPPLY] = plag_code_voltages_supply,
      [PLAG_CLAIM_SUPPLY_LOW] = plag_code_voltages_supply_low,
      [PLAG_CLAIM_SUPPLY_HIGH] = plag_code_voltages_supply_high,
  };
  return ask[claim](at);
}
