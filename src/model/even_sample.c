/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/even_sample.h"

#include "model/workspace.h"

bool plag_even_sample_begin(plag_even_sample *sample, platelag_workspace *workspace, size_t room) {
  *sample = (plag_even_sample){.room = room, .stride = 1};
  sample->value = plag_workspace_take(workspace, room, sizeof(double));
  return sample->value != NULL;
}

void plag_even_sample_add(plag_even_sample *sample, double value) {
  if (sample->seen++ % sample->stride != 0)
    return;
  if (sample->count == sample->room) {
    for (size_t i = 0; i < sample->room / 2; i++)
      sample->value[i] = sample->value[2 * i];
    sample->count = sample->room / 2;
    sample->stride *= 2;
    if ((sample->seen - 1) % sample->stride != 0)
      return;
  }
  sample->value[sample->count++] = value;
}
