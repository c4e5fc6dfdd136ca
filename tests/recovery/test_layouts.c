/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The same capture gives the same report, finding, figures and reasons alike, in whatever layout
 * and shape it is written, and compressed: every pair of layouts is compared, line for line. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_review.h"

#include <stdlib.h>
#include <string.h>

#include <zlib.h>
#include <zstd.h>

#include "platelag/platelag.h"

static const platelag_practice_order ORDERS[] = {
    {.fault = "ridge", .seed = 4021, .minutes = 2.7, .rows_per_second = 9.3},
    {.fault = "sticking", .seed = 4022, .minutes = 2.3, .unit = "reference"},
    {.fault = "slow", .seed = 4023, .minutes = 2.1, .command = "on_off", .drive = "vacuum"},
    {.fault = "none", .seed = 4024, .minutes = 1.9, .command = "desired_and_duty"},
    {.fault = "dropouts",
     .seed = 4025,
     .minutes = 1.7,
     .command = "desired_and_duty",
     .unit = "open"},
    {.fault = "sticking", .seed = 4026, .minutes = 1.6, .valves = 2, .rows_per_second = 6.7},
    {.fault = "open_wire", .seed = 4027, .minutes = 1.3, .severity = 0.87},
    {.fault = "jam_inside", .seed = 4028, .minutes = 1.4, .command = "on_off", .inverted = true},
};

enum { MOST_FORMS = 200, PAIRS_TOLD = 24, LINE_BYTES = 160 };

/* One way in which the capture was written, and what is reported of it. */
struct form {
  const char *name;
  plag_text report;
};

struct forms {
  platelag_workspace *workspace;
  size_t count;
  struct form form[MOST_FORMS];
};

static void add_form(struct forms *forms, const char *name, const char *bytes, size_t size) {
  assert_true(forms->count < MOST_FORMS);
  struct form *form = &forms->form[forms->count++];
  form->name = name;
  platelag_review *review = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_test_review(bytes, size, NULL, forms->workspace, &review, &error),
                   PLATELAG_OK);
  plag_test_review_tell(review, &form->report);
  platelag_review_destroy(review);
}

static void add_gzip(struct forms *forms, const plag_text *capture) {
  z_stream stream = {0};
  assert_int_equal(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
  const uLong room = deflateBound(&stream, capture->length);
  char *packed = malloc(room);
  assert_non_null(packed);
  stream.next_in = (Bytef *)capture->bytes;
  stream.avail_in = (uInt)capture->length;
  stream.next_out = (Bytef *)packed;
  stream.avail_out = (uInt)room;
  assert_int_equal(deflate(&stream, Z_FINISH), Z_STREAM_END);
  add_form(forms, "gzip", packed, stream.total_out);
  assert_int_equal(deflateEnd(&stream), Z_OK);
  free(packed);
}

static void add_zstd(struct forms *forms, const plag_text *capture) {
  const size_t room = ZSTD_compressBound(capture->length);
  char *packed = malloc(room);
  assert_non_null(packed);
  const size_t size = ZSTD_compress(packed, room, capture->bytes, capture->length, 3);
  assert_false(ZSTD_isError(size));
  add_form(forms, "zstd", packed, size);
  free(packed);
}

/* Compares all pairs; tells those that differ and returns how many. */
static size_t compare_pairs(const struct forms *forms, const platelag_practice_order *order) {
  size_t differ = 0;
  char first[LINE_BYTES];
  char second[LINE_BYTES];
  for (size_t i = 0; i < forms->count; i++)
    for (size_t k = i + 1; k < forms->count; k++) {
      const struct form *one = &forms->form[i];
      const struct form *other = &forms->form[k];
      if (!plag_test_first_difference(one->report.bytes, other->report.bytes, first, second,
                                      LINE_BYTES))
        continue;
      if (differ++ < PAIRS_TOLD)
        print_error("fault %s, seed %llu: %s and %s differ: %s | %s\n", order->fault,
                    (unsigned long long)order->seed, one->name, other->name, first, second);
    }
  return differ;
}

static void all_layouts_agree(void **state) {
  struct forms forms = {.workspace = *state};
  size_t differ = 0;
  size_t pairs = 0;
  for (size_t i = 0; i < sizeof ORDERS / sizeof *ORDERS; i++) {
    made_capture made = {0};
    forms.count = 0;
    for (size_t k = 0; k < platelag_practice_layout_count(); k++) {
      platelag_practice_order order = ORDERS[i];
      order.layout = platelag_practice_layout_name(k);
      assert_true(made_capture_make(&made, &order));
      add_form(&forms, order.layout, made.capture.bytes, made.capture.length);
    }
    add_gzip(&forms, &made.capture);
    add_zstd(&forms, &made.capture);
    made_capture_clear(&made);
    assert_non_null(strstr(forms.form[0].report.bytes, "\"finding\""));
    pairs += forms.count * (forms.count - 1) / 2;
    differ += compare_pairs(&forms, &ORDERS[i]);
  }
  for (size_t i = 0; i < MOST_FORMS; i++)
    plag_text_clear(&forms.form[i].report);
  print_message("%zu pairs, %zu differ\n", pairs, differ);
  assert_int_equal(differ, 0);
}

static int set_up(void **state) {
  platelag_library_start();
  platelag_error error = {0};
  return platelag_workspace_create((platelag_workspace **)state, &error) == PLATELAG_OK ? 0 : -1;
}

static int tear_down(void **state) {
  platelag_workspace_destroy(*state);
  return 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(all_layouts_agree)};
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
