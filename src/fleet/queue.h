/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A queue of bounded length between threads. */
#ifndef PLAG_FLEET_QUEUE_H
#define PLAG_FLEET_QUEUE_H

#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>

enum { PLAG_QUEUE_LENGTH = 64 };

typedef struct plag_queue {
  void *item[PLAG_QUEUE_LENGTH];
  size_t first, count;
  bool closed;
  pthread_mutex_t lock;
  pthread_cond_t changed;
} plag_queue;

void plag_queue_begin(plag_queue *queue);
void plag_queue_end(plag_queue *queue);

/* Waits for room. False when the queue is closed: the item stays the caller's. */
bool plag_queue_push(plag_queue *queue, void *item);

/* Waits for an item, `most_ms` at most (negative: for ever). NULL when none came; `*over` tells
 * whether none will. */
void *plag_queue_pop(plag_queue *queue, int most_ms, bool *over);

/* Nothing more goes in; what is in it may still be taken. */
void plag_queue_close(plag_queue *queue);

#endif
