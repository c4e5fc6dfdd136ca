/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/next_tests.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define OUTCOMES 3

/* A test: what it is, what each family would show, and how likely each outcome is under each family
 * (a judgement, no source). */
typedef struct test_row {
  const char *key;
  const char *test;
  const char *expect[PLATELAG_FAMILY_COUNT];
  const char *caution;
  double minutes;
  bool sweep;  /* left out once a hand sweep was done */
  bool record; /* another capture; left out unless the record lacks something */
  double outcome[PLATELAG_FAMILY_COUNT][OUTCOMES];
} test_row;

#define FREE   PLATELAG_FAMILY_FREE
#define PLATES PLATELAG_FAMILY_MECHANICAL
#define SENSOR PLATELAG_FAMILY_SENSOR_CIRCUIT
#define DRIVE  PLATELAG_FAMILY_DRIVE

static const test_row row[] = {
    {.key = "hand_sweep",
     .test = "Take the actuator off the manifold, turn its shaft slowly by hand from stop to stop "
             "three times with the key on, and record the position (hand sweep)",
     .expect = {[FREE] = "the reading passes smoothly from end to end",
                [PLATES] = "the reading passes smoothly: sensor and circuit are good, the plates "
                           "are not",
                [SENSOR] = "the reading stays, jumps or goes dead at a spot",
                [DRIVE] = "the reading passes smoothly; reconnected and driven, the actuator does "
                          "not turn"},
     .caution =
         "Key off before the connector is parted; keep fingers clear: the actuator may close "
         "with force when powered; follow the service information.",
     .minutes = 30,
     .sweep = true,
     .outcome = {[FREE] = {0.95, 0.05, 0},
                 [PLATES] = {0.97, 0.03, 0},
                 [SENSOR] = {0.06, 0.94, 0},
                 [DRIVE] = {0.55, 0.03, 0.42}}},
    {.key = "connector",
     .test = "Measure signal, reference and ground at the sensor connector, back-probed with the "
             "key on",
     .expect = {[FREE] = "reference 4.9 to 5.1 V, ground below 0.1 V, the signal as recorded",
                [PLATES] = "reference and ground good, the signal as recorded",
                [SENSOR] = "reference or ground off, or a signal other than recorded",
                [DRIVE] = "reference and ground good, the signal as recorded"},
     .caution = "Engine off, key on; keep hands and leads away from fans and hot parts; do not "
                "pierce wires; follow the service information.",
     .minutes = 15,
     .outcome = {[FREE] = {0.95, 0.05, 0},
                 [PLATES] = {0.95, 0.05, 0},
                 [SENSOR] = {0.4, 0.6, 0},
                 [DRIVE] = {0.95, 0.05, 0}}},
    {.key = "active_test",
     .test = "Drive the actuator open and closed with the engine off (active test) and watch shaft "
             "and reading together",
     .expect = {[FREE] = "shaft and reading go from stop to stop at once",
                [PLATES] = "the shaft hesitates, stops short or stands, and the reading with it",
                [SENSOR] = "the shaft moves and the reading does not follow it",
                [DRIVE] = "nothing moves and no voltage or current reaches the actuator"},
     .caution = "Plates close on fingers when powered: keep hands out of the manifold and linkage; "
                "follow the service information.",
     .minutes = 20,
     .outcome = {[FREE] = {0.85, 0.10, 0.05},
                 [PLATES] = {0.12, 0.83, 0.05},
                 [SENSOR] = {0.12, 0.08, 0.80},
                 [DRIVE] = {0.10, 0.80, 0.10}}},
    {.key = "supply",
     .test = "Measure supply and current at the actuator connector while the valve is commanded",
     .expect = {[FREE] = "battery voltage and current, and the shaft turns",
                [PLATES] = "battery voltage and current, and the shaft does not turn freely",
                [SENSOR] = "battery voltage and current, and the shaft turns",
                [DRIVE] = "no or low voltage, or no current"},
     .caution = "Engine off, key on; keep fingers clear of linkage and plates; key off before the "
                "connector is parted; follow the service information.",
     .minutes = 20,
     .outcome = {[FREE] = {0.95, 0.05, 0},
                 [PLATES] = {0.93, 0.07, 0},
                 [SENSOR] = {0.93, 0.07, 0},
                 [DRIVE] = {0.1, 0.9, 0}}},
    {.key = "borescope",
     .test = "Look at the plates through the runner with a borescope",
     .expect = {[FREE] = "clean plates and bores",
                [PLATES] = "carbon around the plates, a ridge, or a bent or jammed plate",
                [SENSOR] = "no more deposit than usual",
                [DRIVE] = "no more deposit than usual"},
     .caution =
         "Let the engine cool; key off; clean only with solvent that the service information "
         "allows, with ventilation and away from flame.",
     .minutes = 45,
     .outcome = {[FREE] = {0.85, 0.15, 0},
                 [PLATES] = {0.12, 0.88, 0},
                 [SENSOR] = {0.75, 0.25, 0},
                 [DRIVE] = {0.75, 0.25, 0}}},
    {.key = "hot_drive",
     .test = "Record the same drive again with the engine hot",
     .expect = {[FREE] = "no change",
                [PLATES] = "sticking eases with heat",
                [SENSOR] = "no easing; often worse hot or shaken",
                [DRIVE] = "no easing; worse as the supply falls"},
     .caution = "A road test takes a second person to watch the recorder; mind hot parts and fans.",
     .minutes = 40,
     .outcome = {[FREE] = {0.9, 0.05, 0.05},
                 [PLATES] = {0.45, 0.5, 0.05},
                 [SENSOR] = {0.6, 0.05, 0.35},
                 [DRIVE] = {0.65, 0.05, 0.3}}},
    {.key = "record_again",
     .test = "", /* what is advised */
     .expect = {[FREE] = "follows within the limits",
                [PLATES] = "late, held or short movement",
                [SENSOR] = "readings that no plate can have made, or both stops off",
                [DRIVE] = "no movement, or slow the driven way"},
     .caution = "A road test takes a second person to watch the recorder; mind hot parts and fans.",
     .minutes = 25,
     .record = true,
     .outcome = {[FREE] = {0.92, 0.04, 0.04},
                 [PLATES] = {0.08, 0.86, 0.06},
                 [SENSOR] = {0.10, 0.20, 0.70},
                 [DRIVE] = {0.05, 0.85, 0.10}}},
};

