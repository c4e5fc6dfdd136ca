/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The same capture gives the same report, finding, figures and reasons alike, in whatever layout
 * and shape it is written, and compressed: every pair of layouts is compared, line for line. */
#include "support/check.h"
#include "support/made_capture.h"
#include "support/made_review.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <zlib.h>
#include <zstd.h>

#include "platelag/platelag.h"
#include "practice/export.h"
#include "practice/order.h"

static const platelag_practice_order ORDERS[] = {
    {.fault = "ridge", .seed = 4021, .minutes = 2.7, .rows_per_second = 9.3},
    {.fault = "sticking", .seed = 4022, .minutes = 2.3, .unit = "reference"},
    {.fault = "slow", .seed = 4023, .minutes = 2.1, .command = "on_off", .drive = "vacuum"},
    {.fault = "none", .seed = 4024, .minutes = 1.9, .command = "desired_and_duty", .unit = "open"},
    {.fault = "dropouts", .seed = 4025, .minutes = 1.7, .command = "desired_and_duty"},
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

/* Reviews `bytes` and keeps what is told. */
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
    plag_record record;
    assert_int_equal(plag_order_record(&ORDERS[i], &record, NULL), PLATELAG_OK);
    forms.count = 0;
    for (size_t k = 0; k < plag_export_layout_count(); k++) {
      const char *layout = plag_export_layout_at(k)->name;
      if (plag_export_layout_at(k)->loses != NULL)
        continue;
      assert_true(made_capture_of(&made, &record, layout));
      add_form(&forms, layout, made.capture.bytes, made.capture.length);
    }
    plag_record_clear(&record);
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

/* What is left of a record that lost something: how far figures may then lie from those of the
 * whole record, beyond the 90 % interval of these. Stick bands are sought on a grid of 0.25 %,
 * limits of the dead time on one of a few ms. Stamps in
 * whole seconds are spread evenly over their rows, those in tenths are cut: a row may then lie a
 * row period, 0.1 s, from where it was. */
static const struct loss {
  const char *layout;
  double time_tolerance_s;
  double travel_tolerance_pct;
  bool rate_given;  /* the rows a second are told */
  bool names_given; /* command and position are told by column number */
} LOSSES[] = {
    {"whole_seconds", 0.1, 2.0, false, false},  {"minutes_seconds", 0.1, 2.0, false, false},
    {"day_fraction", 0.005, 0.3, false, false}, {"row_number", 0.03, 2.0, true, false},
    {"no_clock", 0.03, 2.0, true, false},       {"no_header", 0.001, 0.1, false, true},
    {"on_change", 0.05, 2.0, false, false},     {"two_runs", 0.05, 2.0, false, false},
    {"back_steps", 0.05, 2.0, false, false},
};

static platelag_review *review_as(const platelag_practice_order *plain, const char *layout,
                                  const platelag_review_options *options,
                                  platelag_workspace *workspace) {
  platelag_practice_order order = *plain;
  order.layout = layout;
  made_capture made = {0};
  platelag_review *review = NULL;
  platelag_error error = {0};
  assert_true(made_capture_make(&made, &order));
  assert_int_equal(plag_test_review(made.capture.bytes, made.capture.length, options, workspace,
                                    &review, &error),
                   PLATELAG_OK);
  made_capture_clear(&made);
  if (review->capture[0].refusal.status != PLATELAG_OK)
    fail_msg("%s: %s", layout, review->capture[0].refusal.message);
  return review;
}

/* Two recordings in one file are two captures of one case, which finds what the whole one shows. */
static size_t compare_runs(const platelag_review *runs, const platelag_review *whole,
                           const platelag_practice_order *order) {
  size_t differ = runs->capture_count != 2 || runs->case_count != whole->case_count;
  for (size_t i = 0; differ == 0 && i < whole->case_count; i++)
    differ += runs->cases[i]->finding->kind != whole->cases[i]->finding->kind;
  if (differ > 0)
    print_error(
        "fault %s, seed %llu: two_runs makes %zu captures of %zu cases, or another finding\n",
        order->fault, (unsigned long long)order->seed, runs->capture_count, runs->case_count);
  return differ;
}

/* Every layout that loses something has a row, and gives the same within its tolerances. */
static void what_is_lost_is_lost_within_bounds(void **state) {
  size_t far = 0;
  size_t rows = 0;
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  assert_int_equal(platelag_spec_name_columns(spec, "#6", "#7", NULL), PLATELAG_OK);
  for (size_t i = 0; i < plag_export_layout_count(); i++)
    rows += plag_export_layout_at(i)->loses != NULL;
  assert_int_equal(rows, sizeof LOSSES / sizeof *LOSSES);
  for (size_t i = 0; i < sizeof ORDERS / sizeof *ORDERS; i++) {
    const platelag_practice_order *order = &ORDERS[i];
    platelag_review *whole = review_as(order, "comma", NULL, *state);
    const bool two_columns =
        order->valves < 2 && order->unit == NULL &&
        (order->command == NULL || strcmp(order->command, "desired_and_duty") != 0);
    for (size_t k = 0; k < sizeof LOSSES / sizeof *LOSSES; k++) {
      const struct loss *loss = &LOSSES[k];
      assert_non_null(plag_export_layout_find(loss->layout)->loses);
      /* Two columns can be named by number, and their units are guessed: volts alone. */
      if (loss->names_given && !two_columns)
        continue;
      const platelag_review_options options = {.spec = loss->names_given ? spec : NULL,
                                               .circumstances.meter = PLATELAG_METER_NONE,
                                               .rows_per_second = !loss->rate_given ? 0.0
                                                                  : order->rows_per_second > 0
                                                                      ? order->rows_per_second
                                                                      : 10.0};
      platelag_review *review = review_as(order, loss->layout, &options, *state);
      if (strcmp(loss->layout, "two_runs") == 0) {
        far += compare_runs(review, whole, order);
        platelag_review_destroy(review);
        continue;
      }
      assert_int_equal(review->capture[0].valve_count, whole->capture[0].valve_count);
      for (size_t v = 0; v < whole->capture[0].valve_count; v++)
        far += plag_test_compare_figures(&review->capture[0].valve[v], &whole->capture[0].valve[v],
                                         (plag_test_closeness){loss->layout, order,
                                                               loss->time_tolerance_s,
                                                               loss->travel_tolerance_pct, false});
      platelag_review_destroy(review);
    }
    platelag_review_destroy(whole);
  }
  platelag_spec_destroy(spec);
  assert_int_equal(far, 0);
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
  const struct CMUnitTest tests[] = {cmocka_unit_test(all_layouts_agree),
                                     cmocka_unit_test(what_is_lost_is_lost_within_bounds)};
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
