/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/truth.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/number.h"
#include "core/text.h"
#include "practice/steps.h"

/* World time of the first row: times in the truth are those of the capture. */
#define FIRST_ROW_S PLAG_RECORD_SETTLE_S

/* --- JSON by hand: keys and names are our own and need no escapes ---------------------------- */

static void begin_item(plag_text *text) {
  const char last = text->length > 0 ? text->bytes[text->length - 1] : '{';
  if (last != '{' && last != '[')
    plag_text_add_char(text, ',');
}

static void add_key(plag_text *text, const char *key) {
  begin_item(text);
  plag_text_add_format(text, "\n\"%s\": ", key);
}

static void add_number(plag_text *text, const char *key, double value) {
  char digits[PLAG_NUMBER_TEXT_BYTES];
  add_key(text, key);
  plag_text_add(text, plag_number_format_json(value, 6, digits));
}

static void add_count(plag_text *text, const char *key, uint64_t value) {
  add_key(text, key);
  plag_text_add_format(text, "%llu", (unsigned long long)value);
}

static void add_string(plag_text *text, const char *key, const char *value) {
  add_key(text, key);
  plag_text_add_format(text, "\"%s\"", value);
}

static void add_truth(plag_text *text, const char *key, bool value) {
  add_key(text, key);
  plag_text_add(text, value ? "true" : "false");
}

static void begin(plag_text *text, const char *key, char bracket) {
  add_key(text, key);
  plag_text_add_char(text, bracket);
}

static void end(plag_text *text, char bracket) {
  plag_text_add_char(text, bracket);
}

/* --- what was ordered ------------------------------------------------------------------------ */

static void add_order(plag_text *text, const plag_truth *truth) {
  const platelag_practice_order *order = truth->order;
  begin(text, "order", '{');
  add_string(text, "fault", order->fault);
  add_number(text, "severity", order->severity);
  add_count(text, "seed", order->seed);
  add_count(text, "drive_seed", order->drive_seed);
  add_string(text, "layout", order->layout);
  add_number(text, "minutes", order->minutes);
  add_number(text, "rows_per_second", order->rows_per_second);
  add_string(text, "drive", order->drive);
  add_string(text, "command", order->command);
  add_string(text, "unit", order->unit);
  add_string(text, "condition", order->condition);
  add_string(text, "driving", order->driving);
  add_string(text, "friction", order->friction);
  add_string(text, "setting", order->setting);
  add_string(text, "channels", order->channels);
  add_count(text, "valves", order->valves);
  add_truth(text, "inverted", order->inverted);
  add_count(text, "extra_channels", order->extra_channels);
  end(text, '}');
}

/* --- what is wrong --------------------------------------------------------------------------- */

/* The fault's findings, or those of "none" for a valve without a fault. */
static void add_fault(plag_text *text, const plag_truth *truth, size_t valve) {
  const plag_fault *none = plag_fault_at(0);
  const size_t count = valve == 0 ? truth->faults->count : 1;
  begin(text, "faults", '[');
  for (size_t index = 0; index < count; index++) {
    const plag_fault *fault = valve == 0 ? truth->faults->fault[index] : none;
    begin_item(text);
    plag_text_add_char(text, '{');
    add_string(text, "name", fault->name);
    add_string(text, "family", fault->family);
    begin(text, "findings", '[');
    for (const char *at = fault->findings; *at != '\0';) {
      const size_t length = strcspn(at, " ");
      begin_item(text);
      plag_text_add_format(text, "\"%.*s\"", (int)length, at);
      at += length + (at[length] == ' ');
    }
    end(text, ']');
    end(text, '}');
  }
  end(text, ']');
}

static void add_steps(plag_text *text, const char *key, const plag_truth *truth, size_t valve,
                      const plag_valve_parts *parts) {
  const plag_control control = truth->world->control;
  const bool two_level = control == PLAG_CONTROL_TWO_LEVEL;
  const plag_valve_parts *healthy = &truth->healthy[valve];
  const plag_step_truth main =
      plag_step_measure(healthy, parts, control, two_level ? 0 : 20, two_level ? 100 : 80);
  const plag_step_truth full =
      two_level ? main : plag_step_measure(healthy, parts, control, 0, 100);
  begin(text, key, '{');
  add_number(text, "dead_time_s", parts->plant.dead_time_s);
  add_number(text, "opening_t63_s", main.opening_t63_s);
  add_number(text, "closing_t63_s", main.closing_t63_s);
  add_number(text, "from_command_pct", main.low_pct);
  add_number(text, "to_command_pct", main.high_pct);
  add_number(text, "opening_full_t63_s", full.opening_t63_s);
  add_number(text, "closing_full_t63_s", full.closing_t63_s);
  end(text, '}');
}

static void add_friction(plag_text *text, const plag_plant_parts *parts) {
  double leave_pct = 0, rest_pct = 0;
  plag_plant_friction_pct(parts, &leave_pct, &rest_pct);
  const bool ridge = parts->ridge_nm > 0;
  begin(text, "friction", '{');
  add_number(text, "stick_band_pct", leave_pct + rest_pct);
  add_number(text, "slip_jump_pct", leave_pct - rest_pct);
  add_number(text, "ridge_at_pct", ridge ? 100 * parts->ridge_at : NAN);
  add_number(text, "ridge_half_width_pct", ridge ? 100 * parts->ridge_half_width : NAN);
  add_number(text, "ridge_pct", ridge ? 100 * parts->ridge_nm / plag_plant_span_nm(parts) : NAN);
  add_number(text, "cold_pct_per_degree", 100 * parts->cold_per_degree);
  end(text, '}');
}

