/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/noise.h"

#include <math.h>

#include "core/error.h"
#include "core/statistics.h"
#include "model/workspace.h"

#define MOST_DIFFERENCES 16384
#define BLOCK            64     /* neighbouring samples taken together when not all are */
#define CLIP_SDS         2.5    /* what lies further out is movement */
#define CLIPPED_SD       0.9546 /* of a standard normal within that */
#define COARSEST_PCT     1.6    /* 7 bits over half the reference: coarser than any converter */
#define LEAST_NOISE_PCT  0.02   /* no reading is better than this */

double plag_quantum_pct(const platelag_trace *trace) {
  const double quantum_pct =
      fabs(100.0 * trace->level_quantum / (trace->open_level - trace->closed_level));
  return quantum_pct <= COARSEST_PCT ? quantum_pct : 0.0;
}

/* Absolute second differences (plates that move evenly drop out), at most MOST_DIFFERENCES, spread
 * evenly in blocks. */
static size_t collect(const platelag_trace *trace, double *difference) {
  const double scale = fabs(100.0 / (trace->open_level - trace->closed_level));
  const size_t blocks = trace->sample_count / BLOCK + 1;
  const size_t stride = (blocks * BLOCK + MOST_DIFFERENCES - 1) / MOST_DIFFERENCES;
  size_t count = 0;
  for (size_t s = 0; s < trace->segment_count; s++) {
    const size_t first = trace->segment[s].first_sample;
    const size_t end = first + trace->segment[s].sample_count;
    for (size_t i = first + 2; i < end && count < MOST_DIFFERENCES; i++)
      if (i / BLOCK % stride == 0)
        difference[count++] =
            fabs(trace->level[i] - 2.0 * trace->level[i - 1] + trace->level[i - 2]) * scale;
  }
  return count;
}

static double clipped_rms(const double *difference, size_t count, double limit) {
  double sum = 0.0;
  size_t used = 0;
  for (size_t i = 0; i < count; i++) {
    if (difference[i] > limit)
      continue;
    sum += difference[i] * difference[i];
    used++;
  }
  return used > 0 ? sqrt(sum / (double)used) : 0.0;
}

platelag_status plag_noise_measure(plag_model *model, platelag_error *error) {
  const platelag_trace *trace = model->trace;
  const double least = fmax(plag_quantum_pct(trace) / sqrt(12.0), LEAST_NOISE_PCT);
  const size_t mark = plag_workspace_mark(model->workspace);
  double *difference =
      plag_workspace_take(model->workspace, MOST_DIFFERENCES, sizeof difference[0]);
  if (!difference)
    return plag_error_memory(error, "the noise of a trace");
  const size_t count = collect(trace, difference);
  /* Their sd is sqrt(6) times that of one reading. A lower quantile than the median starts the
   * clipping, since plates may move in more than half of a busy record. */
  const double least_spread = sqrt(6.0) * least;
  double spread = count > 0 ? plag_quantile(difference, count, 0.3) / 0.3853 : 0.0;
  spread = fmax(spread, least_spread);
  for (int round = 0; round < 4; round++)
    spread = fmax(clipped_rms(difference, count, CLIP_SDS * spread) / CLIPPED_SD, least_spread);
  model->noise_pct = spread / sqrt(6.0);
  plag_workspace_release(model->workspace, mark);
  return PLATELAG_OK;
}
