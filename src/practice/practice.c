/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "platelag/practice.h"

#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"
#include "practice/export.h"
#include "practice/faults.h"
#include "practice/order.h"
#include "practice/record.h"
#include "practice/truth.h"

size_t platelag_practice_fault_count(void) {
  return plag_fault_count();
}

const char *platelag_practice_fault_name(size_t index) {
  return plag_fault_at(index)->name;
}

const char *platelag_practice_fault_describe(size_t index) {
  return plag_fault_at(index)->describe;
}

size_t platelag_practice_layout_count(void) {
  return plag_export_layout_count();
}

const char *platelag_practice_layout_name(size_t index) {
  return plag_export_layout_at(index)->name;
}

/* --- the order, understood ------------------------------------------------------------------- */

/* Names in the order of the enums they stand for. */
static const char *const drive_names[] = {"motor", "vacuum", NULL};
static const char *const control_names[] = {"duty", "on_off", "desired_and_duty",
                                            "duty_closed_loop", NULL};
static const char *const unit_names[] = {"volt", "reference", "open", NULL};
static const char *const condition_names[] = {"road", "rest", "hand_sweep", "after", NULL};
static const char *const driving_names[] = {"mixed", "idle", "gentle", NULL};
static const char *const friction_names[] = {"karnopp", "lugre", NULL};
static const char *const channels_names[] = {"usual", "few", NULL};

typedef struct plan {
  platelag_practice_order order; /* defaults filled in */
  const plag_export_layout *layout;
  plag_fault_list faults;
  plag_drive_kind drive;
  plag_control control;
  plag_position_unit unit;
  platelag_condition condition;
  plag_driving driving;
  plag_friction_law friction;
  const plag_setting *setting;
  bool few_channels;
} plan;

/* Refuses `given` for what is none of `count` names: as many of them as a message can hold are
 * told, the rest as a number. */
static platelag_status refuse_name(const char *what, const char *given,
                                   const char *(*name_at)(const void *names, size_t index),
                                   const void *names, size_t count, platelag_error *error) {
  const size_t room = sizeof error->message - 160;
  plag_text known = {0};
  size_t index = 0;
  for (; index < count && known.length < room; index++)
    plag_text_add_format(&known, "%s%s", index > 0 ? ", " : "", name_at(names, index));
  if (index < count)
    plag_text_add_format(&known, " and %zu more", count - index);
  const platelag_status status = plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                                                "no %s \"%.60s\"; expected one of: %s", what, given,
                                                known.failed ? "" : known.bytes);
  plag_text_clear(&known);
  return status;
}

static const char *listed_name(const void *names, size_t index) {
  return ((const char *const *)names)[index];
}

static const char *layout_name(const void *names, size_t index) {
  (void)names;
  return plag_export_layout_at(index)->name;
}

static platelag_status choose(const char *what, const char *given, const char *const *names,
                              int *out, platelag_error *error) {
  int index = 0;
  for (; names[index] != NULL; index++)
    if (strcmp(given, names[index]) == 0) {
      *out = index;
      return PLATELAG_OK;
    }
  return refuse_name(what, given, listed_name, names, (size_t)index, error);
}

static platelag_status find_layout(const char *name, const plag_export_layout **out,
                                   platelag_error *error) {
  *out = plag_export_layout_find(name);
  if (*out != NULL)
    return PLATELAG_OK;
  return refuse_name("layout", name, layout_name, NULL, plag_export_layout_count(), error);
}

static void fill_text(const char **value, const char *fallback) {
  if (*value == NULL)
    *value = fallback;
}

static void fill_defaults(platelag_practice_order *order) {
  fill_text(&order->fault, "none");
  fill_text(&order->layout, "comma");
  fill_text(&order->drive, "motor");
  fill_text(&order->command, "duty");
  fill_text(&order->unit, "volt");
  fill_text(&order->condition, "road");
  fill_text(&order->driving, "mixed");
  fill_text(&order->friction, "karnopp");
  fill_text(&order->setting, "first");
  fill_text(&order->channels, "usual");
  if (isnan(order->severity) || order->severity == 0)
    order->severity = 0.6;
  if (order->drive_seed == 0)
    order->drive_seed = order->seed;
  if (order->minutes == 0)
    order->minutes = 10;
  if (order->rows_per_second == 0)
    order->rows_per_second = 10;
  if (order->valves == 0)
    order->valves = 1;
}

/* `!(a <= b)` refuses NaN as well. */
static platelag_status check_numbers(const platelag_practice_order *order, platelag_error *error) {
  const char *wrong = NULL;
  if (!(order->severity > 0 && order->severity <= 1))
    wrong = "severity is above 0 and at most 1";
  else if (!(order->minutes >= 0.05 && order->minutes <= 10000))
    wrong = "minutes are 0.05 to 10000";
  else if (!(order->rows_per_second >= 0.5 && order->rows_per_second <= 50))
    wrong = "rows a second are 0.5 to 50";
  else if (order->valves > PLAG_MOST_VALVES)
    wrong = "valves are 1 or 2";
  else if (order->extra_channels > 4000)
    wrong = "extra channels are at most 4000";
  if (wrong == NULL)
    return PLATELAG_OK;
  return plag_error_set(error, PLATELAG_ERROR_USAGE, NULL, 0, 0,
                        "a number of the practice order is out of range: %s", wrong);
}

