/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A hand sweep: the actuator off the manifold, its shaft turned by hand. There is no command; only
 * the smoothness of the signal is judged, never sticking. */
#ifndef PLAG_JUDGE_SWEEP_H
#define PLAG_JUDGE_SWEEP_H

#include "judge/facts.h"

typedef struct plag_sweep {
  bool wide;   /* the sweep covered enough of the sensor's range to say something */
  bool railed; /* the signal stood at a rail whatever the hand did */
  double span; /* volts, or % of travel where volts are hidden */
  bool in_volts;
  double spots; /* dead or jumping spots */
} plag_sweep;

/* Measures the sweep. Pure. */
plag_sweep plag_sweep_measure(const platelag_fit *fit);

/* Whether valid readings alone pass, without a dead or jumping spot, over as much as a sweep must
 * cover: what a capture that is not told to be a sweep may be. Pure. */
bool plag_sweep_looks_like_one(const platelag_fit *fit);

/* The facts of a hand sweep: what it says of the signal and nothing of plates or drive. */
void plag_sweep_take_facts(const platelag_fit *fit, plag_facts *facts);

#endif
