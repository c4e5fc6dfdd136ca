/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is claimed of the sensor's reference and the actuator's supply. A channel is out where it
 * stays past its limit for the hold time; a meter reading is out where it is. */
#include <math.h>

#include "judge/checks.h"
#include "judge/code_claims.h"
#include "judge/words.h"

/* A voltage as recorded and as measured, held against one limit. */
typedef struct look {
  bool recorded;
  double furthest_v; /* the recorded reading that lies furthest beyond, or nearest to, the limit */
  double longest_s;  /* beyond it */
  double at_s;       /* when the hold time was first full; NaN */
  double meter_v;    /* NaN */
} look;

/* The reading furthest one way (1 or -1); that much the other way where there is none. */
static double furthest(const platelag_channel *channel, double way) {
  double extreme = -INFINITY;
  for (size_t i = 0; i < channel->count; i++) {
    const double along = way * channel->value[i];
    if (along > extreme && along < INFINITY)
      extreme = along;
  }
  return way * extreme;
}

/* Walks a channel; `way` is 1 where above the limit is out, -1 where below. */
static look look_at(const platelag_channel *channel, double meter_v, double limit_v, double way,
                    double hold_time_s) {
  look found = {.furthest_v = -way * INFINITY, .at_s = NAN, .meter_v = meter_v};
  if (channel == NULL)
    return found;
  found.furthest_v = furthest(channel, way);
  found.recorded = isfinite(found.furthest_v);
  if (!(way * (found.furthest_v - limit_v) > 0))
    return found; /* never beyond it */
  int64_t since_ns = -1;
  for (size_t i = 0; i < channel->count; i++) {
    const double volts = channel->value[i];
    if (!isfinite(volts))
      continue;
    if (!(way * (volts - limit_v) > 0)) {
      since_ns = -1;
      continue;
    }
    if (since_ns < 0)
      since_ns = channel->time_ns[i];
    const double lasted_s = platelag_seconds(channel->time_ns[i] - since_ns);
    found.longest_s = fmax(found.longest_s, lasted_s);
    if (isnan(found.at_s) && lasted_s > 0 && lasted_s >= hold_time_s)
      found.at_s = platelag_seconds(channel->time_ns[i]);
  }
  return found;
}

/* A channel of this role in volts; NULL. */
static const platelag_channel *volts_of(const plag_code_record *at, platelag_role role) {
  const platelag_channel *channel = at->trace->auxiliary[role];
  return channel != NULL && channel->unit == PLATELAG_UNIT_VOLT ? channel : NULL;
}

/* Words of one voltage. */
typedef struct wording {
  const char *name;   /* "the sensor reference" */
  const char *absent; /* what is told where it was neither recorded nor measured */
} wording;

static plag_code_answer past(const plag_code_record *at, const look *found, double limit_v,
                             double way, const wording *words) {
  const char *beyond = way > 0 ? "above" : "below";
  const char *reached = way > 0 ? "up to" : "down to";
  plag_code_answer answer = plag_code_claims_unknown(words->absent);
  answer.limit = limit_v;
  answer.unit = "V";
  const bool meter_out = way * (found->meter_v - limit_v) > 0; /* NaN: no */
  if (meter_out || (isfinite(found->meter_v) && !found->recorded)) {
    answer.verdict = meter_out ? PLATELAG_CODE_SUPPORTED : PLATELAG_CODE_CONTRADICTED;
    answer.value = found->meter_v;
    answer.basis = plag_words(at->arena, "#s measures #2 V (limit #2 V)", words->name,
                              found->meter_v, limit_v);
    return answer;
  }
  if (!found->recorded)
    return plag_code_claims_unknown(words->absent);
  answer.value = found->furthest_v;
  if (isfinite(found->at_s)) {
    answer.verdict = PLATELAG_CODE_SUPPORTED;
    answer.at_s = found->at_s;
    answer.basis =
        plag_words(at->arena, "#s goes #s #2 V, #s #2 V for #1 s at the longest", words->name,
                   reached, found->furthest_v, beyond, limit_v, found->longest_s);
    return answer;
  }
  if (way * (found->furthest_v - limit_v) > 0) {
    answer.basis = plag_words(at->arena, "#s goes #s #2 V, but not for the hold time of #1 s",
                              words->name, reached, found->furthest_v, at->spec->hold_time_s);
    return answer;
  }
  answer.verdict = PLATELAG_CODE_CONTRADICTED;
  answer.basis = plag_words(at->arena, "#s is never #s #2 V, the #s reading is #2 V", words->name,
                            beyond, limit_v, way > 0 ? "highest" : "lowest", found->furthest_v);
  return answer;
}