static platelag_status make_plan(const platelag_practice_order *order, plan *out,
                                 platelag_error *error) {
  *out = (plan){.order = *order};
  fill_defaults(&out->order);
  order = &out->order;
  int drive = 0, control = 0, unit = 0, condition = 0, driving = 0, friction = 0, setting = 0,
      channels = 0;
  platelag_status status = check_numbers(order, error);
  if (status == PLATELAG_OK)
    status = plag_fault_find(order->fault, &out->faults, error);
  if (status == PLATELAG_OK)
    status = find_layout(order->layout, &out->layout, error);
  if (status == PLATELAG_OK)
    status = choose("drive", order->drive, drive_names, &drive, error);
  if (status == PLATELAG_OK)
    status = choose("command", order->command, control_names, &control, error);
  if (status == PLATELAG_OK)
    status = choose("unit", order->unit, unit_names, &unit, error);
  if (status == PLATELAG_OK)
    status = choose("condition", order->condition, condition_names, &condition, error);
  if (status == PLATELAG_OK)
    status = choose("driving", order->driving, driving_names, &driving, error);
  if (status == PLATELAG_OK)
    status = choose("friction law", order->friction, friction_names, &friction, error);
  if (status == PLATELAG_OK)
    status = choose("setting", order->setting, plag_setting_names, &setting, error);
  if (status == PLATELAG_OK)
    status = choose("set of channels", order->channels, channels_names, &channels, error);
  out->drive = (plag_drive_kind)drive;
  out->control = (plag_control)control;
  out->unit = (plag_position_unit)unit;
  out->condition = (platelag_condition)condition;
  out->driving = (plag_driving)driving;
  out->friction = (plag_friction_law)friction;
  out->setting = plag_setting_at((size_t)setting);
  out->few_channels = channels > 0;
  return status;
}

/* --- making ---------------------------------------------------------------------------------- */

static void build_valves(plan *p, plag_valve_parts *healthy, plag_valve_parts *spoilt) {
  const double duration_s = p->order.minutes * 60;
  const bool plates = p->condition != PLATELAG_CONDITION_HAND_SWEEP;
  if (p->condition == PLATELAG_CONDITION_AFTER)
    p->faults = (plag_fault_list){.count = 1, .fault = {plag_fault_at(0)}};
  for (size_t valve = 0; valve < p->order.valves; valve++) {
    plag_vehicle_draw(p->setting, p->order.seed, (unsigned)valve, p->drive, p->friction,
                      &healthy[valve]);
    if (p->order.inverted) {
      const double closed_v = healthy[valve].line.closed_v;
      healthy[valve].line.closed_v = healthy[valve].line.open_v;
      healthy[valve].line.open_v = closed_v;
    }
    spoilt[valve] = healthy[valve];
    if (valve == 0)
      plag_fault_apply(&p->faults, p->setting, p->order.severity, duration_s, plates, p->order.seed,
                       &spoilt[valve]);
  }
}

/* The vehicle of a plan, driven, and what was recorded of it. */
typedef struct driven {
  plag_valve_parts healthy[PLAG_MOST_VALVES], spoilt[PLAG_MOST_VALVES];
  plag_world world;
  plag_record record;
} driven;

static platelag_status drive(plan *p, driven *out, platelag_error *error) {
  build_valves(p, out->healthy, out->spoilt);
  const bool standing =
      p->condition == PLATELAG_CONDITION_REST || p->condition == PLATELAG_CONDITION_HAND_SWEEP;
  const uint64_t part = (uint64_t)p->condition;
  plag_world_start(&out->world, p->setting, p->order.drive_seed, part, p->control,
                   standing ? PLAG_DRIVING_OFF : p->driving,
                   p->condition == PLATELAG_CONDITION_HAND_SWEEP, p->order.valves, out->healthy,
                   out->spoilt);
  const plag_record_order order = {.setting = p->setting,
                                   .few_channels = p->few_channels,
                                   .duration_s = p->order.minutes * 60,
                                   .rows_per_second = p->order.rows_per_second,
                                   .unit = p->unit,
                                   .extra_channels = p->order.extra_channels,
                                   .vehicle = (unsigned)(p->order.seed % 100),
                                   .seed = p->order.drive_seed,
                                   .part = part};
  return plag_record_make(&order, &out->world, &out->record, error);
}

/* What an order asks for, driven. The caller clears the record and the world, whatever is returned.
 */
static platelag_status drive_order(const platelag_practice_order *order, plan *p, driven *made,
                                   platelag_error *error) {
  *made = (driven){0};
  const platelag_status status = make_plan(order, p, error);
  return status == PLATELAG_OK ? drive(p, made, error) : status;
}

platelag_status plag_order_record(const platelag_practice_order *order, plag_record *out,
                                  platelag_error *error) {
  plan p;
  driven made;
  const platelag_status status = drive_order(order, &p, &made, error);
  *out = made.record;
  plag_world_clear(&made.world);
  return status;
}

platelag_status platelag_practice_write(const platelag_practice_order *order,
                                        const platelag_sink *capture, const platelag_sink *truth,
                                        platelag_error *error) {
  plan p;
  driven made;
  platelag_status status = drive_order(order, &p, &made, error);
  if (status == PLATELAG_OK)
    status = plag_export_write(p.layout, &made.record, capture, error);
  const plag_truth told = {&p.order,    &p.faults,   made.healthy,
                           made.spoilt, &made.world, &made.record};
  if (status == PLATELAG_OK && truth != NULL)
    status = plag_truth_write(&told, truth, error);
  plag_record_clear(&made.record);
  plag_world_clear(&made.world);
  return status;
}
