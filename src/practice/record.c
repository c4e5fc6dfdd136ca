/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/record.h"

#include <math.h>
#include <stdlib.h>

#include "core/array.h"
#include "core/error.h"

/* Channels that the valve's two are helped by. */
static size_t list_others(const plag_world *world, size_t count, plag_record_channel *out) {
  out[count++] = (plag_record_channel){.quantity = PLAG_QUANTITY_PRESSURE, .decimals = 1};
  out[count++] = (plag_record_channel){.quantity = PLAG_QUANTITY_BATTERY, .decimals = 2};
  if (world->valve[0].plant.parts.drive == PLAG_DRIVE_MOTOR)
    for (size_t valve = 0; valve < world->valve_count; valve++)
      out[count++] = (plag_record_channel){.quantity = PLAG_QUANTITY_CURRENT,
                                           .valve = valve,
                                           .bank = world->valve_count > 1 ? (int)valve + 1 : 0,
                                           .decimals = 2};
  out[count++] = (plag_record_channel){.quantity = PLAG_QUANTITY_REFERENCE, .decimals = 2};
  return count;
}

/* Which channels there are, in the order in which they are polled. */
static size_t list_channels(const plag_world *world, const plag_record_order *order,
                            plag_record_channel *out) {
  const plag_position_unit unit = order->unit;
  size_t count = 0;
  const plag_quantity first[] = {PLAG_QUANTITY_SPEED, PLAG_QUANTITY_THROTTLE, PLAG_QUANTITY_LOAD,
                                 PLAG_QUANTITY_COOLANT};
  static const int first_decimals[] = {0, 1, 1, 0};
  for (size_t index = 0; index < (order->few_channels ? 1 : sizeof first / sizeof first[0]);
       index++)
    out[count++] =
        (plag_record_channel){.quantity = first[index], .decimals = first_decimals[index]};
  const int position_decimals = unit == PLAG_POSITION_VOLT ? 3 : 2;
  for (size_t valve = 0; valve < world->valve_count; valve++) {
    const int bank = world->valve_count > 1 ? (int)valve + 1 : 0;
    const bool words = world->control == PLAG_CONTROL_TWO_LEVEL;
    out[count++] = (plag_record_channel){
        words ? PLAG_QUANTITY_SWITCH : PLAG_QUANTITY_DUTY, unit, valve, 0, bank, words ? 0 : 2};
    if (world->control == PLAG_CONTROL_DESIRED_AND_DUTY)
      out[count++] =
          (plag_record_channel){PLAG_QUANTITY_DESIRED, unit, valve, 0, bank, position_decimals};
    out[count++] =
        (plag_record_channel){PLAG_QUANTITY_POSITION, unit, valve, 0, bank, position_decimals};
  }
  if (!order->few_channels)
    count = list_others(world, count, out);
  for (size_t index = 0; index < order->extra_channels; index++)
    out[count++] = (plag_record_channel){
        .quantity = PLAG_QUANTITY_FILLER, .index = index, .decimals = 1 + (int)(index % 2)};
  return count;
}

enum { MOST_USUAL_CHANNELS = 24 };

/* A place in the unit of the position, as the controller believes it. */
static double in_unit(const plag_world_valve *valve, plag_position_unit unit, double volts) {
  const plag_line_parts *line = &valve->healthy.line;
  switch (unit) {
  case PLAG_POSITION_VOLT:
    return volts;
  case PLAG_POSITION_REFERENCE:
    return 100 * volts / line->reference_v;
  default:
    return fmin(100, fmax(0, 100 * (volts - line->closed_v) / (line->open_v - line->closed_v)));
  }
}

static double read_channel(const plag_record_channel *channel, plag_world *world,
                           plag_random *random) {
  const plag_driver *driver = &world->driver;
  plag_world_valve *valve = &world->valve[channel->valve];
  const plag_line_parts *line = &valve->healthy.line;
  switch (channel->quantity) {
  case PLAG_QUANTITY_SPEED:
    return driver->speed_rpm + (driver->speed_rpm > 0 ? 9 * plag_random_normal(random) : 0);
  case PLAG_QUANTITY_THROTTLE:
    return floor((12 + 0.8 * driver->throttle_pct) * 2.55 + 0.5) / 2.55;
  case PLAG_QUANTITY_LOAD:
    return floor(100 * driver->load * 2.55 + 0.5) / 2.55;
  case PLAG_QUANTITY_COOLANT:
    return driver->coolant_c;
  case PLAG_QUANTITY_DUTY:
    return valve->duty_pct;
  case PLAG_QUANTITY_SWITCH:
    return valve->duty_pct > 50 ? 1 : 0;
  case PLAG_QUANTITY_DESIRED:
    return in_unit(valve, channel->unit,
                   line->closed_v +
                       (line->open_v - line->closed_v) * plag_driver_asked_pct(driver) / 100);
  case PLAG_QUANTITY_POSITION:
    return in_unit(valve, channel->unit,
                   plag_line_read_v(&valve->line, plag_world_place(world, channel->valve),
                                    plag_world_now_s(world)));
  case PLAG_QUANTITY_PRESSURE:
    return driver->pressure_kpa + 0.3 * plag_random_normal(random);
  case PLAG_QUANTITY_BATTERY:
    return driver->battery_v;
  case PLAG_QUANTITY_CURRENT:
    return fmax(0, valve->plant.current_a + 0.01 * plag_random_normal(random));
  case PLAG_QUANTITY_REFERENCE:
    return plag_line_reference_v(&valve->line, plag_world_now_s(world)) +
           0.006 * plag_random_normal(random);
  default:
    return NAN;
  }
}

