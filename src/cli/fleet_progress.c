/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a fleet's run tells meanwhile, and the signals that end it. */
#include <signal.h>
#include <unistd.h>

#include "fleet.h"

static volatile sig_atomic_t caught = 0;

/* The first asks to end in good order; the second ends at once, as if nobody listened. */
static void catch (int number) {
  caught = number;
  (void)signal(number, SIG_DFL);
}

int cli_caught(void) {
  return caught;
}

/* What whoever started the program had ignored stays ignored (nohup, a shell's background). */
void cli_catch_signals(void) {
  static const int ends[] = {SIGINT, SIGTERM};
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
    if (signal(ends[i], catch) == SIG_IGN)
      (void)signal(ends[i], SIG_IGN);
}

static double seconds_between(const struct timespec *from, const struct timespec *to) {
  return (double)(to->tv_sec - from->tv_sec) + 1e-9 * (double)(to->tv_nsec - from->tv_nsec);
}

enum { LEFT_BYTES = 48 };

/* "3 min left"; "" while nobody can know. */
static const char *time_left(const platelag_fleet_counts *counts, double spent_s,
                             char text[LEFT_BYTES]) {
  text[0] = '\0';
  if (counts->total <= counts->seen || counts->seen == 0 || spent_s < 1)
    return text;
  const double left_s = spent_s / (double)counts->seen * (double)(counts->total - counts->seen);
  if (left_s < 90)
    (void)snprintf(text, LEFT_BYTES, ", %d s left", (int)left_s + 1);
  else if (left_s < 5400)
    (void)snprintf(text, LEFT_BYTES, ", %d min left", (int)(left_s / 60) + 1);
  else
    (void)snprintf(text, LEFT_BYTES, ", %d h left", (int)(left_s / 3600) + 1);
  return text;
}

/* On a terminal a line that is written over; else a line every half minute. */
void cli_progress_tell(void *progress, const platelag_fleet_counts *counts) {
  static const double EVERY_S[] = {30, 0.2};
  cli_progress *p = progress;
  char left[LEFT_BYTES];
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  if (seconds_between(&p->told, &now) < EVERY_S[p->terminal])
    return;
  p->told = now;
  const double spent_s = seconds_between(&p->begun, &now);
  (void)fprintf(stderr, "%s%zu", p->terminal ? "\r" : "platelag: ", counts->seen);
  if (counts->total > 0)
    (void)fprintf(stderr, " of %zu", counts->total);
  (void)fprintf(stderr, " captures, %.0f a second%s, %zu refused, %zu not read%s",
                spent_s > 0 ? (double)counts->seen / spent_s : 0.0,
                time_left(counts, spent_s, left), counts->refused, counts->troubled,
                p->terminal ? "\033[K" : "\n");
  p->shown = p->terminal;
}

void cli_progress_end(const cli_progress *p, const platelag_fleet_counts *counts) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  if (p->shown)
    (void)fputs("\r\033[K", stderr);
  (void)fprintf(stderr, "platelag: %zu judged, %zu known before, %zu refused, %zu not read",
                counts->judged, counts->known, counts->refused, counts->troubled);
  if (counts->elsewhere > 0)
    (void)fprintf(stderr, ", %zu of other shards", counts->elsewhere);
  if (counts->left_out > 0)
    (void)fprintf(stderr, ", %zu other files left out", counts->left_out);
  (void)fprintf(stderr, "; %.1f s\n", seconds_between(&p->begun, &now));
  if (counts->outdated > 0)
    (void)fprintf(stderr,
                  "platelag: %zu of the known ones were judged by another version or with another "
                  "spec; --redo judges them again\n",
                  counts->outdated);
}

void cli_progress_begin(cli_progress *progress) {
  *progress = (cli_progress){.terminal = isatty(STDERR_FILENO) != 0};
  (void)clock_gettime(CLOCK_MONOTONIC, &progress->begun);
  progress->told = progress->begun;
}
