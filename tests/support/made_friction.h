/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A friction record filled by hand, of one stretch. */
#ifndef PLAG_TEST_MADE_FRICTION_H
#define PLAG_TEST_MADE_FRICTION_H

#include "model/friction_record.h"

enum { PLAG_TEST_FRICTION_ROOM = 256 }; /* samples, and events */

typedef struct plag_test_friction {
  double time_s[PLAG_TEST_FRICTION_ROOM], travel_pct[PLAG_TEST_FRICTION_ROOM];
  double event_s[PLAG_TEST_FRICTION_ROOM], event_open_s[PLAG_TEST_FRICTION_ROOM];
  double event_command[PLAG_TEST_FRICTION_ROOM], event_pct[PLAG_TEST_FRICTION_ROOM];
  plag_friction_stretch stretch;
  plag_moment moment[2 * PLAG_TEST_FRICTION_ROOM];
  plag_friction_record record;
} plag_test_friction;

/* Empty, with plates that rest at `at_pct`, where the command has them. */
static inline void plag_test_friction_begin(plag_test_friction *made, double at_pct) {
  *made = (plag_test_friction){
      .stretch = {.target_at_start_pct = at_pct, .travel_at_start_pct = at_pct}};
  made->record = (plag_friction_record){.stretch_count = 1,
                                        .time_s = made->time_s,
                                        .travel_pct = made->travel_pct,
                                        .event_s = made->event_s,
                                        .event_open_s = made->event_open_s,
                                        .event_command = made->event_command,
                                        .event_pct = made->event_pct,
                                        .stretch = &made->stretch,
                                        .moment = made->moment};
}

/* Tells how many samples and events there are, once they are filled in. */
static inline void plag_test_friction_count(plag_test_friction *made, size_t samples,
                                            size_t events) {
  made->stretch.sample_count = made->record.sample_count = samples;
  made->stretch.event_count = made->record.event_count = events;
}

#endif
