/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sample captures are what their orders make, to the byte; each is small and told in the index.
 *
 * Run with a folder as argument, this writes the samples there instead: scripts/make-samples. */
#include "support/check.h"
#include "support/made_capture.h"

#include <stdio.h>
#include <string.h>

static const struct {
  const char *file;
  platelag_practice_order order;
} samples[] = {
    {"shuttle02-free.csv", {.seed = 2, .minutes = 3}},
    {"shuttle05-sticking.csv",
     {.seed = 5,
      .fault = "sticking",
      .severity = 0.7,
      .layout = "german_semicolon",
      .rows_per_second = 8,
      .minutes = 3.5}},
    {"shuttle07-ridge.csv", {.seed = 7, .fault = "ridge", .severity = 0.8, .minutes = 3.5}},
    {"shuttle07-ridge-after.csv",
     {.seed = 7, .fault = "ridge", .severity = 0.8, .condition = "after", .minutes = 3}},
    {"shuttle11-slow.csv",
     {.seed = 11,
      .fault = "slow",
      .severity = 0.8,
      .drive = "vacuum",
      .layout = "french_semicolon",
      .rows_per_second = 5,
      .minutes = 4}},
    {"shuttle13-short-travel.csv",
     {.seed = 1308,
      .fault = "short_travel",
      .severity = 0.7,
      .layout = "spanish_tab",
      .rows_per_second = 8,
      .minutes = 3.5}},
    {"shuttle16-jam-past-stop.csv",
     {.seed = 16,
      .fault = "jam_past_stop",
      .layout = "vehicle_column",
      .rows_per_second = 7,
      .minutes = 2.5}},
    {"shuttle16-hand-sweep.csv",
     {.seed = 16,
      .fault = "jam_past_stop",
      .condition = "hand_sweep",
      .layout = "tab",
      .minutes = 1.5}},
    {"shuttle19-open-wire.csv",
     {.seed = 19,
      .fault = "open_wire",
      .severity = 0.95,
      .layout = "utf16le_mark",
      .rows_per_second = 4,
      .minutes = 2.5}},
    {"shuttle21-dropouts.csv",
     {.seed = 21,
      .fault = "dropouts",
      .severity = 0.7,
      .layout = "clock_per_channel",
      .rows_per_second = 5,
      .minutes = 3}},
    {"shuttle22-shifted.csv",
     {.seed = 2206,
      .fault = "shifted",
      .severity = 0.9,
      .layout = "preamble",
      .rows_per_second = 6,
      .minutes = 3}},
    {"shuttle24-two-banks.csv",
     {.seed = 24,
      .fault = "sticking",
      .severity = 0.8,
      .valves = 2,
      .layout = "pipe",
      .rows_per_second = 5,
      .minutes = 4}},
    {"shuttle26-on-off-slow.csv",
     {.seed = 26,
      .fault = "slow",
      .severity = 0.9,
      .command = "on_off",
      .layout = "am_pm",
      .minutes = 3}},
    {"shuttle28-no-drive.csv",
     {.seed = 28,
      .fault = "no_drive",
      .layout = "sparse_rows_spanish",
      .rows_per_second = 3,
      .minutes = 2.5}},
    {"shuttle30-worn-spot.csv",
     {.seed = 30,
      .fault = "worn_spot",
      .severity = 0.9,
      .layout = "long_form",
      .rows_per_second = 3,
      .minutes = 2.2}},
    {"shuttle31-idle-only.csv",
     {.seed = 31,
      .driving = "idle",
      .layout = "units_in_cells",
      .rows_per_second = 5,
      .minutes = 2}},
    {"shuttle35-closed-loop.csv",
     {.seed = 35,
      .fault = "ridge",
      .severity = 0.9,
      .command = "desired_and_duty",
      .layout = "date_and_time",
      .rows_per_second = 6,
      .minutes = 3}},
};
enum { SAMPLE_COUNT = sizeof samples / sizeof samples[0], MOST_BYTES = 150 * 1000 };

static bool read_whole(const char *folder, const char *name, plag_text *text) {
  char path[1024], block[16384];
  (void)snprintf(path, sizeof path, "%s/%s", folder, name);
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    return false;
  plag_text_reset(text);
  for (size_t got = fread(block, 1, sizeof block, file); got > 0;
       got = fread(block, 1, sizeof block, file))
    plag_text_add_bytes(text, block, got);
  return fclose(file) == 0 && !text->failed;
}

static void each_sample_is_what_its_order_makes(void **state) {
  (void)state;
  made_capture made = {0};
  plag_text there = {0};
  for (size_t index = 0; index < SAMPLE_COUNT; index++) {
    assert_true(made_capture_make(&made, &samples[index].order));
    if (!read_whole(PLATELAG_SAMPLES, samples[index].file, &there))
      fail_msg("samples/%s is not there", samples[index].file);
    if (there.length != made.capture.length ||
        memcmp(there.bytes, made.capture.bytes, there.length) != 0)
      fail_msg("samples/%s is not what its order makes (run scripts/make-samples, and read what "
               "changed)",
               samples[index].file);
    assert_true(there.length <= MOST_BYTES);
  }
  plag_text_clear(&there);
  made_capture_clear(&made);
}

static void the_index_tells_each_sample(void **state) {
  (void)state;
  plag_text index_text = {0};
  assert_true(read_whole(PLATELAG_SAMPLES, "INDEX.md", &index_text));
  for (size_t index = 0; index < SAMPLE_COUNT; index++)
    if (strstr(index_text.bytes, samples[index].file) == NULL)
      fail_msg("samples/INDEX.md does not tell %s", samples[index].file);
  plag_text_clear(&index_text);
}

static int write_samples(const char *folder) {
  for (size_t index = 0; index < SAMPLE_COUNT; index++) {
    char path[1024];
    (void)snprintf(path, sizeof path, "%s/%s", folder, samples[index].file);
    if (!made_capture_write(&samples[index].order, path)) {
      (void)fprintf(stderr, "%s: not written\n", path);
      return 1;
    }
  }
  return 0;
}

int main(int count, char **argument) {
  if (count > 1)
    return write_samples(argument[1]);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_sample_is_what_its_order_makes),
      cmocka_unit_test(the_index_tells_each_sample),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
