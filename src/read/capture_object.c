/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a capture lends, and its end. */
#include "read/capture_object.h"

#include <assert.h>
#include <stdlib.h>

const char *platelag_role_name(platelag_role role) {
  static const char *const names[PLATELAG_ROLE_COUNT] = {
      [PLATELAG_ROLE_NONE] = "none",
      [PLATELAG_ROLE_COMMAND] = "command",
      [PLATELAG_ROLE_DESIRED] = "desired position",
      [PLATELAG_ROLE_POSITION] = "position",
      [PLATELAG_ROLE_ENGINE_SPEED] = "engine speed",
      [PLATELAG_ROLE_LOAD] = "load",
      [PLATELAG_ROLE_MANIFOLD_PRESSURE] = "manifold pressure",
      [PLATELAG_ROLE_AIR_FLOW] = "air flow",
      [PLATELAG_ROLE_THROTTLE] = "throttle",
      [PLATELAG_ROLE_COOLANT_TEMPERATURE] = "coolant temperature",
      [PLATELAG_ROLE_BATTERY_VOLTAGE] = "battery voltage",
      [PLATELAG_ROLE_SENSOR_REFERENCE] = "sensor reference",
      [PLATELAG_ROLE_ACTUATOR_CURRENT] = "actuator current",
      [PLATELAG_ROLE_ACTUATOR_SUPPLY] = "actuator supply",
      [PLATELAG_ROLE_DRIVER_STATE] = "driver state",
      [PLATELAG_ROLE_STORED_CODE] = "stored codes",
      [PLATELAG_ROLE_CLOCK] = "clock",
  };
  assert(role >= 0 && role < PLATELAG_ROLE_COUNT);
  return names[role];
}

const char *platelag_capture_name(const platelag_capture *capture) {
  return capture->name;
}

const platelag_reading *platelag_capture_reading(const platelag_capture *capture) {
  return &capture->reading;
}

size_t platelag_capture_channel_count(const platelag_capture *capture) {
  return capture->channel_count;
}

const platelag_channel *platelag_capture_channel_at(const platelag_capture *capture, size_t index) {
  assert(index < capture->channel_count);
  return &capture->channel[index];
}

size_t platelag_capture_segment_count(const platelag_capture *capture) {
  return capture->segment_count;
}

const platelag_segment *platelag_capture_segment_at(const platelag_capture *capture, size_t index) {
  assert(index < capture->segment_count);
  return &capture->segment[index];
}

size_t platelag_capture_run_count(const platelag_capture *capture) {
  return capture->run_count;
}

const char *platelag_capture_run_label(const platelag_capture *capture, size_t run) {
  assert(run < capture->run_count);
  return capture->run[run];
}

size_t platelag_capture_note_count(const platelag_capture *capture) {
  return capture->note_count;
}

const platelag_note *platelag_capture_note_at(const platelag_capture *capture, size_t index) {
  assert(index < capture->note_count);
  return &capture->note[index];
}

void platelag_capture_forget_samples(platelag_capture *capture) {
  for (size_t i = 0; i < capture->channel_count; i++) {
    free(capture->value[i]);
    free(capture->time_ns[i]);
    capture->value[i] = NULL;
    capture->time_ns[i] = NULL;
    capture->channel[i].value = NULL;
    capture->channel[i].time_ns = NULL;
    capture->channel[i].kept = false;
    capture->channel[i].count = 0;
  }
  free(capture->shared_time_ns);
  capture->shared_time_ns = NULL;
}

void platelag_capture_destroy(platelag_capture *capture) {
  if (capture == NULL)
    return;
  platelag_capture_forget_samples(capture);
  free(capture->segment);
  plag_arena_clear(&capture->arena);
  free(capture);
}
