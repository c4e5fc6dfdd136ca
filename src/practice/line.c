/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/line.h"

#include <math.h>

plag_line_parts plag_line_healthy(void) {
  return (plag_line_parts){.reference_v = 5.0,
                           .closed_v = 1.20,
                           .open_v = 3.75,
                           .noise_v = 0.006,
                           .converter_bits = 10,
                           .gain = 1,
                           .pinned_v = NAN,
                           .frozen_from_s = NAN,
                           .dropout_low_chance = 0.5,
                           .dropout_high_low = 0.93,
                           .dropout_high_most = 0.995,
                           .worn_low_chance = 0.75,
                           .sag_to_v = 5.0};
}

/* Time to the next event of a mean rate. Uniform over twice the mean rather than exponential: it
 * needs no log and events stay irregular enough. */
static double wait_s(plag_random *random, double per_s) {
  return per_s > 0 ? plag_random_between(random, 0.05, 1.95) / per_s : INFINITY;
}

void plag_line_start(plag_line *line, const plag_line_parts *parts, plag_random random) {
  *line = (plag_line){
      .parts = *parts, .random = random, .dropout_end_s = -1, .sag_end_s = -1, .frozen_v = NAN};
  line->next_dropout_s = wait_s(&line->random, parts->dropout_per_s);
  line->next_sag_s = wait_s(&line->random, parts->sag_per_s);
}

/* Length of an event; short ones are commoner. */
static double length_s(plag_random *random, double longest_s) {
  const double share = plag_random_uniform(random);
  return longest_s * (0.08 + 0.92 * share * share);
}

static void advance_events(plag_line *line, double now_s) {
  const plag_line_parts *parts = &line->parts;
  while (now_s >= line->next_dropout_s) {
    line->dropout_end_s = line->next_dropout_s + length_s(&line->random, parts->dropout_longest_s);
    line->dropout_v =
        plag_random_chance(&line->random, parts->dropout_low_chance)
            ? plag_random_between(&line->random, 0.0, 0.04)
            : plag_random_between(&line->random, parts->dropout_high_low, parts->dropout_high_most);
    line->dropout_v *= parts->reference_v;
    line->next_dropout_s = line->dropout_end_s + wait_s(&line->random, parts->dropout_per_s);
  }
  while (now_s >= line->next_sag_s) {
    line->sag_end_s = line->next_sag_s + length_s(&line->random, parts->sag_longest_s);
    line->next_sag_s = line->sag_end_s + wait_s(&line->random, parts->sag_per_s);
  }
}

double plag_line_reference_v(const plag_line *line, double now_s) {
  return now_s < line->sag_end_s ? line->parts.sag_to_v : line->parts.reference_v;
}

/* What comes in at the controller's pin, before noise. Faults nearer to the pin win. */
static double at_pin_v(plag_line *line, double place, double now_s) {
  const plag_line_parts *parts = &line->parts;
  double volts = parts->closed_v + (parts->open_v - parts->closed_v) * place;
  const bool worn =
      parts->worn_chance > 0 && fabs(volts - parts->worn_at_v) < parts->worn_half_width_v;
  volts = volts * parts->gain + parts->offset_v + parts->drift_v_per_s * now_s;
  volts *= plag_line_reference_v(line, now_s) / parts->reference_v;
  line->lost = worn && plag_random_chance(&line->random, parts->worn_chance);
  if (line->lost)
    volts = plag_random_chance(&line->random, parts->worn_low_chance)
                ? plag_random_between(&line->random, 0.0, 0.25)
                : plag_random_between(&line->random, 0.1, 0.9) * volts;
  volts += plag_random_normal(&line->random) * parts->noise_v;
  if (parts->fault_noise_v > 0)
    volts += plag_random_normal(&line->random) * parts->fault_noise_v;
  if (now_s < line->dropout_end_s) {
    volts = line->dropout_v;
    line->lost = true;
  }
  if (!isnan(parts->pinned_v) && now_s >= parts->pinned_from_s)
    volts = parts->pinned_v;
  return volts;
}

double plag_line_read_v(plag_line *line, double place, double now_s) {
  const plag_line_parts *parts = &line->parts;
  advance_events(line, now_s);
  const double volts = at_pin_v(line, place, now_s);
  const double full = (double)((1u << parts->converter_bits) - 1);
  const double code = floor(volts / parts->reference_v * full + 0.5);
  const double reading = fmin(full, fmax(0, code)) * parts->reference_v / full;
  if (isnan(parts->frozen_from_s) || now_s < parts->frozen_from_s)
    return reading;
  if (isnan(line->frozen_v))
    line->frozen_v = reading;
  return line->frozen_v;
}
