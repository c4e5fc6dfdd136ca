/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run over a fleet: one thread finds files, workers judge them, each with a workspace of its own,
 * and the calling thread alone writes. */
#include <errno.h>
#include <malloc.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/error.h"
#include "fleet/examine.h"
#include "fleet/queue.h"
#include "fleet/search.h"

enum { PROGRESS_MS = 200, JOBS_MOST = 256 };

/* What a worker hands over: a result, and whether an older one was left. */
typedef struct done {
  plag_result *result;
  bool outdated;
} done;

typedef struct crew {
  plag_examination with;
  plag_path_list list; /* of standard input */
  bool listed;
  plag_queue paths, results;
  atomic_bool stop;    /* nothing new is begun */
  atomic_size_t total; /* found by the count before; 0: not known yet */
  atomic_size_t left_out;
  atomic_uint workers; /* still at work */
  pthread_mutex_t lock;
  platelag_status status; /* the first failure */
  platelag_error error;
  platelag_fleet_counts *counts;
} crew;

static void fail(crew *c, platelag_status status, const platelag_error *why) {
  (void)pthread_mutex_lock(&c->lock);
  if (c->status == PLATELAG_OK) {
    c->status = status;
    c->error = *why;
  }
  (void)pthread_mutex_unlock(&c->lock);
  atomic_store(&c->stop, true);
}

static void fail_for_memory(crew *c, const char *what) {
  platelag_error why = {0};
  fail(c, plag_error_memory(&why, what), &why);
}

/* --- finding --------------------------------------------------------------------------------- */

static bool push_path(void *context, const char *path) {
  crew *c = context;
  char *copy = strdup(path);
  if (copy == NULL)
    fail_for_memory(c, "a path");
  if (copy != NULL && !plag_queue_push(&c->paths, copy))
    free(copy);
  return !atomic_load(&c->stop);
}

static void drop(done *item) {
  if (item == NULL)
    return;
  plag_result_destroy(item->result);
  free(item);
}

static bool push_result(crew *c, plag_result *result, bool outdated) {
  done *item = calloc(1, sizeof *item);
  if (item == NULL) {
    plag_result_destroy(result);
    fail_for_memory(c, "a result");
    return false;
  }
  *item = (done){result, outdated};
  if (!plag_queue_push(&c->results, item))
    drop(item);
  return !atomic_load(&c->stop);
}

static bool push_trouble(void *context, const char *path, const char *why) {
  crew *c = context;
  plag_result *result = plag_result_create(path);
  if (result != NULL) {
    result->state = PLAG_RESULT_TROUBLED;
    result->why = plag_arena_copy_text(&result->arena, why);
  }
  if (result == NULL || result->why == NULL) {
    plag_result_destroy(result);
    fail_for_memory(c, "a result");
    return false;
  }
  return push_result(c, result, false);
}

static void tell_no_memory(void *context) {
  fail_for_memory(context, "the search for captures");
}

static void count_left_out(void *context) {
  atomic_fetch_add(&((crew *)context)->left_out, 1);
}

static bool walk_all(crew *c, const plag_search_visitor *visitor) {
  const platelag_fleet_work *work = c->with.work;
  bool on = true;
  for (size_t i = 0; i < work->path_count && on; i++)
    on = strcmp(work->path[i], "-") == 0 ? plag_search_list(&c->list, visitor)
                                         : plag_search(work->path[i], visitor);
  return on;
}

/* Counts as it goes, and queues nothing. */
typedef struct counting {
  crew *c;
  size_t total;
} counting;

static bool count_file(void *context, const char *path) {
  counting *counted = context;
  (void)path;
  counted->total++;
  return !atomic_load(&counted->c->stop);
}

static bool count_trouble(void *context, const char *path, const char *why) {
  (void)why;
  return count_file(context, path);
}

static void count_no_file(void *context) {
  (void)context;
}

static void count_no_memory(void *context) {
  tell_no_memory(((counting *)context)->c);
}

/* Once through for the number alone, where someone wants to know how long it takes. */
static void count_all(crew *c) {
  counting counted = {.c = c};
  const plag_search_visitor visitor = {count_file, count_trouble, count_no_file, count_no_memory,
                                       &counted};
  if (walk_all(c, &visitor))
    atomic_store(&c->total, counted.total);
}

