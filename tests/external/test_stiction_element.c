/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The stiction element does what published models do, reading by reading: fed with the command of a
 * slow triangle it gives their positions. Sources: Kano et al., DYCOPS 2004; He, Wang, Pottmann,
 * Qin, Ind. Eng. Chem. Res. 46 (2007) 4549; Stenman, Gustafsson, Forsman, Int. J. Adapt. Control
 * Signal Process. 17 (2003) 625; data/stiction was computed from their definitions. Regimes by J:
 * Choudhury, Thornhill, Shah, Control Eng. Practice 13 (2005) 641. One step of 8 bits is 100/255 %
 * (SAE J1979): plates that move do not take it for a reversal. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/number.h"
#include "model/stiction.h"
#include "support/check.h"

enum { MOST = 4096 };

struct course {
  size_t count;
  double time_s[MOST], command_pct[MOST], position_pct[MOST];
};

static void read_course(const char *name, struct course *course) {
  char path[512];
  char line[96];
  (void)snprintf(path, sizeof path, "%s/stiction/%s", PLATELAG_EXTERNAL_DATA, name);
  FILE *file = fopen(path, "r");
  assert_non_null(file);
  course->count = 0;
  while (fgets(line, sizeof line, file)) {
    double *cell[3] = {&course->time_s[course->count], &course->command_pct[course->count],
                       &course->position_pct[course->count]};
    const char *at = line;
    size_t read = 0;
    for (; read < 3; read++) {
      const size_t used = plag_number_read(at, strlen(at), '.', cell[read]);
      if (used == 0)
        break;
      at += used + 1;
    }
    course->count += read == 3;
    assert_true(course->count < MOST);
  }
  (void)fclose(file);
  assert_true(course->count > 400);
}

/* The element's positions for the course's commands, from the position that it begins with. Plates
 * that go one way go on without a lag. */
static void follow(const plag_stiction *element, const struct course *course, int direction,
                   double *position_pct) {
  plag_stiction_state state;
  plag_stiction_start(&state, element, course->position_pct[0], course->command_pct[0], direction,
                      course->time_s[0]);
  state.direction = direction;
  position_pct[0] = state.output_pct;
  for (size_t i = 1; i < course->count; i++) {
    plag_stiction_feed(&state, element, course->command_pct[i], course->time_s[i],
                       position_pct[i - 1]);
    position_pct[i] = state.output_pct;
  }
}

static plag_stiction element_of(double band_pct, double jump_pct, plag_stiction_stop stop) {
  return (plag_stiction){.leave_pct = 0.5 * (band_pct + jump_pct),
                         .behind_pct = 0.5 * (band_pct - jump_pct),
                         .stop = stop,
                         .rest_s = INFINITY,
                         .lowest_pct = -INFINITY,
                         .highest_pct = INFINITY};
}

static void positions_of_published_models(void **state) {
  (void)state;
  static const struct {
    const char *name;
    double band_pct, jump_pct;
    plag_stiction_stop stop;
    int direction; /* at the start */
    double low_pct, high_pct;
  } rows[] = {
      {"kano_S5_J2.csv", 5, 2, PLAG_STOP_ON_TURN, 1, 41.5, 58.5},
      {"kano_S5_J0.csv", 5, 0, PLAG_STOP_ON_TURN, 1, 42.5, 57.5},
      {"he_fs3.5_fd1.5.csv", 5, 2, PLAG_STOP_EACH_CHANGE, 0, 0, 0},
      {"stenman_d3.csv", 3, 3, PLAG_STOP_EACH_CHANGE, 0, 0, 0},
  };
  static struct course course;
  static double position_pct[MOST];
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_stiction element = element_of(rows[k].band_pct, rows[k].jump_pct, rows[k].stop);
    double low = INFINITY;
    double high = -INFINITY;
    double worst = 0;
    read_course(rows[k].name, &course);
    follow(&element, &course, rows[k].direction, position_pct);
    for (size_t i = 0; i < course.count; i++) {
      worst = fmax(worst, fabs(position_pct[i] - course.position_pct[i]));
      low = fmin(low, position_pct[i]);
      high = fmax(high, position_pct[i]);
    }
    print_message("%-18s %zu positions, off by %.1e %% at most, %.4f to %.4f\n", rows[k].name,
                  course.count, worst, low, high);
    assert_true(worst < 1e-6);
    if (rows[k].high_pct > 0) {
      assert_close(low, rows[k].low_pct, 0, 1e-6);
      assert_close(high, rows[k].high_pct, 0, 1e-6);
    }
  }
}

