/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Practice captures: made from physics that the model does not share, with known faults. */
#ifndef PLATELAG_PRACTICE_H
#define PLATELAG_PRACTICE_H

#include "platelag/report.h"

#ifdef __cplusplus
extern "C" {
#endif

/* How many faults and layouts there are, and their names ("ridge", "open_wire"; "comma",
 * "german_semicolon"). Names are lent, static. */
PLATELAG_API size_t platelag_practice_fault_count(void);
PLATELAG_API const char *platelag_practice_fault_name(size_t index);
PLATELAG_API const char *platelag_practice_fault_describe(size_t index);
PLATELAG_API size_t platelag_practice_layout_count(void);
PLATELAG_API const char *platelag_practice_layout_name(size_t index);

/* What to make. Zero-initialise, then set; 0 and NULL mean the default in brackets. */
typedef struct platelag_practice_order {
  /* One, or a mixture "sticking+dropouts", the dominant one first, the others half as severe
   * ["none"]. */
  const char *fault;
  double severity;        /* 0..1; NaN or 0 with a fault: [0.6] */
  uint64_t seed;          /* of the vehicle and the fault */
  uint64_t drive_seed;    /* of driver, gas, noise and recorder: another drive of it [as seed] */
  const char *layout;     /* ["comma"] */
  double minutes;         /* [10] */
  double rows_per_second; /* [10] */
  const char *drive;      /* "motor", "vacuum" [motor] */
  const char *command;    /* "duty", "on_off", "desired_and_duty", "duty_closed_loop" [duty] */
  const char *unit;       /* of the position: "volt", "reference", "open" [volt] */
  /* How it was taken. Off the manifold (hand_sweep) the plates' faults are not there, after the
   * repair none is; the same seed is the same vehicle throughout. */
  const char *condition; /* "road", "rest", "hand_sweep", "after" [road] */
  size_t extra_channels; /* filler channels beside the usual ones */
  /* "mixed", "idle" (hardly asked to move), "gentle" (never asked to open fully) [mixed] */
  const char *driving;
  const char *friction; /* the law: "karnopp", "lugre" [karnopp] */
  size_t valves;        /* 1 or 2; the fault is on the first [1] */
  bool inverted;        /* the sensor reads less the further the plates open */
  /* The constants of vehicles, drivers, recorders and faults: "first", "second" [first]. Captures
   * of the one calibrate what captures of the other test. */
  const char *setting;
  const char *channels; /* "usual"; "few": speed, command and position alone [usual] */
} platelag_practice_order;

/* Writes the capture to `capture` and its truth (JSON, schema platelag.practice/1) to `truth`
 * (NULL: not wanted). The same order gives the same bytes; the layout changes nothing in the
 * samples and their stamps. An unknown name is refused with the list of names, a number outside its
 * range with the range. */
PLATELAG_API platelag_status platelag_practice_write(const platelag_practice_order *order,
                                                     const platelag_sink *capture,
                                                     const platelag_sink *truth,
                                                     platelag_error *error);

#ifdef __cplusplus
}
#endif
#endif