static void *find(void *context) {
  crew *c = context;
  const plag_search_visitor visitor = {push_path, push_trouble, count_left_out, tell_no_memory, c};
  if (c->with.work->progress != NULL)
    count_all(c);
  (void)walk_all(c, &visitor);
  plag_queue_close(&c->paths);
  return NULL;
}

/* --- judging --------------------------------------------------------------------------------- */

static void examine_path(crew *c, platelag_workspace *workspace, const char *path) {
  platelag_error why = {0};
  plag_result *result = NULL;
  bool outdated = false;
  const platelag_status status = plag_examine(&c->with, workspace, path, &result, &outdated, &why);
  if (status != PLATELAG_OK)
    fail(c, status, &why);
  else
    (void)push_result(c, result, outdated);
}

static void *judge(void *context) {
  crew *c = context;
  platelag_workspace *workspace = NULL;
  platelag_error why = {0};
  bool over = false;
  const platelag_status status = platelag_workspace_create(&workspace, &why);
  if (status != PLATELAG_OK)
    fail(c, status, &why);
  while (!over) {
    char *path = plag_queue_pop(&c->paths, -1, &over);
    if (path != NULL && !atomic_load(&c->stop))
      examine_path(c, workspace, path);
    free(path);
  }
  platelag_workspace_destroy(workspace);
  if (atomic_fetch_sub(&c->workers, 1) == 1)
    plag_queue_close(&c->results);
  return NULL;
}

/* --- writing --------------------------------------------------------------------------------- */

static void count(platelag_fleet_counts *counts, const done *item) {
  size_t *const by_state[] = {[PLAG_RESULT_JUDGED] = &counts->judged,
                              [PLAG_RESULT_REFUSED] = &counts->refused,
                              [PLAG_RESULT_TROUBLED] = &counts->troubled,
                              [PLAG_RESULT_KNOWN] = &counts->known,
                              [PLAG_RESULT_ELSEWHERE] = &counts->elsewhere};
  ++*by_state[item->result->state];
  counts->seen++;
  counts->outdated += item->outdated;
  counts->bytes += (double)item->result->bytes;
}

static void tell_progress(crew *c) {
  c->counts->total = atomic_load(&c->total);
  c->counts->left_out = atomic_load(&c->left_out);
  if (c->with.work->progress != NULL)
    c->with.work->progress(c->with.work->context, c->counts);
}

static void write_one(crew *c, done *item) {
  platelag_error why = {0};
  const platelag_status status = plag_store_put(c->with.store, item->result, &why);
  if (status != PLATELAG_OK)
    fail(c, status, &why);
  else
    count(c->counts, item);
}

static bool has_failed(crew *c) {
  (void)pthread_mutex_lock(&c->lock);
  const bool failed = c->status != PLATELAG_OK;
  (void)pthread_mutex_unlock(&c->lock);
  return failed;
}

/* The next result. Before it is waited for, what was written is kept for good, so that a run that
 * is killed loses no more than what is under way. */
static done *next_result(crew *c, bool *over) {
  platelag_error why = {0};
  done *item = plag_queue_pop(&c->results, 0, over);
  if (item != NULL || *over)
    return item;
  const platelag_status status = plag_store_commit(c->with.store, &why);
  if (status != PLATELAG_OK)
    fail(c, status, &why);
  return plag_queue_pop(&c->results, PROGRESS_MS, over);
}

/* Takes results until no worker is left. After a failure they are only let go. */
static void write_results(crew *c) {
  const platelag_fleet_work *work = c->with.work;
  bool over = false;
  while (!over) {
    done *item = next_result(c, &over);
    if (item != NULL && !has_failed(c))
      write_one(c, item);
    drop(item);
    if (work->stopped != NULL && work->stopped(work->context))
      atomic_store(&c->stop, true);
    tell_progress(c);
  }
}

/* --- the whole ------------------------------------------------------------------------------- */

static unsigned jobs_of(const platelag_fleet_work *work) {
  const long processors = sysconf(_SC_NPROCESSORS_ONLN);
  const unsigned jobs = work->jobs > 0 ? work->jobs : processors > 0 ? (unsigned)processors : 1;
  return jobs < JOBS_MOST ? jobs : JOBS_MOST;
}

