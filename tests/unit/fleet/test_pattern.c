/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A pattern takes vehicle, engine, date and condition from the end of a path, in bounded time, and
 * takes nothing from a path that does not fit. */
#include "support/check.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "fleet/pattern.h"

static const struct match {
  const char *pattern, *path;
  const char *found; /* vehicle|engine|seconds|condition; NULL: no match */
} MATCHES[] = {
    {"{vehicle}/{date}_{condition}.csv", "fleet/bus 12/2026-03-14_after.csv",
     "bus 12||1773446400|after"},
    {"{vehicle}/{date}_{condition}.csv", "bus 12/20260314_hand_sweep.csv",
     "bus 12||1773446400|hand_sweep"},
    {"{vehicle}/{date}.csv", "a/b/c/17/2026-03-14 07:41.csv", "17||1773474060|road"},
    {"{engine}/{vehicle}/{}", "x/2.0 diesel/17/anything at all.csv.gz", "17|2.0 diesel||road"},
    {"{vehicle}_{}_{date}.csv", "logs/17_long_name_x_2026-03-14.csv", "17||1773446400|road"},
    /* the last of several ways is the one: the first date that makes sense */
    {"{vehicle}-{date}{}.csv", "bus-12-2026-03-14-0741x.csv", "bus-12||1773446400|road"},
    {"{vehicle}{date}.csv", "9920260314.csv", "99||1773446400|road"},
    {"{vehicle}.csv", "17.csv.csv",
     "17.csv||"
     "|road"},
    {"{vehicle}/log{}", "17/log", "17|||road"},
    {"plain.csv", "x/plain.csv", "|||road"},
    {"/{vehicle}/x.csv", "/17/x.csv", "17|||road"},
    {"{date}.csv", "17/2026-02-30.csv", NULL},
    {"{vehicle}/{date}.csv", "17/log.csv", NULL},
    {"{vehicle}/{date}.csv", "2026-03-14.csv", NULL},
    {"{vehicle}/x.csv", "/x.csv", NULL},
    {"{vehicle}/x.csv", "./x.csv", NULL},
    {"{vehicle}/x.csv", "../x.csv", NULL},
    {"{vehicle}/x.csv", "a//x.csv", NULL},
    {"{vehicle}_{}.csv", "a/b_c/d.csv", NULL}, /* no word spans a slash */
    {"/{vehicle}/x.csv", "/data/17/x.csv", NULL},
    {"{vehicle}_{condition}.csv", "17_broken.csv", NULL},
    {"{vehicle}.csv", "17.CSV", NULL},
    {"{vehicle}.csv", "", NULL},
};

static void tell(const plag_pattern_match *match, char *out, size_t size) {
  char at[24] = "";
  if (match->dated)
    (void)snprintf(at, sizeof at, "%lld", (long long)match->at_unix_s);
  (void)snprintf(out, size, "%.*s|%.*s|%s|%s", (int)match->vehicle_length,
                 match->vehicle != NULL ? match->vehicle : "", (int)match->engine_length,
                 match->engine != NULL ? match->engine : "", at,
                 platelag_condition_name(match->condition));
}

static void paths_tell_whose_they_are(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof MATCHES / sizeof *MATCHES; i++) {
    plag_pattern pattern;
    plag_pattern_match match;
    char told[256];
    assert_int_equal(plag_pattern_read(MATCHES[i].pattern, &pattern, NULL), PLATELAG_OK);
    const bool fits = plag_pattern_match_path(&pattern, MATCHES[i].path, &match);
    tell(&match, told, sizeof told);
    if (fits != (MATCHES[i].found != NULL) || (fits && strcmp(told, MATCHES[i].found) != 0))
      fail_msg("%s of %s: %s", MATCHES[i].pattern, MATCHES[i].path, fits ? told : "no match");
  }
}

static const struct refusal {
  const char *pattern, *why;
} REFUSALS[] = {
    {"", "empty"},
    {"{vehicle", "not closed"},
    {"{vehicle}/{", "not closed"},
    {"{Vehicle}.csv", "unknown word"},
    {"{vehicle }.csv", "unknown word"},
    {"{vehicle}/{vehicle}.csv", "twice"},
    {"{date}/{vehicle}_{date}.csv", "twice"},
    {"{a{vehicle}}", "unknown word"},
    {"{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}{}", "too many"},
};

static void patterns_that_make_no_sense_are_refused(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof REFUSALS / sizeof *REFUSALS; i++) {
    plag_pattern pattern;
    platelag_error error = {0};
    assert_int_equal(plag_pattern_read(REFUSALS[i].pattern, &pattern, &error),
                     PLATELAG_ERROR_USAGE);
    if (strstr(error.message, REFUSALS[i].why) == NULL)
      fail_msg("%s: %s", REFUSALS[i].pattern, error.message);
  }
}

/* Without memory of what was tried in vain this would outlast the sun. */
static void many_words_take_no_longer_than_their_product(void **state) {
  (void)state;
  plag_pattern pattern;
  plag_pattern_match match;
  char path[1025];
  memset(path, 'a', 1024);
  path[1024] = '\0';
  assert_int_equal(
      plag_pattern_read("{}a{}a{}a{}a{}a{}a{}a{}a{}a{}a{}a{}a{}a{vehicle}{}b", &pattern, NULL),
      PLATELAG_OK);
  const clock_t begun = clock();
  assert_false(plag_pattern_match_path(&pattern, path, &match));
  assert_between((double)(clock() - begun) / CLOCKS_PER_SEC, 0, 20);
  path[1023] = 'b';
  assert_true(plag_pattern_match_path(&pattern, path, &match));
  assert_int_equal(match.vehicle_length, 1);
}

static void a_name_too_long_is_no_match(void **state) {
  (void)state;
  plag_pattern pattern;
  plag_pattern_match match;
  char path[2000];
  memset(path, 'a', sizeof path);
  path[sizeof path - 1] = '\0';
  assert_int_equal(plag_pattern_read("{vehicle}", &pattern, NULL), PLATELAG_OK);
  assert_false(plag_pattern_match_path(&pattern, path, &match));
  path[sizeof path - 1025] = '/'; /* what counts is the part that the pattern speaks of */
  assert_true(plag_pattern_match_path(&pattern, path, &match));
  assert_int_equal(match.vehicle_length, 1023);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(paths_tell_whose_they_are),
      cmocka_unit_test(patterns_that_make_no_sense_are_refused),
      cmocka_unit_test(many_words_take_no_longer_than_their_product),
      cmocka_unit_test(a_name_too_long_is_no_match),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
