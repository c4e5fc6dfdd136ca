/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The faults, one row each. A fault changes the parts of a valve; mixtures change them in turn. */
#ifndef PLAG_PRACTICE_FAULTS_H
#define PLAG_PRACTICE_FAULTS_H

#include "platelag/practice.h"
#include "practice/vehicle.h"

/* How bad a fault is made, and for how long a record. */
typedef struct plag_spoiling {
  const plag_setting *setting;
  double severity, duration_s;
  plag_random *random;
} plag_spoiling;

typedef struct plag_fault {
  const char *name;
  const char *describe;
  const char *family;   /* who is to blame: a family of the report */
  const char *findings; /* keys of findings that name it rightly at severity 0.6 and more, blanks
                           between; the first is the usual one */
  bool of_plates;       /* stays with the plates: not there with the actuator off the manifold */
  void (*apply)(plag_valve_parts *parts, const plag_spoiling *by);
} plag_fault;

size_t plag_fault_count(void);
const plag_fault *plag_fault_at(size_t index);

enum { PLAG_MOST_FAULTS = 4 };

/* A fault, or several joined by '+' ("sticking+dropouts"), the dominant one first. */
typedef struct plag_fault_list {
  size_t count;
  const plag_fault *fault[PLAG_MOST_FAULTS];
} plag_fault_list;

/* Refuses an unknown name with the list of names. */
platelag_status plag_fault_find(const char *names, plag_fault_list *out, platelag_error *error);

/* Spoils `parts` by all faults of the list; those of the plates only where `plates` is true. */
void plag_fault_apply(const plag_fault_list *list, const plag_setting *setting, double severity,
                      double duration_s, bool plates, uint64_t seed, plag_valve_parts *parts);

#endif
