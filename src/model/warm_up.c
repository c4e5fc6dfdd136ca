/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether friction eases with heat: the share of pulled time in which the plates were held, in the
 * cold and the warm part of it: by coolant temperature the lower half of its range against what is
 * as good as warm, so that a short warm-up counts in a long drive; without one the first and the
 * last third of the time. */
#include <math.h>

#include "core/statistics.h"
#include "model/course.h"
#include "model/held.h"
#include "model/workspace.h"

#define LEAST_S       20.0 /* of pulled time in a part */
#define LEAST_DEGREES 15.0 /* of range, to call it a warm-up */
#define COLD_SHARE    0.5  /* of the range: colder is cold */
#define WARM_SHARE    0.85 /* warmer is warm */
#define OUTERMOST     0.02 /* of the readings, on either side of the range */
#define MOST_POINTS   4096

/* Coolant temperature (or time) along the samples. */
typedef struct scale {
  const platelag_channel *temperature; /* NULL: time */
  size_t cursor;
} scale;

static double scale_at(scale *along, int64_t at_ns) {
  const platelag_channel *channel = along->temperature;
  if (!channel)
    return platelag_seconds(at_ns);
  while (along->cursor + 1 < channel->count && channel->time_ns[along->cursor + 1] <= at_ns)
    along->cursor++;
  return channel->count > 0 ? channel->value[along->cursor] : NAN;
}

typedef struct part {
  double pulled_s, held_s;
  size_t spells; /* held spells that began in it */
} part;

static bool is_pulled(const plag_course *course, double least_pct) {
  return fabs(course->target_pct - course->travel_pct) > least_pct;
}

/* The limits of the parts: cold up to `low`, warm from `high` on. False when there is too little.
 */
static bool find_limits(plag_model *model, const platelag_channel *temperature, double *low,
                        double *high) {
  const size_t mark = plag_workspace_mark(model->workspace);
  double *point = plag_workspace_take(model->workspace, MOST_POINTS, sizeof point[0]);
  if (!point)
    return false;
  const platelag_trace *trace = model->trace;
  const size_t stride = trace->sample_count / MOST_POINTS + 1;
  scale along = {.temperature = temperature};
  size_t count = 0;
  for (size_t i = 0; i < trace->sample_count; i += stride) {
    const double here = scale_at(&along, trace->time_ns[i]);
    if (isfinite(here))
      point[count++] = here;
  }
  const double outer = temperature ? OUTERMOST : 0.0;
  const double least = plag_quantile(point, count, outer);
  const double range = plag_quantile(point, count, 1.0 - outer) - least;
  *low = least + range * (temperature ? COLD_SHARE : 1.0 / 3.0);
  *high = least + range * (temperature ? WARM_SHARE : 2.0 / 3.0);
  plag_workspace_release(model->workspace, mark);
  return count >= 3 && range > (temperature ? LEAST_DEGREES : 0.0);
}

static void gather(const plag_model *model, const platelag_channel *temperature, double low,
                   double high, part *cold, part *warm) {
  const double least_pct = plag_held_least_pull_pct(model);
  const double longest_s = 5.0 * model->trace->position_refresh_s;
  scale along = {.temperature = temperature};
  bool was_held = false;
  plag_course course;
  for (plag_course_begin(&course, model); plag_course_next(&course);) {
    const bool held = model->mode[course.sample] == PLATELAG_MODE_HELD;
    const bool begins = held && !was_held;
    was_held = held;
    if (platelag_mode_is_void((platelag_mode)model->mode[course.sample]) ||
        (!held && !is_pulled(&course, least_pct)))
      continue;
    const double here = scale_at(&along, model->trace->time_ns[course.sample]);
    part *into = here <= low ? cold : here >= high ? warm : NULL;
    if (!into)
      continue;
    const double lasts_s = fmin(course.dt_s, longest_s);
    into->pulled_s += lasts_s;
    into->held_s += held ? lasts_s : 0.0;
    into->spells += begins;
  }
}

/* Wilson's interval (1927) of a proportion, 90 %; the spells, not the samples, are independent. */
static platelag_estimate share_of(const part *of) {
  if (of->pulled_s < LEAST_S)
    return (platelag_estimate){PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  const double share = of->held_s / of->pulled_s;
  const double spell_s = of->spells > 0 ? of->held_s / (double)of->spells : 2.0;
  const double n = fmax(of->pulled_s / fmax(spell_s, 1.0), 2.0);
  const double z2 = 1.645 * 1.645;
  const double middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
  const double half = sqrt(z2 * (share * (1.0 - share) / n + z2 / (4.0 * n * n))) / (1.0 + z2 / n);
  return (platelag_estimate){PLATELAG_KNOWN_VALUE, share, fmax(middle - half, 0.0),
                             fmin(middle + half, 1.0)};
}

platelag_status plag_warm_up_compare(plag_model *model, platelag_error *error) {
  (void)error;
  platelag_warm_up *warm_up = &model->fit->warm_up;
  const platelag_estimate nothing = {PLATELAG_KNOWN_NOTHING, NAN, NAN, NAN};
  *warm_up = (platelag_warm_up){nothing, nothing, false};
  if (model->trace->command_kind == PLATELAG_COMMAND_ABSENT || model->valid_count == 0)
    return PLATELAG_OK;
  const platelag_channel *temperature = model->trace->auxiliary[PLATELAG_ROLE_COOLANT_TEMPERATURE];
  double low = 0.0;
  double high = 0.0;
  warm_up->by_temperature =
      temperature && temperature->count > 0 && find_limits(model, temperature, &low, &high);
  if (!warm_up->by_temperature) {
    temperature = NULL;
    if (!find_limits(model, NULL, &low, &high))
      return PLATELAG_OK;
  }
  part cold = {0};
  part warm = {0};
  gather(model, temperature, low, high, &cold, &warm);
  warm_up->held_share_cold = share_of(&cold);
  warm_up->held_share_warm = share_of(&warm);
  return PLATELAG_OK;
}
