/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/faults.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"

/* The faults of a mixture behind the dominant one are this much less severe. */
#define FURTHER_SHARE 0.5

/* At severity 0 every fault is just not there or barely so; at 1 it is as bad as it gets. */

static void apply_none(plag_valve_parts *parts, const plag_spoiling *by) {
  (void)parts, (void)by;
}

static double draw(const plag_spoiling *by, plag_range range) {
  return plag_random_between(by->random, range.low, range.high);
}

/* Gummed bearings: viscous, no holding. t63 grows to 0.4 + 1.6 s times the severity. */
static void apply_slow(plag_valve_parts *parts, const plag_spoiling *by) {
  plag_plant_parts *plant = &parts->plant;
  const double lag_s = 0.25 + 1.7 * by->severity * plag_random_between(by->random, 0.85, 1.15);
  plant->viscous_opening_nm_s = plant->spring_rate_nm_per_rad * lag_s;
  plant->viscous_closing_nm_s =
      plant->viscous_opening_nm_s * plag_random_between(by->random, 0.85, 1.2);
}

/* Carbon all along the shaft: a stick band of 4 to 30 % of travel, a third to two thirds of it
 * given back in a jump; eases with heat. */
static void apply_sticking(plag_valve_parts *parts, const plag_spoiling *by) {
  plag_plant_parts *plant = &parts->plant;
  const double span_nm = plag_plant_span_nm(plant);
  const double band = 0.04 + 0.26 * by->severity * plag_random_between(by->random, 0.9, 1.1);
  const double jump = band * draw(by, by->setting->jump_share);
  plant->static_nm = span_nm * (band + jump) / 2;
  plant->coulomb_nm = span_nm * (band - jump) / 2;
  plant->cold_per_degree = draw(by, by->setting->cold_per_degree);
}

/* A ring of carbon at one place: plates hang there and nowhere else. */
static void apply_ridge(plag_valve_parts *parts, const plag_spoiling *by) {
  plag_plant_parts *plant = &parts->plant;
  plant->ridge_at = draw(by, by->setting->ridge_at);
  plant->ridge_half_width = draw(by, by->setting->ridge_half_width);
  plant->ridge_nm = plag_plant_span_nm(plant) * (0.06 + 0.34 * by->severity);
}

/* A deposit before one stop. */
static void apply_short_travel(plag_valve_parts *parts, const plag_spoiling *by) {
  const double lost = (0.06 + 0.40 * by->severity) * plag_random_between(by->random, 0.95, 1.05);
  if (plag_random_chance(by->random, 0.5))
    parts->plant.closed_stop = lost;
  else
    parts->plant.open_stop = 1 - lost;
}

/* Plates wedged at `place`; a hair of play stays. */
static void wedge(plag_plant_parts *plant, double place) {
  plant->closed_stop = place - 0.001;
  plant->open_stop = place + 0.001;
}

static void apply_jam_inside(plag_valve_parts *parts, const plag_spoiling *by) {
  wedge(&parts->plant, plag_random_between(by->random, 0.15, 0.9));
}

/* Plates turned past the worn open stop and wedged there: the track still reads. (With an inverted
 * sensor it is the closed stop that reads high.) */
static void apply_jam_past_stop(plag_valve_parts *parts, const plag_spoiling *by) {
  const double share = 0.905 + 0.05 * by->severity * plag_random_between(by->random, 0.9, 1.1);
  const double volts = parts->line.reference_v * fmin(share, 0.958);
  wedge(&parts->plant,
        (volts - parts->line.closed_v) / (parts->line.open_v - parts->line.closed_v));
}

static void apply_no_drive(plag_valve_parts *parts, const plag_spoiling *by) {
  (void)by;
  parts->plant.drive_gain = 0;
}

/* Corroded terminals or a leaking diaphragm: part of the torque is missing. */
static void apply_weak_drive(plag_valve_parts *parts, const plag_spoiling *by) {
  parts->plant.drive_gain =
      1 - (0.15 + 0.45 * by->severity) * plag_random_between(by->random, 0.95, 1.05);
}

/* A circuit fault is there from a moment on; the worse, the earlier. */
static double onset_s(const plag_spoiling *by) {
  return by->severity >= 0.9
             ? 0
             : by->duration_s * (1 - by->severity) * plag_random_between(by->random, 0.2, 0.6);
}

