/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes into the queue comes out once and in order, however many threads push and pop, and
 * closing it wakes whoever waits, at a full queue and at an empty one. */
#include "support/check.h"

#include <stdatomic.h>
#include <time.h>
#include <unistd.h>

#include "fleet/queue.h"

static void items_come_out_in_order(void **state) {
  (void)state;
  plag_queue queue;
  int item[PLAG_QUEUE_LENGTH];
  bool over = true;
  plag_queue_begin(&queue);
  for (int round = 0; round < 3; round++) {
    for (int i = 0; i < PLAG_QUEUE_LENGTH - round; i++)
      assert_true(plag_queue_push(&queue, &item[i]));
    for (int i = 0; i < PLAG_QUEUE_LENGTH - round; i++) {
      assert_ptr_equal(plag_queue_pop(&queue, -1, &over), &item[i]);
      assert_false(over);
    }
  }
  assert_null(plag_queue_pop(&queue, 0, &over));
  assert_false(over);
  plag_queue_end(&queue);
}

static void what_is_in_a_closed_queue_may_be_taken(void **state) {
  (void)state;
  plag_queue queue;
  int item[2];
  bool over = true;
  plag_queue_begin(&queue);
  assert_true(plag_queue_push(&queue, &item[0]));
  assert_true(plag_queue_push(&queue, &item[1]));
  plag_queue_close(&queue);
  plag_queue_close(&queue);
  assert_false(plag_queue_push(&queue, &item[0]));
  assert_ptr_equal(plag_queue_pop(&queue, -1, &over), &item[0]);
  assert_false(over);
  assert_ptr_equal(plag_queue_pop(&queue, 1000, &over), &item[1]);
  assert_false(over);
  assert_null(plag_queue_pop(&queue, -1, &over));
  assert_true(over);
  plag_queue_end(&queue);
}

static double seconds(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void a_wait_ends_in_time(void **state) {
  (void)state;
  plag_queue queue;
  bool over = true;
  plag_queue_begin(&queue);
  const double begun = seconds();
  assert_null(plag_queue_pop(&queue, 1073, &over));
  assert_false(over);
  assert_between(seconds() - begun, 1.07, 60);
  plag_queue_end(&queue);
}

enum { PUSHERS = 5, POPPERS = 4, EACH = 2003 };

typedef struct traffic {
  plag_queue queue;
  atomic_size_t pushers, pushed;
  atomic_uchar seen[PUSHERS * EACH];
} traffic;

static void *push_many(void *context) {
  traffic *t = context;
  const size_t first = atomic_fetch_add(&t->pushed, EACH);
  for (size_t i = 0; i < EACH; i++)
    if (!plag_queue_push(&t->queue, &t->seen[first + i]))
      return t;
  if (atomic_fetch_sub(&t->pushers, 1) == 1)
    plag_queue_close(&t->queue);
  return NULL;
}

static void *pop_many(void *context) {
  traffic *t = context;
  for (bool over = false; !over;) {
    atomic_uchar *item = plag_queue_pop(&t->queue, -1, &over);
    if (item != NULL)
      atomic_fetch_add(item, 1);
  }
  return NULL;
}

static void nothing_is_lost_between_threads(void **state) {
  (void)state;
  static traffic t;
  pthread_t thread[PUSHERS + POPPERS];
  plag_queue_begin(&t.queue);
  atomic_store(&t.pushers, PUSHERS);
  for (int i = 0; i < PUSHERS + POPPERS; i++)
    assert_int_equal(pthread_create(&thread[i], NULL, i < PUSHERS ? push_many : pop_many, &t), 0);
  for (int i = 0; i < PUSHERS + POPPERS; i++) {
    void *failed = NULL;
    assert_int_equal(pthread_join(thread[i], &failed), 0);
    assert_null(failed);
  }
  for (size_t i = 0; i < (size_t)PUSHERS * EACH; i++)
    assert_int_equal(atomic_load(&t.seen[i]), 1);
  plag_queue_end(&t.queue);
}

static void *push_one(void *context) {
  static int item;
  return plag_queue_push(context, &item) ? &item : NULL;
}

static void *pop_one(void *context) {
  bool over = false;
  void *item = plag_queue_pop(context, -1, &over);
  return over ? item : context;
}

/* A waiting thread, at a full queue or at an empty one, and the queue closed behind its back. */
static void closing_wakes_those_who_wait(void **state) {
  (void)state;
  for (int full = 0; full < 2; full++) {
    plag_queue queue;
    pthread_t thread;
    int item = 0;
    void *got = &item;
    plag_queue_begin(&queue);
    for (int i = 0; full && i < PLAG_QUEUE_LENGTH; i++)
      assert_true(plag_queue_push(&queue, &item));
    assert_int_equal(pthread_create(&thread, NULL, full ? push_one : pop_one, &queue), 0);
    (void)usleep(70000);
    plag_queue_close(&queue);
    assert_int_equal(pthread_join(thread, &got), 0);
    assert_null(got);
    plag_queue_end(&queue);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(items_come_out_in_order),
      cmocka_unit_test(what_is_in_a_closed_queue_may_be_taken),
      cmocka_unit_test(a_wait_ends_in_time),
      cmocka_unit_test(nothing_is_lost_between_threads),
      cmocka_unit_test(closing_wakes_those_who_wait),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
