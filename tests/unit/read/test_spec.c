/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A spec file gives what it says, bank by bank, and what is no spec is refused by line. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "platelag/spec.h"
#include "support/decimal_comma.h"

/* Writes `text` into a file of its own and reads it as a spec. */
static platelag_status read_text(const char *text, platelag_spec **spec, platelag_error *error) {
  char path[] = "/tmp/platelag-spec-XXXXXX";
  const int handle = mkstemp(path);
  assert_true(handle >= 0);
  assert_int_equal(write(handle, text, strlen(text)), strlen(text));
  assert_int_equal(close(handle), 0);
  const platelag_status status = platelag_spec_read(path, spec, error);
  assert_int_equal(unlink(path), 0);
  return status;
}

static void has_the_defaults_of_the_design(void **state) {
  (void)state;
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_spec_create(&spec, &error), PLATELAG_OK);
  const platelag_valve_spec *valve = platelag_spec_for_bank(spec, 0);
  const struct {
    double value, expected;
  } cases[] = {
      {valve->closed_v, NAN},           {valve->open_v, NAN},
      {valve->reference_v, 5},          {valve->tolerance_v, 0.5},
      {valve->high_limit_pct, 90},      {valve->low_limit_pct, 5},
      {valve->hold_time_s, 0.5},        {valve->t63_limit_s, 0.7},
      {valve->stick_band_limit_pct, 8}, {valve->short_travel_limit_pct, 12},
      {valve->decide_at, 0.7},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_close(cases[i].value, cases[i].expected, 0, 0);
  assert_null(valve->command);
  assert_false(valve->reference_given);
  platelag_spec_destroy(spec);
}

static void reads_the_example_and_lets_a_bank_overrule(void **state) {
  (void)state;
  plag_test_decimal_comma_begin(); /* changes nothing */
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  const platelag_status status = read_text("# of the shuttle fleet\n"
                                           "[valve bank 2]\n"
                                           "open_v = 3.61\n"
                                           "position = Runner position B2 (V)\n"
                                           "[valve]\n"
                                           "    command = Runner duty (%)        ; as exported\n"
                                           "    position = Runner position (V)\n"
                                           "    closed_v = 1.237 ; expected\n"
                                           "    open_v = 3.755\n"
                                           "    reference_v = 5.02\n"
                                           "t63_limit_s=0.635\n",
                                           &spec, &error);
  plag_test_decimal_comma_end();
  if (status != PLATELAG_OK)
    fail_msg("line %lld: %s", (long long)error.line, error.message);
  static const struct {
    int bank;
    const char *position;
    double open_v;
  } cases[] = {{0, "Runner position (V)", 3.755},
               {1, "Runner position (V)", 3.755},
               {2, "Runner position B2 (V)", 3.61},
               {7, "Runner position (V)", 3.755}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const platelag_valve_spec *valve = platelag_spec_for_bank(spec, cases[i].bank);
    assert_string_equal(valve->command, "Runner duty (%)");
    assert_string_equal(valve->position, cases[i].position);
    assert_close(valve->open_v, cases[i].open_v, 0, 0);
    assert_close(valve->closed_v, 1.237, 0, 0);
    assert_close(valve->reference_v, 5.02, 0, 0);
    assert_true(valve->reference_given);
    assert_close(valve->t63_limit_s, 0.635, 0, 0);
    assert_close(valve->hold_time_s, 0.5, 0, 0);
  }
  assert_int_equal(platelag_spec_name_columns(spec, NULL, "Pos B", &error), PLATELAG_OK);
  assert_string_equal(platelag_spec_for_bank(spec, 2)->position, "Pos B");
  assert_string_equal(platelag_spec_for_bank(spec, 2)->command, "Runner duty (%)");
  platelag_spec_destroy(spec);
}

static void refuses_what_is_no_spec(void **state) {
  (void)state;
  static const struct {
    const char *text;
    int64_t line;
    const char *told; /* part of the message */
  } cases[] = {
      {"[valve]\nclosed_v = 1.2\nopne_v = 3.4\n", 3, "unknown key \"opne_v\"; expected one of"},
      {"[valve]\nopen_v = 3,75\n", 2, "with a decimal point"},
      {"[valve]\nopen_v = high\n", 2, "open_v is \"high\""},
      {"[valve]\n\n\ndecide_at = 1.3\n", 4, "from 0.5 to 1"},
      {"[valve]\nreference_v = -5\n", 2, "reference_v"},
      {"[valve]\nopen_v = nan\n", 2, "open_v"},
      {"[valve bank 3]\nopen_v = 3.4\n", 2, "[valve bank 1]"},
      {"open_v = 3.4\n", 1, "section"},
      {"[valve]\nopen_v = 3.4\nopen_v = 3.6\n", 3, "second \"open_v\""},
      {"[valve]\nopen_v\n", 2, "neither"},
      {"[valve\nopen_v = 2\n", 2, "section"},
      {"[valve]\ncommand =\n", 2, "no value"},
      {"[valve]\nopen_v = 2.2\nclosed_v = 2.2\n", 0, "differ"},
      {"[valve]\nhigh_limit_pct = 4\n", 0, "not below"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    platelag_spec *spec = NULL;
    platelag_error error = {0};
    const platelag_status status = read_text(cases[i].text, &spec, &error);
    if (status != PLATELAG_ERROR_INPUT || spec != NULL || error.line != cases[i].line ||
        strstr(error.message, cases[i].told) == NULL)
      fail_msg("case %zu: status %d, line %lld: %s", i, (int)status, (long long)error.line,
               error.message);
  }
  platelag_spec *spec = NULL;
  platelag_error error = {0};
  assert_int_equal(platelag_spec_read("/nowhere/to be found.ini", &spec, &error),
                   PLATELAG_ERROR_NOT_FOUND);
  assert_null(spec);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(has_the_defaults_of_the_design),
      cmocka_unit_test(reads_the_example_and_lets_a_bank_overrule),
      cmocka_unit_test(refuses_what_is_no_spec),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