static double capture_time_s(double world_s) {
  return isnan(world_s) ? NAN : fmax(0, world_s - FIRST_ROW_S);
}

static void add_signal(plag_text *text, const plag_line_parts *line, size_t lost) {
  const bool pinned = !isnan(line->pinned_v);
  begin(text, "signal", '{');
  add_number(text, "reference_v", line->reference_v);
  add_count(text, "converter_bits", (uint64_t)line->converter_bits);
  add_number(text, "noise_v", line->noise_v);
  add_number(text, "offset_v", line->offset_v);
  add_number(text, "drift_v_per_s", line->drift_v_per_s);
  add_number(text, "gain", line->gain);
  add_number(text, "pinned_v", line->pinned_v);
  add_number(text, "pinned_from_s", pinned ? capture_time_s(line->pinned_from_s) : NAN);
  add_number(text, "frozen_from_s", capture_time_s(line->frozen_from_s));
  add_number(text, "dropouts_per_s", line->dropout_per_s);
  add_number(text, "worn_at_v", line->worn_chance > 0 ? line->worn_at_v : NAN);
  add_number(text, "worn_half_width_v", line->worn_chance > 0 ? line->worn_half_width_v : NAN);
  add_number(text, "sag_to_v", line->sag_per_s > 0 ? line->sag_to_v : NAN);
  add_number(text, "fault_noise_v", line->fault_noise_v);
  add_count(text, "lost_readings", lost);
  end(text, '}');
}

static void add_travel(plag_text *text, const plag_valve_parts *healthy,
                       const plag_valve_parts *spoilt) {
  begin(text, "travel", '{');
  add_number(text, "closed_v", healthy->line.closed_v);
  add_number(text, "open_v", healthy->line.open_v);
  add_number(text, "closed_stop_pct", 100 * spoilt->plant.closed_stop);
  add_number(text, "open_stop_pct", 100 * spoilt->plant.open_stop);
  add_number(text, "drive_gain", spoilt->plant.drive_gain);
  /* Where plates rest at last, of the clean travel, undriven and driven in full. */
  add_number(text, "least_pct", 100 * plag_plant_rest_place(&spoilt->plant, 0, 13.9));
  add_number(text, "most_pct", 100 * plag_plant_rest_place(&spoilt->plant, 100, 13.9));
  end(text, '}');
}

static void add_held(plag_text *text, const plag_world_valve *valve, double duration_s) {
  begin(text, "held", '[');
  for (size_t index = 0; index < valve->held_count; index++) {
    const plag_held_truth *held = &valve->held[index];
    const double to_s = fmin(duration_s, capture_time_s(held->to_s));
    if (to_s - capture_time_s(held->from_s) < PLAG_HELD_LEAST_S)
      continue;
    begin_item(text);
    plag_text_add_char(text, '{');
    add_number(text, "from_s", capture_time_s(held->from_s));
    add_number(text, "to_s", to_s);
    add_number(text, "position_pct", 100 * held->place);
    add_number(text, "command_pct", held->command_pct);
    add_number(text, "pull_pct", held->pull_pct);
    add_number(text, "mean_pull_pct", held->mean_pull_pct);
    add_truth(text, "at_stop", held->at_stop);
    end(text, '}');
  }
  end(text, ']');
}

static void add_valve(plag_text *text, const plag_truth *truth, size_t valve, double duration_s) {
  static const char *const names[] = {"bank 1", "bank 2"};
  begin_item(text);
  plag_text_add_char(text, '{');
  add_string(text, "valve", truth->world->valve_count > 1 ? names[valve] : "valve");
  add_fault(text, truth, valve);
  add_travel(text, &truth->healthy[valve], &truth->spoilt[valve]);
  add_friction(text, &truth->spoilt[valve].plant);
  add_signal(text, &truth->spoilt[valve].line, truth->record->lost[valve]);
  if (!truth->world->by_hand) {
    add_steps(text, "lag", truth, valve, &truth->spoilt[valve]);
    add_steps(text, "healthy_lag", truth, valve, &truth->healthy[valve]);
  }
  add_held(text, &truth->world->valve[valve], duration_s);
  end(text, '}');
}

platelag_status plag_truth_write(const plag_truth *truth, const platelag_sink *sink,
                                 platelag_error *error) {
  const plag_record *record = truth->record;
  const double duration_s =
      record->row_count > 0 ? (double)record->stamp_ms[record->row_count - 1] * 1e-3 : 0;
  plag_text text = {0};
  plag_text_add_char(&text, '{');
  add_string(&text, "schema", "platelag.practice/1");
  add_order(&text, truth);
  add_count(&text, "rows", record->row_count);
  add_count(&text, "channels", record->channel_count);
  add_number(&text, "duration_s", duration_s);
  begin(&text, "valves", '[');
  for (size_t valve = 0; valve < truth->world->valve_count; valve++)
    add_valve(&text, truth, valve, duration_s);
  end(&text, ']');
  plag_text_add(&text, "\n}\n");
  const platelag_status status = text.failed
                                     ? plag_error_memory(error, "the truth of a practice capture")
                                     : sink->write(sink->context, text.bytes, text.length, error);
  plag_text_clear(&text);
  return status;
}
