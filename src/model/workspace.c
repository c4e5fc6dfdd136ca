/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Scratch as a chain of blocks. A reset joins them into one, so that from the second capture on
 * nothing is allocated. */
#include "model/workspace.h"

#include <gsl/gsl_errno.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "model/parts.h"
#include "platelag/platelag.h"

/* Holds what most traces take: a block that comes and goes costs the system more than its size, and
 * pages that nobody touches cost nothing. */
#define FIRST_BLOCK_BYTES ((size_t)2 * 1024 * 1024)
#define ALIGNMENT         16U

struct block {
  struct block *next; /* older */
  size_t base;        /* bytes in the blocks before this one */
  size_t size;
  size_t used;
  _Alignas(ALIGNMENT) unsigned char bytes[];
};

struct platelag_workspace {
  struct block *block; /* newest first */
  size_t wanted;       /* size of the next first block */
};

void platelag_library_start(void) {
  (void)gsl_set_error_handler_off();
}

platelag_status platelag_workspace_create(platelag_workspace **out, platelag_error *error) {
  *out = calloc(1, sizeof **out);
  if (!*out)
    return plag_error_memory(error, "the model's workspace");
  (*out)->wanted = FIRST_BLOCK_BYTES;
  return PLATELAG_OK;
}

static void free_until(platelag_workspace *workspace, const struct block *last) {
  while (workspace->block != last) {
    struct block *older = workspace->block->next;
    free(workspace->block);
    workspace->block = older;
  }
}

void platelag_workspace_destroy(platelag_workspace *workspace) {
  if (!workspace)
    return;
  free_until(workspace, NULL);
  free(workspace);
}

void plag_workspace_reset(platelag_workspace *workspace) {
  struct block *newest = workspace->block;
  if (!newest)
    return;
  if (newest->next) {
    workspace->wanted = newest->base + newest->size;
    free_until(workspace, NULL);
  } else {
    newest->used = 0;
  }
}

size_t plag_workspace_mark(const platelag_workspace *workspace) {
  return workspace->block ? workspace->block->base + workspace->block->used : 0;
}

void plag_workspace_release(platelag_workspace *workspace, size_t mark) {
  while (workspace->block && workspace->block->next && workspace->block->base >= mark) {
    struct block *older = workspace->block->next;
    /* The reset joins blocks by the newest's extent; keep that in mind while giving it back. */
    if (workspace->wanted < workspace->block->base + workspace->block->size)
      workspace->wanted = workspace->block->base + workspace->block->size;
    free(workspace->block);
    workspace->block = older;
  }
  if (workspace->block && workspace->block->base + workspace->block->used > mark)
    workspace->block->used = mark > workspace->block->base ? mark - workspace->block->base : 0;
}

static struct block *add_block(platelag_workspace *workspace, size_t need) {
  size_t size = workspace->block ? workspace->block->size : workspace->wanted;
  if (size < need)
    size = need;
  if (size > SIZE_MAX - sizeof(struct block))
    return NULL;
  struct block *block = malloc(sizeof *block + size);
  if (!block)
    return NULL;
  block->next = workspace->block;
  block->base = workspace->block ? workspace->block->base + workspace->block->size : 0;
  block->size = size;
  block->used = 0;
  workspace->block = block;
  return block;
}

void *plag_workspace_take(platelag_workspace *workspace, size_t count, size_t size) {
  if (size != 0 && count > (SIZE_MAX - ALIGNMENT) / size)
    return NULL;
  const size_t need = (count * size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
  struct block *block = workspace->block;
  if (!block || block->size - block->used < need)
    block = add_block(workspace, need);
  if (!block)
    return NULL;
  void *bytes = block->bytes + block->used;
  block->used += need;
  memset(bytes, 0, need);
  return bytes;
}