static void pin(plag_valve_parts *parts, double share, double from_s) {
  parts->line.pinned_v = share * parts->line.reference_v;
  parts->line.pinned_from_s = from_s;
}

static void apply_open_wire(plag_valve_parts *parts, const plag_spoiling *by) {
  pin(parts, plag_random_between(by->random, 0.965, 0.992), onset_s(by));
}

static void apply_short_to_reference(plag_valve_parts *parts, const plag_spoiling *by) {
  pin(parts, 1, onset_s(by));
}

static void apply_short_to_ground(plag_valve_parts *parts, const plag_spoiling *by) {
  pin(parts, plag_random_between(by->random, 0, 0.008), onset_s(by));
}

/* A terminal that loses contact: up to one loss a second, of up to 0.9 s. */
static void apply_dropouts(plag_valve_parts *parts, const plag_spoiling *by) {
  parts->line.dropout_per_s = 0.03 + 0.5 * by->severity * plag_random_between(by->random, 0.8, 1.2);
  parts->line.dropout_longest_s = draw(by, by->setting->dropout_longest_s);
}

/* A patch of the track where the wiper loses contact. */
static void apply_worn_spot(plag_valve_parts *parts, const plag_spoiling *by) {
  plag_line_parts *line = &parts->line;
  line->worn_at_v =
      line->closed_v + (line->open_v - line->closed_v) * plag_random_between(by->random, 0.2, 0.8);
  line->worn_half_width_v = fabs(line->open_v - line->closed_v) * (0.02 + 0.06 * by->severity);
  line->worn_chance = 0.45 + 0.45 * by->severity;
}

static void apply_frozen_signal(plag_valve_parts *parts, const plag_spoiling *by) {
  /* Never at the very first reading, which may be anywhere the plates then are. */
  parts->line.frozen_from_s = 0.5 + onset_s(by);
}

static void apply_shifted(plag_valve_parts *parts, const plag_spoiling *by) {
  const double volts = (0.15 + 0.95 * by->severity) * plag_random_between(by->random, 0.95, 1.05);
  /* Up or down, but never past a rail: that would be a signal high or low. */
  const plag_line_parts *line = &parts->line;
  const double room_up = 0.88 * line->reference_v - fmax(line->open_v, line->closed_v);
  const double room_down = fmin(line->open_v, line->closed_v) - 0.08 * line->reference_v;
  if (plag_random_chance(by->random, 0.5))
    parts->line.offset_v = fmin(volts, room_up);
  else
    parts->line.offset_v = -fmin(volts, room_down);
}

/* The sensor drifts as it warms: from three fifths of the shift to seven fifths over the record. */
static void apply_drift(plag_valve_parts *parts, const plag_spoiling *by) {
  apply_shifted(parts, by);
  const double volts = parts->line.offset_v / 1.4; /* the most stays within the rails */
  parts->line.offset_v = 0.6 * volts;
  parts->line.drift_v_per_s = 0.8 * volts / by->duration_s;
}

static void apply_span_scaled(plag_valve_parts *parts, const plag_spoiling *by) {
  parts->line.gain = 1 - (0.08 + 0.30 * by->severity) * plag_random_between(by->random, 0.95, 1.05);
}

/* Another sensor on the same supply shorts now and then: every 5 V channel sags. */
static void apply_reference_sag(plag_valve_parts *parts, const plag_spoiling *by) {
  parts->line.sag_per_s = draw(by, by->setting->sag_per_s);
  parts->line.sag_longest_s = 2 + 8 * by->severity;
  parts->line.sag_to_v = parts->line.reference_v * (0.92 - 0.4 * by->severity);
}

static void apply_noise(plag_valve_parts *parts, const plag_spoiling *by) {
  parts->line.fault_noise_v =
      (0.05 + 0.55 * by->severity) * plag_random_between(by->random, 0.9, 1.1);
}

