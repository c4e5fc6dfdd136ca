/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/made_review.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/check.h"

#include "platelag/report.h"

/* Writes the bytes to a file of a new name, which takes the place of the template `path`. */
static void write_file(const plag_test_bytes *from, char *path) {
  const int handle = mkstemp(path);
  assert_true(handle >= 0);
  for (size_t done = 0; done < from->size;) {
    const ssize_t written = write(handle, from->bytes + done, from->size - done);
    assert_true(written > 0);
    done += (size_t)written;
  }
  assert_int_equal(close(handle), 0);
}

platelag_status plag_test_review_all(const plag_test_bytes *bytes, size_t count,
                                     const platelag_review_options *options,
                                     platelag_workspace *workspace, platelag_review **out,
                                     platelag_error *error) {
  char path[PLAG_TEST_BYTES_MOST][32];
  platelag_review_file file[PLAG_TEST_BYTES_MOST] = {0};
  assert_true(count <= PLAG_TEST_BYTES_MOST);
  for (size_t i = 0; i < count; i++) {
    strcpy(path[i], "/tmp/platelag-review-XXXXXX");
    write_file(&bytes[i], path[i]);
    file[i] = (platelag_review_file){.path = path[i], .condition = bytes[i].condition};
  }
  const platelag_status status = platelag_review_build(file, count, options, workspace, out, error);
  for (size_t i = 0; i < count; i++)
    assert_int_equal(unlink(path[i]), 0);
  return status;
}

platelag_status plag_test_review(const char *bytes, size_t size,
                                 const platelag_review_options *options,
                                 platelag_workspace *workspace, platelag_review **out,
                                 platelag_error *error) {
  const plag_test_bytes one = {bytes, size, PLATELAG_CONDITION_ROAD};
  return plag_test_review_all(&one, 1, options, workspace, out, error);
}

static platelag_status add_to_text(void *context, const char *bytes, size_t size,
                                   platelag_error *error) {
  (void)error;
  plag_text_add_bytes(context, bytes, size);
  return PLATELAG_OK;
}

static bool spells_a_name(const char *line) {
  line += strspn(line, " {");
  return strncmp(line, "\"command\": \"", 12) == 0 || strncmp(line, "\"position\": \"", 13) == 0;
}

/* Adds a line of JSON; of what its strings quote, a name, nothing is left but the quotes. */
static void add_line(const char *line, size_t length, plag_text *out) {
  bool quoted = false;
  for (size_t i = 0; i < length; i++) {
    const bool quote = i + 1 < length && line[i] == '\\' && line[i + 1] == '"';
    if (quote)
      quoted = !quoted;
    if (!quoted)
      plag_text_add_char(out, line[i]);
  }
  plag_text_add_char(out, '\n');
}

void plag_test_review_tell(const platelag_review *review, plag_text *out) {
  plag_text_reset(out);
  if (review->capture_count > 0 && review->capture[0].refusal.status != PLATELAG_OK) {
    plag_text_add_format(out, "refused: %s\n", review->capture[0].refusal.message);
    return;
  }
  plag_text json = {0};
  const platelag_sink sink = {&json, add_to_text};
  platelag_error error = {0};
  assert_int_equal(platelag_report_write_json(review, &sink, &error), PLATELAG_OK);
  assert_false(json.failed);
  const char *line = strstr(json.bytes, "\"valves\"");
  assert_non_null(line);
  while (*line != '\0') {
    const size_t length = strcspn(line, "\n");
    if (!spells_a_name(line))
      add_line(line, length, out);
    line += length + (line[length] == '\n');
  }
  assert_false(out->failed);
  plag_text_clear(&json);
}

static void copy_line(const char *line, char *out, size_t size) {
  line += strspn(line, " ");
  size_t length = strcspn(line, "\n");
  length = length < size - 1 ? length : size - 1;
  memcpy(out, line, length);
  out[length] = '\0';
}

bool plag_test_first_difference(const char *one, const char *other, char *first, char *second,
                                size_t size) {
  while (*one != '\0' || *other != '\0') {
    const size_t length = strcspn(one, "\n");
    const size_t other_length = strcspn(other, "\n");
    if (length != other_length || memcmp(one, other, length) != 0) {
      copy_line(one, first, size);
      copy_line(other, second, size);
      return true;
    }
    one += length + (one[length] == '\n');
    other += other_length + (other[other_length] == '\n');
  }
  return false;
}

/* How far `estimate` lies from `whole`, beyond its interval; what only one of them knows is as far
 * as can be. */
static double distance(const platelag_estimate *estimate, const platelag_estimate *whole) {
  const bool known = estimate->known != PLATELAG_KNOWN_NOTHING;
  if (known != (whole->known != PLATELAG_KNOWN_NOTHING))
    return INFINITY;
  if (!known)
    return 0.0;
  const double value = estimate->known == PLATELAG_KNOWN_VALUE ? estimate->value : estimate->high;
  const double low = isnan(whole->low) ? value : whole->low;
  const double high = isnan(whole->high) ? value : whole->high;
  return fmax(0.0, fmax(low - value, value - high));
}

static double apart(double one, double other) {
  return isnan(one) && isnan(other) ? 0.0 : fabs(one - other);
}

size_t plag_test_compare_figures(const platelag_review_valve *valve,
                                 const platelag_review_valve *whole, plag_test_closeness close) {
  const platelag_fit *a = valve->fit;
  const platelag_fit *b = whole->fit;
  const platelag_estimate *opening = &b->lag.opening_t63_s;
  const platelag_estimate *closing = &b->lag.closing_t63_s;
  const double lowest_pct = close.turned ? 100.0 - b->travel.highest_pct : b->travel.lowest_pct;
  const double highest_pct = close.turned ? 100.0 - b->travel.lowest_pct : b->travel.highest_pct;
  const struct {
    const char *name;
    double distance, tolerance;
  } rows[] = {
      {"finding", valve->finding->kind != whole->finding->kind, 0.0},
      {"family", valve->finding->family != whole->finding->family, 0.0},
      {"dead time", distance(&a->lag.dead_time_s, &b->lag.dead_time_s), close.time_s},
      {"opening t63", distance(&a->lag.opening_t63_s, close.turned ? closing : opening),
       close.time_s},
      {"closing t63", distance(&a->lag.closing_t63_s, close.turned ? opening : closing),
       close.time_s},
      {"stick band", distance(&a->friction.stick_band_pct, &b->friction.stick_band_pct),
       close.travel_pct},
      {"slip jump", distance(&a->friction.slip_jump_pct, &b->friction.slip_jump_pct),
       close.travel_pct},
      {"lowest travel", apart(a->travel.lowest_pct, lowest_pct), close.travel_pct},
      {"highest travel", apart(a->travel.highest_pct, highest_pct), close.travel_pct},
  };
  size_t far = 0;
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    if (rows[i].distance <= rows[i].tolerance) /* false for NaN */
      continue;
    far++;
    print_error("fault %s, seed %llu: %s, %s is %.4f away, at most %.4f was expected\n",
                close.order->fault, (unsigned long long)close.order->seed, close.what, rows[i].name,
                rows[i].distance, rows[i].tolerance);
  }
  return far;
}
