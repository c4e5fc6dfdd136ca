/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a review costs beside a bare read: processor time of `platelag review --json` on 100
 * captures of 10 minutes, 10 rows/s and 12 channels, a process each, against libcsv and strtod over
 * the same bytes in this process. Prints both and their ratio; fails above the ratio given.
 *
 *   bench_review_cost [MOST_RATIO [CAPTURES [PROGRAM]]]     default: 3, 100 */
#include <csv.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_BYTES = 256, MOST_CAPTURES = 1000 };

static const char *const faults[] = {"none",         "ridge",    "sticking",  "slow",
                                     "short_travel", "dropouts", "open_wire", "shifted",
                                     "no_drive",     "worn_spot"};

/* Runs the program with its output thrown away; its exit status, or -1. */
static int run(const char *const *argument) {
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

static bool make_capture(const char *program, const char *path, int number) {
  char seed[16];
  (void)snprintf(seed, sizeof seed, "%d", number + 1);
  const char *const argument[] = {program,  "practice", "--fault",   faults[number % 10],
                                  "--seed", seed,       "--minutes", "10",
                                  path,     NULL};
  return run(argument) == 0;
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

int main(int count, char **argument) {
  const double most_ratio = count > 1 ? atof(argument[1]) : 3;
  const int captures = count > 2 ? atoi(argument[2]) : 100;
  const char *program = count > 3 ? argument[3] : PLATELAG_PROGRAM;
  char folder[] = "/tmp/platelag-bench-XXXXXX";
  if (mkdtemp(folder) == NULL || captures < 1 || captures > MOST_CAPTURES) {
    perror("bench_review_cost");
    return 1;
  }
  char path[PATH_BYTES];
  int failed = 0;
  for (int i = 0; i < captures; i++) {
    path_of(path, folder, i);
    failed += !make_capture(program, path, i);
  }

  const double bare_from_s = spent_s(RUSAGE_SELF);
  tally counted = {0, 0};
  size_t bytes = 0;
  for (int i = 0; i < captures; i++) {
    path_of(path, folder, i);
    bytes += read_bare(path, &counted);
  }
  const double bare_s = spent_s(RUSAGE_SELF) - bare_from_s;

  const double review_from_s = spent_s(RUSAGE_CHILDREN);
  for (int i = 0; i < captures; i++) {
    path_of(path, folder, i);
    const char *const review[] = {program, "review", "--json", path, NULL};
    failed += run(review) != 0;
  }
  const double review_s = spent_s(RUSAGE_CHILDREN) - review_from_s;

  const double start_from_s = spent_s(RUSAGE_CHILDREN);
  for (int i = 0; i < captures; i++) {
    const char *const version[] = {program, "--version", NULL};
    failed += run(version) != 0;
  }
  const double start_s = spent_s(RUSAGE_CHILDREN) - start_from_s;

  for (int i = 0; i < captures; i++) {
    path_of(path, folder, i);
    (void)unlink(path);
    (void)strcat(path, ".truth.json");
    (void)unlink(path);
  }
  (void)rmdir(folder);
  printf("review cost: %d captures, %.0f kB and %zu cells each\n"
         "  bare libcsv + strtod %.2f ms, review --json %.2f ms (start of the program %.2f ms)\n"
         "  ratio %.2f (at most %.1f)%s\n",
         captures, (double)bytes / captures / 1000, counted.cells / (size_t)captures,
         1000 * bare_s / captures, 1000 * review_s / captures, 1000 * start_s / captures,
         review_s / bare_s, most_ratio, failed > 0 ? "; SOME RUNS FAILED" : "");
  return failed == 0 && review_s <= most_ratio * bare_s ? 0 : 1;
}