/* A circuit is open or shorted where either limit is passed, and sound where neither is. */
static plag_code_answer either(plag_code_answer low, plag_code_answer high) {
  if (low.verdict == PLATELAG_CODE_SUPPORTED || low.basis == NULL)
    return low;
  if (high.verdict == PLATELAG_CODE_SUPPORTED || high.basis == NULL)
    return high;
  return high.verdict == PLATELAG_CODE_CANNOT_TELL ? high : low;
}

static plag_code_answer reference_past(const plag_code_record *at, double way) {
  static const wording words = {
      "the sensor reference",
      "the sensor reference was not recorded; measure it at the sensor's connector"};
  const double limit_v = at->spec->reference_v * (1 + way * PLAG_REFERENCE_LIMIT_SHARE);
  const look found = look_at(volts_of(at, PLATELAG_ROLE_SENSOR_REFERENCE), at->meter.reference_v,
                             limit_v, way, at->spec->hold_time_s);
  plag_code_answer answer = past(at, &found, limit_v, way, &words);
  if (answer.verdict == PLATELAG_CODE_SUPPORTED && answer.basis != NULL)
    answer.basis = plag_words(at->arena,
                              "#s; which of references A and B feeds it, the service information "
                              "tells",
                              answer.basis);
  return answer;
}

plag_code_answer plag_code_voltages_reference_low(const plag_code_record *at) {
  return reference_past(at, -1);
}

plag_code_answer plag_code_voltages_reference_high(const plag_code_record *at) {
  return reference_past(at, 1);
}

plag_code_answer plag_code_voltages_reference(const plag_code_record *at) {
  return either(reference_past(at, -1), reference_past(at, 1));
}

/* An actuator gets no more than the battery has: a battery that is out takes its supply along, one
 * that is not says nothing. */
static plag_code_answer by_battery(const plag_code_record *at, double limit_v, double way) {
  static const wording words = {"the battery", "the actuator's supply was not recorded; measure it "
                                               "at its connector"};
  const look found = look_at(volts_of(at, PLATELAG_ROLE_BATTERY_VOLTAGE), NAN, limit_v, way,
                             at->spec->hold_time_s);
  plag_code_answer answer = past(at, &found, limit_v, way, &words);
  if (answer.verdict == PLATELAG_CODE_SUPPORTED) {
    answer.indirect = true;
    return answer;
  }
  return answer.basis == NULL ? answer : plag_code_claims_unknown(words.absent);
}

static plag_code_answer supply_past(const plag_code_record *at, double way) {
  static const wording words = {"the actuator's supply", ""};
  const double limit_v = way > 0 ? PLAG_SUPPLY_HIGH_V : PLAG_SUPPLY_LOW_V;
  const platelag_channel *own = volts_of(at, PLATELAG_ROLE_ACTUATOR_SUPPLY);
  if (own == NULL && isnan(at->meter.supply_v))
    return by_battery(at, limit_v, way);
  const look found = look_at(own, at->meter.supply_v, limit_v, way, at->spec->hold_time_s);
  return past(at, &found, limit_v, way, &words);
}

plag_code_answer plag_code_voltages_supply_low(const plag_code_record *at) {
  return supply_past(at, -1);
}

plag_code_answer plag_code_voltages_supply_high(const plag_code_record *at) {
  return supply_past(at, 1);
}

/* An open supply shows as a voltage that is not there, or as an actuator that draws nothing though
 * it is commanded; the wire that controls it may be open as well. */
plag_code_answer plag_code_voltages_supply(const plag_code_record *at) {
  const plag_code_answer by_volts = either(supply_past(at, -1), supply_past(at, 1));
  if (by_volts.verdict != PLATELAG_CODE_CANNOT_TELL || by_volts.basis == NULL)
    return by_volts;
  plag_code_answer by_current = plag_code_claims_ask(PLAG_CLAIM_CONTROL_CIRCUIT, at);
  if (by_current.verdict == PLATELAG_CODE_CANNOT_TELL && by_current.basis != NULL)
    return by_volts;
  by_current.indirect = true;
  if (by_current.verdict == PLATELAG_CODE_SUPPORTED && by_current.basis != NULL)
    by_current.basis =
        plag_words(at->arena, "#s; an open control wire shows the same", by_current.basis);
  return by_current;
}