#undef FREE
#undef PLATES
#undef SENSOR
#undef DRIVE

/* A gain below this is not worth a walk to the vehicle, nats. */
#define GAIN_LEAST 0.02
/* Time at which a test's worth is halved, minutes. */
#define HALF_WORTH_MIN 120.0

static double entropy(const double *p) {
  double sum = 0;
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
    if (p[f] > 0)
      sum -= p[f] * log(p[f]);
  return sum;
}

/* Expected fall of the entropy of the families. */
static double gain_of(const test_row *test, const double *family) {
  double left = 0;
  for (int o = 0; o < OUTCOMES; o++) {
    double joint[PLATELAG_FAMILY_COUNT];
    double all = 0;
    for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
      all += joint[f] = family[f] * test->outcome[f][o];
    if (!(all > 0))
      continue;
    for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
      joint[f] /= all;
    left += all * entropy(joint);
  }
  return fmax(entropy(family) - left, 0);
}

static double worth(const platelag_next_test *test) {
  return test->gain / (1.0 + test->minutes / HALF_WORTH_MIN);
}

static int worthier_first(const void *a, const void *b) {
  const double left = worth(a);
  const double right = worth(b);
  if (left != right)
    return left < right ? 1 : -1;
  const double left_min = ((const platelag_next_test *)a)->minutes;
  const double right_min = ((const platelag_next_test *)b)->minutes;
  return (left_min > right_min) - (left_min < right_min);
}

/* What is lacking is told as "why; what to do": what to do, as a sentence of its own. */
static const char *what_to_do(const char *lacking, plag_arena *arena) {
  const char *why_end = strstr(lacking, "; ");
  char *deed = plag_arena_copy_text(arena, why_end != NULL ? why_end + 2 : lacking);
  if (deed != NULL && deed[0] >= 'a' && deed[0] <= 'z')
    deed[0] = (char)(deed[0] - 'a' + 'A');
  return deed;
}

static platelag_next_test told(const test_row *test, const double *family, const char *lacking,
                               plag_arena *arena) {
  platelag_next_test next = {.key = test->key,
                             .test = test->record ? what_to_do(lacking, arena) : test->test,
                             .caution = test->caution,
                             .minutes = test->minutes,
                             .gain = gain_of(test, family)};
  for (int f = 0; f < PLATELAG_FAMILY_COUNT; f++)
    next.expect[f] = test->expect[f];
  return next;
}

bool plag_next_tests_choose(const double family[PLATELAG_FAMILY_COUNT],
                            platelag_finding_kind finding, const char *lacking, bool swept,
                            plag_arena *arena, const platelag_next_test **test, size_t *count) {
  const size_t rows = sizeof row / sizeof row[0];
  platelag_next_test *list = plag_arena_take_array(arena, rows, sizeof(platelag_next_test));
  if (list == NULL)
    return false;
  size_t found = 0;
  for (size_t i = 0; i < rows; i++) {
    const bool asks_for_sweep = lacking != NULL && strstr(lacking, "hand sweep") != NULL;
    /* The sweep has a row of its own. */
    if ((row[i].sweep && swept) || (row[i].record && (lacking == NULL || asks_for_sweep)))
      continue;
    list[found] = told(&row[i], family, lacking, arena);
    if (list[found].test == NULL)
      return false;
    found++;
  }
  qsort(list, found, sizeof list[0], worthier_first);
  /* Whoever takes things apart on this finding confirms it once: at least one test, unless all is
   * well. */
  const size_t least = finding == PLATELAG_FINDING_FREE ? 0 : 1;
  size_t kept = 0;
  while (kept < found && kept < PLAG_NEXT_TESTS_MOST &&
         (kept < least || list[kept].gain >= GAIN_LEAST))
    kept++;
  *test = list;
  *count = kept;
  return true;
}
