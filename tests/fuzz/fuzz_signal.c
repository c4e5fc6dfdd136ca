/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Samples of any course -> review -> every report: the bytes are the readings, so that what mutates
 * is the signal and not its spelling. Eight bytes choose how it was recorded; then three a row. */
#include <stdio.h>

#include "fuzz.h"
#include "fuzz_review.h"

enum { HEAD_BYTES = 8, ROW_BYTES = 3, ROWS_MOST = 3000 };

/* How it was recorded, one byte each. */
typedef struct recording {
  const char *command, *position;
  double row_s, level_scale, level_from;
  bool stops_given, states;
  uint8_t repeat; /* rows that a reading stands for */
  platelag_condition condition;
} recording;

static recording recording_of(const uint8_t *head) {
  static const char *const commands[] = {"Runner valve duty (%)", "Runner valve command",
                                         "Desired runner position (%)"};
  static const char *const positions[] = {"Runner valve position (V)", "Runner valve position (%)"};
  static const double steps[] = {0.02, 0.1, 0.1, 0.2, 0.5, 1, 7.5};
  const bool percent = head[1] % 2 != 0;
  return (recording){.command = commands[head[0] % 3],
                     .position = positions[percent],
                     .row_s = steps[head[2] % 7],
                     .level_scale = percent ? 100.0 / 255 : 5.0 / 255,
                     .level_from = head[3] > 250 ? -1 : 0,
                     .stops_given = head[4] % 2 != 0,
                     .states = head[5] % 4 == 3,
                     .repeat = (uint8_t)(1 + head[6] % 4 * (head[6] % 5)),
                     .condition = (platelag_condition)(head[7] % 4)};
}

/* The first byte of a row: how much later than usual it comes, and what is missing; then command
 * and level. */
static void add_row(plag_text *csv, const recording *how, const uint8_t *row, double at_s) {
  const bool missing = row[0] % 32 == 31;
  plag_text_add_number(csv, at_s, 3);
  if (how->states)
    plag_text_add(csv, row[1] % 2 != 0 ? ",on" : ",off");
  else
    plag_text_add_format(csv, ",%d", row[1] * 100 / 255);
  plag_text_add(csv, ",");
  if (!missing)
    plag_text_add_number(csv, how->level_from + how->level_scale * row[2], 2);
  plag_text_add(csv, "\n");
}

static void write_capture(const recording *how, const uint8_t *data, size_t size, plag_text *csv) {
  double at_s = 0;
  plag_text_add_format(csv, "Time (s),%s,%s\n", how->command, how->position);
  for (size_t i = 0; i + ROW_BYTES <= size && i / ROW_BYTES < ROWS_MOST; i += ROW_BYTES)
    for (uint8_t k = 0; k < how->repeat; k++) {
      add_row(csv, how, data + i, at_s);
      at_s += how->row_s * (data[i] > 200 ? 3 : 1) + (data[i] == 255 ? 100 : 0);
    }
}

static void set(platelag_spec *spec, const char *key, const char *value) {
  platelag_error error = {0};
  FUZZ_CHECK(platelag_spec_set(spec, key, value, &error) == PLATELAG_OK);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  plag_text csv = {0};
  if (size < HEAD_BYTES + ROW_BYTES)
    return 0;
  platelag_library_start();
  const recording how = recording_of(data);
  write_capture(&how, data + HEAD_BYTES, size - HEAD_BYTES, &csv);
  FUZZ_CHECK(platelag_spec_create(&spec, &error) == PLATELAG_OK);
  if (how.stops_given) {
    set(spec, "closed_v", "1.05");
    set(spec, "open_v", "3.95");
  }
  fuzz_bytes bytes = {(const uint8_t *)csv.bytes, csv.length, 0};
  const platelag_source source = fuzz_source(&bytes);
  const platelag_review_file file = {.path = "fuzz", .condition = how.condition, .source = &source};
  const platelag_review_options options = {.spec = spec,
                                           .circumstances = {.meter = PLATELAG_METER_NONE}};
  fuzz_review(&file, 1, &options);
  platelag_spec_destroy(spec);
  plag_text_clear(&csv);
  return 0;
}
