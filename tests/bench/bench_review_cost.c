/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a review costs, in processor time, in one run:
 * - beside a bare read: `platelag review --json` on 100 captures of 10 minutes, 10 rows/s and 12
 *   channels, by the score in one process and in a process each, against libcsv and strtod over the
 *   same bytes in this process; the least of seven turns;
 * - the start of the program;
 * - how it grows: captures ten times as long, with few and with many changes of the command.
 * Fails above the limits.
 *
 *   bench_review_cost [MOST_RATIO [CAPTURES [PROGRAM]]]     default: 2, 100; the ratio is that of
 *                                                            captures in one process */
#include <csv.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "platelag/practice.h"

enum {
  PATH_BYTES = 256,
  MOST_CAPTURES = 1000,
  FILLERS = 2,
  GROWTH_RUNS = 5,
  BLOCK = 20,
  TURNS = 7
};
static const double most_start_ms = 10;
static const double most_growth = 11; /* for ten times the rows */

static const char *const faults[] = {"none",         "ridge",    "sticking",  "slow",
                                     "short_travel", "dropouts", "open_wire", "shifted",
                                     "no_drive",     "worn_spot"};

/* Runs the program with its output thrown away; its exit status, or -1. */
static int run(const char *const *argument) {
  (void)fflush(stdout); /* or the child writes it too */
  const pid_t child = fork();
  if (child == 0) {
    if (freopen("/dev/null", "w", stdout) != NULL)
      (void)execv(argument[0], (char *const *)argument);
    _exit(127);
  }
  int status = 0;
  if (child < 0 || waitpid(child, &status, 0) != child || !WIFEXITED(status))
    return -1;
  return WEXITSTATUS(status);
}

static platelag_status write_bytes(void *file, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)error;
  return fwrite(bytes, 1, size, file) == size ? PLATELAG_OK : PLATELAG_ERROR_IO;
}

static bool make_capture(const char *path, const platelag_practice_order *order) {
  FILE *file = fopen(path, "wb");
  if (file == NULL)
    return false;
  const platelag_sink sink = {.context = file, .write = write_bytes};
  platelag_error error = {0};
  const bool made = platelag_practice_write(order, &sink, NULL, &error) == PLATELAG_OK;
  if (!made)
    (void)fprintf(stderr, "bench_review_cost: %s\n", error.message);
  return fclose(file) == 0 && made;
}

static bool make_numbered(const char *path, int number) {
  const platelag_practice_order order = {.fault = faults[number % 10],
                                         .seed = (uint64_t)number + 1,
                                         .minutes = 10,
                                         .extra_channels = FILLERS};
  return make_capture(path, &order);
}

static double seconds_of(const struct rusage *used) {
  return (double)(used->ru_utime.tv_sec + used->ru_stime.tv_sec) +
         1e-6 * (double)(used->ru_utime.tv_usec + used->ru_stime.tv_usec);
}

static double spent_s(int who) {
  struct rusage used;
  (void)getrusage(who, &used);
  return seconds_of(&used);
}

typedef struct tally {
  double sum;
  size_t cells;
} tally;

static void take_cell(void *cell, size_t length, void *context) {
  tally *counted = context;
  (void)length;
  counted->sum += strtod(cell, NULL);
  counted->cells++;
}

static void take_row(int separator, void *context) {
  (void)separator;
  (void)context;
}

/* libcsv over the file in blocks, strtod on every field. Returns the bytes read. */
static size_t read_bare(const char *path, tally *counted) {
  struct csv_parser parser;
  FILE *file = fopen(path, "rb");
  if (file == NULL || csv_init(&parser, CSV_APPEND_NULL) != 0)
    return 0;
  static char block[65536];
  size_t total = 0;
  for (size_t got = fread(block, 1, sizeof block, file); got > 0;
       got = fread(block, 1, sizeof block, file)) {
    total += csv_parse(&parser, block, got, take_cell, take_row, counted);
  }
  (void)csv_fini(&parser, take_cell, take_row, counted);
  csv_free(&parser);
  (void)fclose(file);
  return total;
}

static void path_of(char *path, const char *folder, int number) {
  (void)snprintf(path, PATH_BYTES, "%s/%03d.csv", folder, number);
}

/* Processor time of one process that reviews these captures. */
static double review_all_s(const char *program, char path[][PATH_BYTES], int count, int *failed) {
  const char *review[BLOCK + 4] = {program, "review", "--json"};
  for (int i = 0; i < count; i++)
    review[i + 3] = path[i];
  const double from_s = spent_s(RUSAGE_CHILDREN);
  *failed += run(review) != 0;
  return spent_s(RUSAGE_CHILDREN) - from_s;
}

/* Processor time of one review, mean of `runs`. */
static double review_s(const char *program, const char *path, int runs, int *failed) {
  const double from_s = spent_s(RUSAGE_CHILDREN);
  for (int i = 0; i < runs; i++) {
    const char *const review[] = {program, "review", "--json", path, NULL};
    *failed += run(review) != 0;
  }
  return (spent_s(RUSAGE_CHILDREN) - from_s) / runs;
}

