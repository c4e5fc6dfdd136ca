/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/queue.h"

#include <time.h>

void plag_queue_begin(plag_queue *queue) {
  pthread_condattr_t attributes;
  *queue = (plag_queue){0};
  (void)pthread_mutex_init(&queue->lock, NULL);
  (void)pthread_condattr_init(&attributes);
  (void)pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
  (void)pthread_cond_init(&queue->changed, &attributes);
  (void)pthread_condattr_destroy(&attributes);
}

void plag_queue_end(plag_queue *queue) {
  (void)pthread_cond_destroy(&queue->changed);
  (void)pthread_mutex_destroy(&queue->lock);
}

bool plag_queue_push(plag_queue *queue, void *item) {
  (void)pthread_mutex_lock(&queue->lock);
  while (queue->count == PLAG_QUEUE_LENGTH && !queue->closed)
    (void)pthread_cond_wait(&queue->changed, &queue->lock);
  const bool taken = !queue->closed;
  if (taken)
    queue->item[(queue->first + queue->count++) % PLAG_QUEUE_LENGTH] = item;
  (void)pthread_cond_broadcast(&queue->changed);
  (void)pthread_mutex_unlock(&queue->lock);
  return taken;
}

static struct timespec in_ms(int ms) {
  struct timespec until;
  (void)clock_gettime(CLOCK_MONOTONIC, &until);
  until.tv_sec += ms / 1000;
  until.tv_nsec += (long)(ms % 1000) * 1000000;
  if (until.tv_nsec >= 1000000000) {
    until.tv_nsec -= 1000000000;
    until.tv_sec++;
  }
  return until;
}

void *plag_queue_pop(plag_queue *queue, int most_ms, bool *over) {
  const struct timespec until = in_ms(most_ms < 0 ? 0 : most_ms);
  void *item = NULL;
  (void)pthread_mutex_lock(&queue->lock);
  for (int waited = 0; queue->count == 0 && !queue->closed && waited == 0;)
    waited = most_ms < 0 ? pthread_cond_wait(&queue->changed, &queue->lock)
                         : pthread_cond_timedwait(&queue->changed, &queue->lock, &until);
  if (queue->count > 0) {
    item = queue->item[queue->first];
    queue->first = (queue->first + 1) % PLAG_QUEUE_LENGTH;
    queue->count--;
  }
  *over = item == NULL && queue->closed;
  (void)pthread_cond_broadcast(&queue->changed);
  (void)pthread_mutex_unlock(&queue->lock);
  return item;
}

void plag_queue_close(plag_queue *queue) {
  (void)pthread_mutex_lock(&queue->lock);
  queue->closed = true;
  (void)pthread_cond_broadcast(&queue->changed);
  (void)pthread_mutex_unlock(&queue->lock);
}