static double rounded(double value, int decimals) {
  static const double scale[] = {1, 10, 100, 1000};
  return floor(value * scale[decimals] + 0.5) / scale[decimals];
}

/* A filler wanders about a level of its own. */
static double wander(double before, size_t index, plag_random *random) {
  const double level = 5 + (double)(index * 37 % 90);
  return before + 0.05 * (level - before) + 0.4 * plag_random_normal(random);
}

static void record_row(plag_record *record, const plag_setting *setting, plag_world *world,
                       double start_s, double slot_s, plag_random *random) {
  const size_t count = record->channel_count;
  double *row = record->value + record->row_count * count;
  const double *before = record->row_count > 0 ? row - count : NULL;
  for (size_t index = 0; index < count; index++) {
    const plag_record_channel *channel = &record->channel[index];
    if (channel->quantity == PLAG_QUANTITY_FILLER) {
      const double last = before != NULL ? before[index] : 5 + (double)(channel->index * 37 % 90);
      row[index] = rounded(wander(last, channel->index, random), channel->decimals);
      continue;
    }
    const double late_s = slot_s * ((double)index + 0.3 * plag_random_uniform(random));
    plag_world_advance(world, PLAG_RECORD_SETTLE_S + start_s + late_s);
    row[index] = rounded(read_channel(channel, world, random), channel->decimals);
    const double luck = plag_random_uniform(random);
    if (luck < setting->missing_chance)
      row[index] = NAN;
    else if (luck < setting->missing_chance + setting->repeated_chance && before != NULL &&
             !isnan(before[index]))
      row[index] = before[index];
    else if (channel->quantity == PLAG_QUANTITY_POSITION)
      record->lost[channel->valve] += world->valve[channel->valve].line.lost;
  }
}

static bool make_room(plag_record *record, size_t *stamp_room, size_t *value_room) {
  return plag_array_reserve((void **)&record->stamp_ms, stamp_room, record->row_count + 1,
                            sizeof *record->stamp_ms) &&
         plag_array_reserve((void **)&record->value, value_room,
                            (record->row_count + 1) * record->channel_count, sizeof *record->value);
}

platelag_status plag_record_make(const plag_record_order *order, plag_world *world,
                                 plag_record *out, platelag_error *error) {
  *out = (plag_record){.vehicle = order->vehicle};
  plag_random random = plag_random_start(order->seed, PLAG_STREAM_RECORDER, order->part);
  const plag_setting *setting = order->setting;
  const double period_s = 1 / order->rows_per_second;
  size_t stamp_room = 0, value_room = 0;
  int64_t now_ms = 0;
  out->channel = calloc(MOST_USUAL_CHANNELS + order->extra_channels, sizeof *out->channel);
  if (out->channel == NULL)
    goto no_memory;
  out->channel_count = list_channels(world, order, out->channel);
  const size_t polled = out->channel_count - order->extra_channels;
  const double slot_s = setting->poll_share * period_s / (double)polled;
  while ((double)now_ms * 1e-3 < order->duration_s) {
    if (!make_room(out, &stamp_room, &value_room) || out->value == NULL)
      goto no_memory;
    record_row(out, setting, world, (double)now_ms * 1e-3, slot_s, &random);
    out->stamp_ms[out->row_count++] = now_ms;
    double pause_s = period_s * plag_random_between(&random, 1 - setting->jitter_share,
                                                    1 + setting->jitter_share);
    if (plag_random_chance(&random, setting->gap_per_s * period_s))
      pause_s += plag_random_between(&random, 0.8, 9);
    now_ms += (int64_t)floor(pause_s * 1000 + 0.5);
  }
  plag_world_finish(world);
  if (!world->failed)
    return PLATELAG_OK;
no_memory:
  plag_record_clear(out);
  return plag_error_memory(error, "the rows of a practice capture");
}

void plag_record_clear(plag_record *record) {
  free(record->channel);
  free(record->stamp_ms);
  free(record->value);
  *record = (plag_record){0};
}