static const plag_fault faults[] = {
    {"none", "nothing is wrong", "free", "free", false, apply_none},
    {"slow", "gummed bearings: follows, but slowly", "mechanical", "slow", true, apply_slow},
    {"sticking", "dry friction all along the travel", "mechanical", "sticking", true,
     apply_sticking},
    {"ridge", "carbon at one place of the travel", "mechanical", "sticking", true, apply_ridge},
    {"short_travel", "a deposit before one stop", "mechanical", "short_travel", true,
     apply_short_travel},
    {"jam_inside", "plates wedged inside the travel", "mechanical", "still", true,
     apply_jam_inside},
    {"jam_past_stop", "plates wedged past the open stop", "mechanical", "signal_high", true,
     apply_jam_past_stop},
    {"no_drive", "the actuator gets no power", "drive", "still", true, apply_no_drive},
    {"weak_drive", "the actuator lacks part of its torque", "drive", "short_travel slow", true,
     apply_weak_drive},
    {"open_wire", "signal wire open, pulled up", "sensor_circuit", "signal_high", false,
     apply_open_wire},
    {"short_to_reference", "signal wire shorted to the reference", "sensor_circuit", "signal_high",
     false, apply_short_to_reference},
    {"short_to_ground", "signal wire shorted to ground", "sensor_circuit", "signal_low", false,
     apply_short_to_ground},
    {"dropouts", "signal contact lost now and then", "sensor_circuit", "signal_erratic", false,
     apply_dropouts},
    {"worn_spot", "a worn spot of the sensor's track", "sensor_circuit", "signal_erratic", false,
     apply_worn_spot},
    {"frozen_signal", "the reading stands still", "sensor_circuit", "still", false,
     apply_frozen_signal},
    {"shifted", "the sensor has turned on its shaft", "sensor_circuit", "signal_shifted", false,
     apply_shifted},
    {"span_scaled", "the sensor's span has shrunk", "sensor_circuit", "signal_shifted", false,
     apply_span_scaled},
    {"reference_sag", "the sensor's reference sags now and then", "sensor_circuit",
     "signal_erratic signal_shifted", false, apply_reference_sag},
    {"noise", "electrical noise on the signal", "sensor_circuit", "signal_erratic", false,
     apply_noise},
    {"drift", "the sensor drifts as it warms", "sensor_circuit", "signal_shifted", false,
     apply_drift},
};

size_t plag_fault_count(void) {
  return sizeof faults / sizeof faults[0];
}

const plag_fault *plag_fault_at(size_t index) {
  return &faults[index];
}

static const plag_fault *find_one(const char *name, size_t length) {
  for (size_t index = 0; index < plag_fault_count(); index++)
    if (strlen(faults[index].name) == length && strncmp(faults[index].name, name, length) == 0)
      return &faults[index];
  return NULL;
}

static platelag_status refuse_fault(const char *names, platelag_error *error) {
  plag_text known = {0};
  for (size_t index = 0; index < plag_fault_count(); index++)
    plag_text_add_format(&known, "%s%s", index > 0 ? ", " : "", faults[index].name);
  const platelag_status status =
      plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                     "no fault \"%s\"; expected one of these, or up to %d of them joined by +: %s",
                     names, (int)PLAG_MOST_FAULTS, known.failed ? "" : known.bytes);
  plag_text_clear(&known);
  return status;
}

platelag_status plag_fault_find(const char *names, plag_fault_list *out, platelag_error *error) {
  *out = (plag_fault_list){0};
  for (const char *at = names;;) {
    const size_t length = strcspn(at, "+");
    const plag_fault *fault = find_one(at, length);
    if (fault == NULL || out->count == PLAG_MOST_FAULTS)
      return refuse_fault(names, error);
    out->fault[out->count++] = fault;
    if (at[length] == '\0')
      return PLATELAG_OK;
    at += length + 1;
  }
}

void plag_fault_apply(const plag_fault_list *list, const plag_setting *setting, double severity,
                      double duration_s, bool plates, uint64_t seed, plag_valve_parts *parts) {
  for (size_t index = 0; index < list->count; index++) {
    plag_random random = plag_random_start(seed, PLAG_STREAM_FAULT, index);
    const double own = index == 0 ? severity : FURTHER_SHARE * severity;
    const plag_spoiling by = {setting, own, duration_s, &random};
    if (plates || !list->fault[index]->of_plates)
      list->fault[index]->apply(parts, &by);
  }
}