/* Kano's plates leave 5 % behind a reversal, on the step that passes it, and jump by J more than
 * the command went since. */
static void leaves_after_the_band_by_the_jump(void **state) {
  (void)state;
  static struct course course;
  static double position_pct[MOST];
  static const struct {
    const char *name;
    double jump_pct;
  } rows[] = {{"kano_S5_J2.csv", 2}, {"kano_S5_J0.csv", 0}};
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_stiction element = element_of(5, rows[k].jump_pct, PLAG_STOP_ON_TURN);
    size_t turns = 0;
    double turned_pct = NAN;
    read_course(rows[k].name, &course);
    follow(&element, &course, 1, position_pct);
    for (size_t i = 1; i + 1 < course.count; i++) {
      const double before = course.command_pct[i] - course.command_pct[i - 1];
      if (before * (course.command_pct[i + 1] - course.command_pct[i]) < 0)
        turned_pct = course.command_pct[i];
      const double moved_pct = fabs(position_pct[i] - position_pct[i - 1]);
      if (isnan(turned_pct) || moved_pct < 1e-9 || course.command_pct[i] == turned_pct)
        continue;
      assert_close(fabs(course.command_pct[i] - turned_pct), 5.1, 0, 1e-6);
      assert_close(moved_pct, rows[k].jump_pct + 0.1, 0, 1e-6);
      turned_pct = NAN;
      turns++;
    }
    assert_true(turns >= 4);
  }
}

/* How far behind the command (negative: beyond) plates land that are pulled free upwards: J below S
 * undershoots, J = S lands on it, J above S overshoots, J = 0 is a dead band. */
static void regimes_of_the_jump(void **state) {
  (void)state;
  static const struct {
    double band_pct, jump_pct, behind_pct;
  } rows[] = {{4.2, 0, 2.1}, {4.2, 1.6, 1.3}, {4.2, 4.2, 0}, {4.2, 5.8, -0.8}};
  for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
    const plag_stiction element = element_of(rows[k].band_pct, rows[k].jump_pct, PLAG_STOP_ON_TURN);
    const double leave_pct = 0.5 * (rows[k].band_pct + rows[k].jump_pct);
    plag_stiction_state at;
    plag_stiction_start(&at, &element, 31.7, 31.7, 0, 0);
    plag_stiction_feed(&at, &element, 31.7 + leave_pct - 0.01, 1, 31.7);
    assert_close(at.output_pct, 31.7, 0, 0);
    plag_stiction_feed(&at, &element, 31.7 + leave_pct + 0.01, 2, 31.7);
    assert_close(at.output_pct, 31.71 + leave_pct - rows[k].behind_pct, 0, 1e-9);
    assert_close(at.output_pct - 31.7, rows[k].jump_pct + 0.01, 0, 1e-9);
  }
}

/* Moving plates and a command that goes back by one step of 8 bits and on: no stop. By two: one,
 * and the pull of standing plates is asked for again. */
static void one_step_of_a_converter_is_no_reversal(void **state) {
  (void)state;
  const double step_pct = 100.0 / 255.0;
  const plag_stiction element = element_of(5, 2, PLAG_STOP_ON_TURN);
  for (int steps = 1; steps <= 2; steps++) {
    plag_stiction_state at;
    plag_stiction_start(&at, &element, 40, 40, 0, 0);
    plag_stiction_feed(&at, &element, 46, 1, 40);
    assert_close(at.output_pct, 44.5, 0, 1e-9);
    plag_stiction_feed(&at, &element, 46 - steps * step_pct, 2, 44.5);
    plag_stiction_feed(&at, &element, 46.9, 3, 44.5);
    assert_close(at.output_pct, steps == 1 ? 45.4 : 44.5, 0, 1e-9);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(positions_of_published_models),
      cmocka_unit_test(leaves_after_the_band_by_the_jump),
      cmocka_unit_test(regimes_of_the_jump),
      cmocka_unit_test(one_step_of_a_converter_is_no_reversal),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
