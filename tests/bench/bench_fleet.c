/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run over a made-up fleet, from outside: captures a second with one worker and with two, memory
 * against the number of captures, a run that finds nothing new, the report with all its outputs.
 *
 *   bench_fleet [CAPTURES [ROUNDS [PROGRAM]]]     default: 10000 captures, 3 rounds
 *
 * One worker and two take turns, and the best of each counts: others may be at work on the machine.
 * Where something stands in the way of two workers it costs in every round. */
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { PATH_BYTES = 512, FEW = 1000 };

typedef struct cost {
  double wall_s, processor_s, memory_mb;
} cost;

static const char *program;
static char folder[] = "/tmp/platelag-fleet-XXXXXX";

static void stop(const char *what) {
  (void)fprintf(stderr, "bench_fleet: %s: %s\n", what, errno != 0 ? strerror(errno) : "failed");
  exit(1);
}

typedef struct place {
  char path[PATH_BYTES];
} place;

static place in_folder(const char *name) {
  place made;
  (void)snprintf(made.path, sizeof made.path, "%s/%s", folder, name);
  return made;
}

static double now_s(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static double seconds(const struct timeval *time) {
  return (double)time->tv_sec + 1e-6 * (double)time->tv_usec;
}

/* Runs `argument` (NULL at its end), its output thrown away, and tells what it cost. */
static cost run(const char *const *argument) {
  struct rusage used;
  int status = 0;
  const double began_s = now_s();
  const pid_t child = fork();
  if (child == 0) {
    const int nowhere = open("/dev/null", O_WRONLY);
    (void)dup2(nowhere, STDOUT_FILENO);
    (void)dup2(nowhere, STDERR_FILENO);
    (void)execv(argument[0], (char *const *)argument);
    _exit(127);
  }
  errno = 0;
  if (child < 0 || wait4(child, &status, 0, &used) != child || status != 0)
    stop(argument[0]);
  return (cost){now_s() - began_s, seconds(&used.ru_utime) + seconds(&used.ru_stime),
                (double)used.ru_maxrss * 1024 / 1e6};
}

static void make_fleet(const char *name, size_t captures) {
  char count[32];
  (void)snprintf(count, sizeof count, "%zu", captures);
  (void)setenv("PLATELAG", program, 1);
  const place fleet = in_folder(name);
  const char *const argument[] = {PLATELAG_SOURCE "/scripts/make-fleet", fleet.path, count, NULL};
  const cost spent = run(argument);
  printf("fleet of %zu captures made in %.0f s\n", captures, spent.wall_s);
}

static void forget_store(const char *store) {
  char path[PATH_BYTES + 8];
  static const char *const ends[] = {"", "-wal", "-shm"};
  for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
    (void)snprintf(path, sizeof path, "%s%s", store, ends[i]);
    (void)unlink(path);
  }
}

/* Judges a fleet into `store`. */
static cost judge(const char *fleet, const char *store, const char *jobs) {
  char captures[PATH_BYTES], manifest[PATH_BYTES];
  (void)snprintf(captures, sizeof captures, "%s/%s/captures", folder, fleet);
  (void)snprintf(manifest, sizeof manifest, "%s/%s/manifest.csv", folder, fleet);
  const char *const argument[] = {program, "fleet",  captures, "--manifest", manifest, "--store",
                                  store,   "--jobs", jobs,     "--quiet",    NULL};
  return run(argument);
}

static void better(cost *best, cost now) {
  if (best->wall_s == 0 || now.wall_s < best->wall_s)
    best->wall_s = now.wall_s;
  if (best->processor_s == 0 || now.processor_s < best->processor_s)
    best->processor_s = now.processor_s;
  if (now.memory_mb > best->memory_mb)
    best->memory_mb = now.memory_mb;
}

/* One worker and two, in turns. */
static void tell_speed(const char *fleet, size_t captures, int rounds) {
  cost best[2] = {{0}};
  static const char *const jobs[] = {"1", "2"};
  const place store = in_folder("speed.db");
  for (int round = 0; round < rounds; round++)
    for (int i = 0; i < 2; i++) {
      forget_store(store.path);
      better(&best[i], judge(fleet, store.path, jobs[i]));
    }
  printf("%zu captures, best of %d: one worker %.1f a second, two %.1f: %.2f times (wanted 1.8); "
         "processor time %.2f and %.2f ms a capture\n",
         captures, rounds, (double)captures / best[0].wall_s, (double)captures / best[1].wall_s,
         best[0].wall_s / best[1].wall_s, 1e3 * best[0].processor_s / (double)captures,
         1e3 * best[1].processor_s / (double)captures);
}

static double megabytes(const char *path) {
  struct stat is;
  return stat(path, &is) == 0 ? (double)is.st_size / 1e6 : 0;
}

/* Everything that can come out, from the store alone. */
static cost report(const char *store) {
  const place page = in_folder("fleet.html");
  const place lines = in_folder("fleet.jsonl");
  const place table = in_folder("fleet.csv");
  const place metrics = in_folder("fleet.prom");
  const char *const argument[] = {program,      "fleet",    "--store", store,       "--report",
                                  "--quiet",    "--html",   page.path, "--reports", "0",
                                  "--jsonl",    lines.path, "--csv",   table.path,  "--metrics",
                                  metrics.path, NULL};
  return run(argument);
}

static void tell_whole(size_t captures) {
  const place few = in_folder("few.db");
  const place all = in_folder("all.db");
  const char *store = all.path;
  const cost of_few = judge("few", few.path, "2");
  const cost of_all = judge("all", store, "2");
  printf(
      "peak memory at %d captures %.1f MB, at %zu %.1f MB: %+.1f %% (wanted at most 10); %.0f s\n",
      FEW, of_few.memory_mb, captures, of_all.memory_mb,
      100 * (of_all.memory_mb / of_few.memory_mb - 1), of_all.wall_s);
  cost again = {0};
  for (int i = 0; i < 3; i++)
    better(&again, judge("all", store, "2"));
  printf("a second run that finds nothing new: %.2f s, %.1f MB\n", again.wall_s, again.memory_mb);
  cost reported = {0};
  for (int i = 0; i < 3; i++)
    better(&reported, report(store));
  printf("the report with page, JSON lines, CSV and metrics: %.2f s, %.1f MB\n", reported.wall_s,
         reported.memory_mb);
  printf("the store: %.1f MB, %.2f kB a capture\n", megabytes(store),
         1e3 * megabytes(store) / (double)captures);
}

static void remove_folder(void) {
  const char *const argument[] = {"/bin/rm", "-rf", folder, NULL};
  (void)run(argument);
}

int main(int count, char **argument) {
  const size_t captures = count > 1 ? strtoul(argument[1], NULL, 10) : 10000;
  const int rounds = count > 2 ? atoi(argument[2]) : 3;
  program = count > 3 ? argument[3] : PLATELAG_PROGRAM;
  (void)setvbuf(stdout, NULL, _IOLBF, 0);
  if (mkdtemp(folder) == NULL)
    stop(folder);
  make_fleet("few", FEW);
  make_fleet("all", captures);
  tell_speed("few", FEW, rounds);
  tell_whole(captures);
  remove_folder();
  return 0;
}
