/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The manifest has the last word on whose a capture is, word by word; the pattern tells the rest.
 */
#include "support/check.h"
#include "support/failing_memory.h"
#include "support/scratch.h"

#include <stdio.h>
#include <string.h>

#include "fleet/place.h"

static const char MANIFEST[] = "file,vehicle,engine,date,condition\n"
                               "17/2026-03-14_after.csv,,,,road\n"
                               "17/2026-03-15_after.csv,bus 17,2.0,2026-05-02,\n"
                               "lone.csv,18,,,hand sweep\n";

static const struct place {
  const char *path, *found; /* vehicle|engine|seconds|condition */
  bool pattern, manifest;
} PLACES[] = {
    {"f/17/2026-03-14_after.csv", "|||road", false, false},
    {"f/17/2026-03-14_after.csv", "17||1773446400|after", true, false},
    {"f/17/2026-03-14_after.csv", "17||1773446400|road", true, true}, /* the manifest's own word */
    {"f/17/2026-03-14_after.csv", "|||road", false, true},
    {"f/17/2026-03-15_after.csv", "bus 17|2.0|1777680000|after", true, true},
    {"f/lone.csv", "18|||hand_sweep", true, true},
    {"f/other.csv", "|||road", true, true},
};

static void read_both(plag_manifest *manifest, plag_pattern *pattern) {
  plag_test_scratch scratch = {0};
  char path[PLAG_TEST_PATH_BYTES];
  plag_test_scratch_write(&scratch, "manifest.csv", MANIFEST, 0);
  assert_int_equal(
      plag_manifest_read(plag_test_scratch_path(&scratch, "manifest.csv", path), manifest, NULL),
      PLATELAG_OK);
  assert_int_equal(plag_pattern_read("{vehicle}/{date}_{condition}.csv", pattern, NULL),
                   PLATELAG_OK);
  plag_test_scratch_clear(&scratch);
}

static void the_manifest_goes_before_the_path(void **state) {
  (void)state;
  plag_manifest manifest;
  plag_pattern pattern;
  read_both(&manifest, &pattern);
  for (size_t i = 0; i < sizeof PLACES / sizeof *PLACES; i++) {
    plag_arena arena = {0};
    plag_place place;
    char told[256];
    assert_int_equal(plag_place_find(PLACES[i].manifest ? &manifest : NULL,
                                     PLACES[i].pattern ? &pattern : NULL, PLACES[i].path, &arena,
                                     &place, NULL),
                     PLATELAG_OK);
    char at[24] = "";
    if (place.dated)
      (void)snprintf(at, sizeof at, "%lld", (long long)place.at_unix_s);
    (void)snprintf(told, sizeof told, "%s|%s|%s|%s", place.vehicle, place.engine, at,
                   platelag_condition_name(place.condition));
    if (strcmp(told, PLACES[i].found) != 0)
      fail_msg("row %zu, %s: %s", i, PLACES[i].path, told);
    plag_arena_clear(&arena);
  }
  plag_manifest_clear(&manifest);
}

static void a_name_without_memory_is_told(void **state) {
  (void)state;
  plag_manifest manifest;
  plag_pattern pattern;
  read_both(&manifest, &pattern);
  plag_arena arena = {0};
  plag_place place;
  plag_test_fail_allocation(1);
  assert_int_equal(
      plag_place_find(&manifest, &pattern, "17/2026-03-14_after.csv", &arena, &place, NULL),
      PLATELAG_ERROR_MEMORY);
  plag_test_fail_allocation(0);
  plag_arena_clear(&arena);
  plag_manifest_clear(&manifest);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(the_manifest_goes_before_the_path),
                                     cmocka_unit_test(a_name_without_memory_is_told)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