/* Ten times the rows: how many times the cost. */
static bool grows_in_proportion(const char *program, const char *folder, const char *driving,
                                const char *told) {
  static const double minutes[] = {20, 200};
  double cost_s[2] = {0, 0};
  int failed = 0;
  char path[PATH_BYTES];
  path_of(path, folder, MOST_CAPTURES);
  for (int i = 0; i < 2; i++) {
    const platelag_practice_order order = {.fault = "sticking",
                                           .seed = 7,
                                           .minutes = minutes[i],
                                           .driving = driving,
                                           .extra_channels = FILLERS};
    failed += !make_capture(path, &order);
    cost_s[i] = review_s(program, path, GROWTH_RUNS, &failed);
  }
  (void)unlink(path);
  const double growth = cost_s[1] / cost_s[0];
  printf("  %s changes of the command: %.0f minutes %.1f ms, %.0f minutes %.1f ms, times %.2f (at "
         "most %.0f)%s\n",
         told, minutes[0], 1000 * cost_s[0], minutes[1], 1000 * cost_s[1], growth, most_growth,
         failed > 0 ? "; SOME RUNS FAILED" : "");
  return failed == 0 && growth <= most_growth;
}

typedef struct costs {
  double bare_s, together_s, each_s;
  size_t bytes;
  tally counted;
  int failed;
} costs;

/* Processor times of one turn, or the least of several. */
typedef struct turn {
  double bare_s, together_s, each_s;
} turn;

static double lesser(double a, double b) {
  return a < b ? a : b;
}

static turn take_turn(const char *program, char path[][PATH_BYTES], int count, costs *all) {
  turn taken = {0, 0, 0};
  const double from_s = spent_s(RUSAGE_SELF);
  for (int i = 0; i < count; i++)
    all->bytes += read_bare(path[i], &all->counted);
  taken.bare_s = spent_s(RUSAGE_SELF) - from_s;
  taken.together_s = review_all_s(program, path, count, &all->failed);
  for (int i = 0; i < count; i++)
    taken.each_s += review_s(program, path[i], 1, &all->failed);
  return taken;
}

/* Captures `first` and on. By turns, so that the machine's moods meet all three, and the least of
 * several turns: whatever else the machine does only adds. */
static void measure(const char *program, const char *folder, int first, int count, costs *all) {
  char path[BLOCK][PATH_BYTES];
  for (int i = 0; i < count; i++) {
    path_of(path[i], folder, i);
    all->failed += !make_numbered(path[i], first + i);
  }
  turn least = take_turn(program, path, count, all);
  for (int k = 1; k < TURNS; k++) {
    const turn next = take_turn(program, path, count, all);
    least.bare_s = lesser(least.bare_s, next.bare_s);
    least.together_s = lesser(least.together_s, next.together_s);
    least.each_s = lesser(least.each_s, next.each_s);
  }
  all->bare_s += least.bare_s;
  all->together_s += least.together_s;
  all->each_s += least.each_s;
  for (int i = 0; i < count; i++)
    (void)unlink(path[i]);
}

static double start_ms(const char *program, int runs, int *failed) {
  const char *const version[] = {program, "--version", NULL};
  const double from_s = spent_s(RUSAGE_CHILDREN);
  for (int i = 0; i < runs; i++)
    *failed += run(version) != 0;
  return 1000 * (spent_s(RUSAGE_CHILDREN) - from_s) / runs;
}

int main(int count, char **argument) {
  const double most_ratio = count > 1 ? atof(argument[1]) : 2;
  const int captures = count > 2 ? atoi(argument[2]) : 100;
  const char *program = count > 3 ? argument[3] : PLATELAG_PROGRAM;
  char folder[] = "/tmp/platelag-bench-XXXXXX";
  if (mkdtemp(folder) == NULL || captures < 1 || captures > MOST_CAPTURES) {
    perror("bench_review_cost");
    return 1;
  }
  costs all = {0};
  for (int first = 0; first < captures; first += BLOCK)
    measure(program, folder, first, captures - first < BLOCK ? captures - first : BLOCK, &all);
  const double start = start_ms(program, captures, &all.failed);
  const double ratio = all.together_s / all.bare_s;
  const double to_ms = 1000.0 / captures;
  printf("review cost: %d captures, %.0f kB and %zu cells each\n"
         "  bare libcsv + strtod %.2f ms, review --json, %d in a process, %.2f ms: ratio %.2f (at "
         "most %.1f)%s\n"
         "  a process each %.2f ms: ratio %.2f; start of the program %.2f ms (under %.0f)\n",
         captures, (double)all.bytes / TURNS / captures / 1000,
         all.counted.cells / TURNS / (size_t)captures, to_ms * all.bare_s, BLOCK,
         to_ms * all.together_s, ratio, most_ratio, all.failed > 0 ? "; SOME RUNS FAILED" : "",
         to_ms * all.each_s, all.each_s / all.bare_s, start, most_start_ms);
  bool good = all.failed == 0 && ratio <= most_ratio && start < most_start_ms;
  good = grows_in_proportion(program, folder, "idle", "few") && good;
  good = grows_in_proportion(program, folder, "mixed", "many") && good;
  (void)rmdir(folder);
  return good ? 0 : 1;
}
