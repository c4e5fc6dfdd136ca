/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Scratch of the model: one block that grows to what the largest capture needed and is then used
 * again. plag_workspace_take is told in parts.h. */
#ifndef PLAG_MODEL_WORKSPACE_H
#define PLAG_MODEL_WORKSPACE_H

#include <stddef.h>

#include "platelag/fit.h"

/* Forgets the content and keeps the memory: what was taken before is no longer valid. */
void plag_workspace_reset(platelag_workspace *workspace);

/* How much is taken now; plag_workspace_release(mark) gives back all that was taken since. */
size_t plag_workspace_mark(const platelag_workspace *workspace);
void plag_workspace_release(platelag_workspace *workspace, size_t mark);

#endif
