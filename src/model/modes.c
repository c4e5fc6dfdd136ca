/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Void readings: first those that leave and come back unasked (decode.c), then the rails by their
 * limits and hold time, then frozen stretches (frozen.c). */
#include "model/parts.h"

#include "model/coverage.h"
#include "model/decode.h"
#include "model/frozen.h"
#include "model/noise.h"
#include "model/rails.h"
#include "model/signal.h"

static const char *const names[PLATELAG_MODE_COUNT] = {
    [PLATELAG_MODE_FOLLOWING] = "following", [PLATELAG_MODE_HELD] = "held",
    [PLATELAG_MODE_AT_STOP] = "at a stop",   [PLATELAG_MODE_RAIL_LOW] = "rail low",
    [PLATELAG_MODE_RAIL_HIGH] = "rail high", [PLATELAG_MODE_ERRATIC] = "erratic",
    [PLATELAG_MODE_FROZEN] = "frozen",
};

const char *platelag_mode_name(platelag_mode mode) {
  return mode >= 0 && mode < PLATELAG_MODE_COUNT ? names[mode] : "unknown";
}

static size_t count_valid(const plag_model *model) {
  size_t valid = 0;
  for (size_t i = 0; i < model->trace->sample_count; i++)
    valid += !platelag_mode_is_void((platelag_mode)model->mode[i]);
  return valid;
}

platelag_status plag_modes_find_void(plag_model *model, platelag_error *error) {
  platelag_status status = plag_noise_measure(model, error);
  if (status != PLATELAG_OK)
    return status;
  plag_guess guess;
  plag_guess_build(model->trace, &guess);
  plag_decode_void(model, &guess);
  plag_rails_mark(model);
  plag_frozen_mark(model, &guess);
  model->valid_count = count_valid(model);
  status = plag_signal_measure(model, &guess, error);
  if (status == PLATELAG_OK)
    status = plag_coverage_measure(model, &guess, error);
  return status;
}
