/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which columns are a valve's command and position: names propose, behaviour decides, the user's
 * word overrides both. What stays open is refused with the candidates and the way to settle it. */
#ifndef PLAG_LINE_UP_ROLES_H
#define PLAG_LINE_UP_ROLES_H

#include "line_up/notes.h"
#include "line_up/recording.h"
#include "platelag/trace.h"

/* The columns of one valve. */
typedef struct plag_valve_roles {
  int bank; /* 0 when the file names none */
  const platelag_channel *position;
  const platelag_channel *command; /* NULL: absent */
  const platelag_channel *effort;  /* NULL: none */
  bool desired;                    /* the command is a desired position */
} plag_valve_roles;

enum { PLAG_MOST_VALVES = 3 };

/* The position of each valve, in order of bank. */
typedef struct plag_valve_list {
  size_t count;
  plag_valve_roles valve[PLAG_MOST_VALVES];
} plag_valve_list;

/* Finds the valves of a run by their positions; refuses when there is none or two columns are
 * equally good for one. */
platelag_status plag_roles_find_valves(const plag_recording *recording, const platelag_spec *spec,
                                       plag_valve_list *out, platelag_error *error);

/* Finds command and effort of `valve`, whose position is known. Without one: allowed for a hand
 * sweep and a rest, else refused. */
platelag_status plag_roles_find_command(const plag_recording *recording, const platelag_spec *spec,
                                        platelag_condition condition, plag_valve_roles *valve,
                                        plag_notes *notes, platelag_error *error);

/* The best channel of another role for a valve of `bank`; NULL when there is none. */
const platelag_channel *plag_roles_find_auxiliary(const plag_recording *recording,
                                                  platelag_role role, int bank);

#endif