/* As many as the machine starts do the work. None at all fails the run. */
static void run_threads(crew *c) {
  pthread_t finder;
  pthread_t worker[JOBS_MOST];
  unsigned started = 0;
  const unsigned jobs = jobs_of(c->with.work);
  atomic_store(&c->workers, jobs);
  const bool finds = pthread_create(&finder, NULL, find, c) == 0;
  if (!finds)
    plag_queue_close(&c->paths);
  while (started < jobs && pthread_create(&worker[started], NULL, judge, c) == 0)
    started++;
  if (started < jobs && atomic_fetch_sub(&c->workers, jobs - started) == jobs - started)
    plag_queue_close(&c->results);
  if (!finds || started == 0)
    fail_for_memory(c, "threads");
  write_results(c);
  plag_queue_close(&c->paths);
  for (unsigned i = 0; i < started; i++)
    (void)pthread_join(worker[i], NULL);
  if (finds)
    (void)pthread_join(finder, NULL);
}

static void empty(plag_queue *queue, void (*let_go)(void *)) {
  bool over = false;
  void *item = NULL;
  plag_queue_close(queue);
  while ((item = plag_queue_pop(queue, 0, &over)) != NULL)
    let_go(item);
  plag_queue_end(queue);
}

static void drop_item(void *item) {
  drop(item);
}

static platelag_status run(crew *c, platelag_error *error) {
  plag_queue_begin(&c->paths);
  plag_queue_begin(&c->results);
  (void)pthread_mutex_init(&c->lock, NULL);
  run_threads(c);
  empty(&c->paths, free);
  empty(&c->results, drop_item);
  (void)pthread_mutex_destroy(&c->lock);
  platelag_error nothing = {0};
  const bool failed = c->status != PLATELAG_OK;
  /* After a failure too: what was counted as done is kept. */
  const platelag_status status = plag_store_commit(c->with.store, failed ? &nothing : error);
  if (failed && error != NULL)
    *error = c->error;
  if (failed || status != PLATELAG_OK)
    return failed ? c->status : status;
  return plag_store_forget_orphans(c->with.store, error);
}

/* A folder that is not there is a slip of who asked, not a capture's trouble. */
static platelag_status check_paths(const platelag_fleet_work *work, platelag_error *error) {
  for (size_t i = 0; i < work->path_count; i++)
    if (strcmp(work->path[i], "-") != 0 && access(work->path[i], F_OK) != 0)
      return plag_error_set(error, PLATELAG_ERROR_NOT_FOUND, work->path[i], 0, 0, "%s",
                            strerror(errno));
  return PLATELAG_OK;
}

static platelag_status read_list(crew *c, platelag_error *error) {
  const platelag_fleet_work *work = c->with.work;
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; i < work->path_count && status == PLATELAG_OK; i++)
    if (strcmp(work->path[i], "-") == 0 && !c->listed) {
      c->listed = true;
      status = plag_path_list_read(STDIN_FILENO, work->stopped, work->context, &c->list, error);
    }
  return status;
}

/* The workers' memory and the manifest's go back to the machine, so that the ranking that follows
 * finds it free and the whole takes no more than its greater half. */
static void give_memory_back(void) {
#ifdef __GLIBC__
  (void)malloc_trim(0);
#endif
}

platelag_status platelag_fleet_run(platelag_fleet_store *store, const platelag_fleet_work *work,
                                   platelag_fleet_counts *counts, platelag_error *error) {
  plag_manifest manifest = {0};
  plag_pattern pattern;
  char settings[PLAG_KEY_BYTES];
  *counts = (platelag_fleet_counts){0};
  crew c = {.counts = counts, .with = {.work = work, .store = store, .settings = settings}};
  platelag_status status = check_paths(work, error);
  if (status == PLATELAG_OK)
    status = plag_database_ready(plag_store_database(store), true, error);
  if (status == PLATELAG_OK)
    status = plag_examine_settings(work, settings, error);
  if (status == PLATELAG_OK && work->pattern != NULL) {
    status = plag_pattern_read(work->pattern, &pattern, error);
    c.with.pattern = &pattern;
  }
  if (status == PLATELAG_OK && work->manifest != NULL) {
    status = plag_manifest_read(work->manifest, &manifest, error);
    c.with.manifest = &manifest;
  }
  if (status == PLATELAG_OK)
    status = read_list(&c, error);
  if (status == PLATELAG_OK && work->manifest != NULL)
    status = plag_store_put_repairs(store, &manifest, error);
  if (status == PLATELAG_OK)
    status = plag_store_forget_troubles(store, error);
  if (status == PLATELAG_OK)
    status = run(&c, error);
  plag_path_list_clear(&c.list);
  plag_manifest_clear(&manifest);
  give_memory_back();
  return status;
}
