/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture of 200 channels, made on the fly and piped into `platelag review --json -`: how fast it
 * is read and how much memory that takes. Fails when the memory passes the limit or the review
 * fails.
 *
 *   bench_stream [MEGABYTES [LIMIT_MB [PROGRAM]]]     default: 10000 MB within 300 MB
 *
 * The two channels that matter are a plate that follows its duty with a lag; the others are filler,
 * whose text is made once and written again and again, so that the maker costs little. */
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { FILLERS = 197, FILLER_ROWS = 64, ROW_BYTES = 4096, BLOCK_BYTES = 1 << 18 };

typedef struct maker {
  char filler[FILLER_ROWS][ROW_BYTES];
  size_t filler_length[FILLER_ROWS];
  int64_t row;
  double duty_pct;
  double position_v;
  uint64_t random;
} maker;

static uint32_t draw(maker *made) {
  made->random ^= made->random << 13;
  made->random ^= made->random >> 7;
  made->random ^= made->random << 17;
  return (uint32_t)(made->random >> 32);
}

static void start(maker *made) {
  memset(made, 0, sizeof *made);
  made->random = UINT64_C(0x2545f4914f6cdd1d);
  made->position_v = 1.2;
  for (int row = 0; row < FILLER_ROWS; row++) {
    size_t length = 0;
    for (int channel = 0; channel < FILLERS; channel++)
      length += (size_t)snprintf(made->filler[row] + length, ROW_BYTES - length, ",%u.%02u",
                                 draw(made) % 1000, draw(made) % 100);
    made->filler[row][length++] = '\n';
    made->filler_length[row] = length;
  }
}

static size_t write_header(char *text) {
  size_t length =
      (size_t)sprintf(text, "Time (s),Runner valve duty (%%),Runner valve position (V)");
  for (int channel = 0; channel < FILLERS; channel++)
    length += (size_t)sprintf(text + length, ",Cell %03d (mV)", channel + 1);
  text[length++] = '\n';
  return length;
}

/* Ten rows a second; the duty changes every 4 to 11 s; the plate follows with 0.3 s. */
static size_t write_row(maker *made, char *text) {
  if (made->row % 40 == 0 && draw(made) % 3 != 0)
    made->duty_pct = 5.0 * (double)(draw(made) % 20);
  const double target_v = 1.2 + 2.55 * made->duty_pct / 95.0;
  made->position_v += (target_v - made->position_v) * 0.2835; /* 1 - exp(-0.1 / 0.3) */
  const int counts = (int)(made->position_v / 5.0 * 1023.0 + (double)(draw(made) % 3) - 0.5);
  const int millivolts = counts * 5000 / 1023;
  size_t length = (size_t)sprintf(text, "%lld.%lld,%d.0,%d.%03d", (long long)(made->row / 10),
                                  (long long)(made->row % 10), (int)made->duty_pct,
                                  millivolts / 1000, millivolts % 1000);
  const int filler = (int)(draw(made) % FILLER_ROWS);
  memcpy(text + length, made->filler[filler], made->filler_length[filler]);
  made->row++;
  return length + made->filler_length[filler];
}

static bool write_all(int file, const char *bytes, size_t size) {
  while (size > 0) {
    const ssize_t written = write(file, bytes, size);
    if (written < 0 && errno == EINTR)
      continue;
    if (written <= 0)
      return false;
    bytes += written;
    size -= (size_t)written;
  }
  return true;
}

/* Makes rows until `bytes` are written or the reader has gone. Returns what was written. */
static double pour(maker *made, int file, double bytes) {
  static char block[BLOCK_BYTES + 2 * ROW_BYTES];
  double poured = 0;
  size_t length = write_header(block);
  while (poured < bytes) {
    while (length < BLOCK_BYTES)
      length += write_row(made, block + length);
    if (!write_all(file, block, length))
      break;
    poured += (double)length;
    length = 0;
  }
  return poured;
}

static pid_t start_review(const char *program, int *pipe_in) {
  int ends[2];
  if (pipe(ends) != 0)
    return -1;
  const pid_t child = fork();
  if (child == 0) {
    (void)dup2(ends[0], STDIN_FILENO);
    (void)close(ends[0]);
    (void)close(ends[1]);
    if (freopen("/dev/null", "w", stdout) != NULL)
      (void)execl(program, program, "review", "--json", "-", (char *)NULL);
    _exit(127);
  }
  (void)close(ends[0]);
  *pipe_in = ends[1];
  return child;
}

static double now_s(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int main(int count, char **argument) {
  const double megabytes = count > 1 ? atof(argument[1]) : 10000;
  const double limit_mb = count > 2 ? atof(argument[2]) : 300;
  const char *program = count > 3 ? argument[3] : PLATELAG_PROGRAM;
  (void)signal(SIGPIPE, SIG_IGN);
  static maker made;
  start(&made);
  int pipe_in = -1;
  const double began_s = now_s();
  const pid_t child = start_review(program, &pipe_in);
  if (child < 0) {
    perror("bench_stream");
    return 1;
  }
  const double poured = pour(&made, pipe_in, megabytes * 1e6);
  (void)close(pipe_in);
  int status = 0;
  struct rusage used;
  if (wait4(child, &status, 0, &used) != child) {
    perror("bench_stream");
    return 1;
  }
  const double seconds = now_s() - began_s;
  const double memory_mb = (double)used.ru_maxrss * 1024 / 1e6;
  const bool done = WIFEXITED(status) && WEXITSTATUS(status) == 0 && poured >= megabytes * 1e6;
  printf("stream: %.0f MB, %lld rows of 200 channels, %.1f s, %.0f MB/s, reviewer's memory %.0f MB "
         "(limit %.0f), %.1f bytes a row, exit %d\n",
         poured / 1e6, (long long)made.row, seconds, poured / 1e6 / seconds, memory_mb, limit_mb,
         memory_mb * 1e6 / (double)made.row, WIFEXITED(status) ? WEXITSTATUS(status) : -1);
  return done && memory_mb <= limit_mb ? 0 : 1;
}
