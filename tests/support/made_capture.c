/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_capture.h"

#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/number.h"
#include "practice/export.h"

static platelag_status add_to_text(void *context, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

bool made_capture_make(made_capture *made, const platelag_practice_order *order) {
  plag_text_reset(&made->capture);
  plag_text_reset(&made->truth);
  const platelag_sink capture = {&made->capture, add_to_text};
  const platelag_sink truth = {&made->truth, add_to_text};
  platelag_error error = {0};
  if (platelag_practice_write(order, &capture, &truth, &error) == PLATELAG_OK &&
      !made->capture.failed && !made->truth.failed)
    return true;
  (void)fprintf(stderr, "no practice capture (fault %s, seed %llu): %s\n",
                order->fault != NULL ? order->fault : "none", (unsigned long long)order->seed,
                error.message);
  return false;
}

bool made_capture_of(made_capture *made, const struct plag_record *record, const char *layout) {
  const platelag_sink capture = {&made->capture, add_to_text};
  plag_text_reset(&made->capture);
  plag_text_reset(&made->truth);
  return plag_export_write(plag_export_layout_find(layout), record, &capture, NULL) ==
             PLATELAG_OK &&
         !made->capture.failed;
}

bool made_capture_write(const platelag_practice_order *order, const char *path) {
  made_capture made = {0};
  bool written = made_capture_make(&made, order);
  FILE *file = written ? fopen(path, "wb") : NULL;
  written = file != NULL &&
            fwrite(made.capture.bytes, 1, made.capture.length, file) == made.capture.length;
  if (file != NULL && fclose(file) != 0)
    written = false;
  made_capture_clear(&made);
  return written;
}

void made_capture_clear(made_capture *made) {
  plag_text_clear(&made->capture);
  plag_text_clear(&made->truth);
}

static const char *find_key(const char *text, const char *key) {
  const size_t length = strlen(key);
  for (const char *at = text; at != NULL && (at = strchr(at, '"')) != NULL; at++)
    if (strncmp(at + 1, key, length) == 0 && strncmp(at + 1 + length, "\": ", 3) == 0)
      return at + length + 4;
  return NULL;
}

double made_capture_truth(const made_capture *made, const char *object, const char *key) {
  const char *from = made->truth.bytes;
  if (object[0] != '\0')
    from = from != NULL ? find_key(from, object) : NULL;
  const char *value = from != NULL ? find_key(from, key) : NULL;
  double number = NAN;
  if (value != NULL && plag_number_read(value, strlen(value), '.', &number) > 0)
    return number;
  return NAN;
}

platelag_spec *made_capture_spec(const made_capture *made, bool given) {
  char path[] = "/tmp/platelag-stops-XXXXXX";
  platelag_error error = {0};
  platelag_spec *spec = NULL;
  if (!given) {
    assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
    return spec;
  }
  const int file = mkstemp(path);
  assert_true(file >= 0);
  const long closed = lround(made_capture_truth(made, "travel", "closed_v") * 20) * 5;
  const long open = lround(made_capture_truth(made, "travel", "open_v") * 20) * 5;
  assert_true(dprintf(file, "[valve]\nclosed_v = %ld.%02ld\nopen_v = %ld.%02ld\n", closed / 100,
                      closed % 100, open / 100, open % 100) > 0);
  close(file);
  const platelag_status status = platelag_spec_read(path, &spec, &error);
  unlink(path);
  if (status != PLATELAG_OK)
    fail_msg("%s", error.message);
  return spec;
}
