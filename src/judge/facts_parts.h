/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the facts of a record are taken: a file a subject, called in order by facts.c. */
#ifndef PLAG_JUDGE_FACTS_PARTS_H
#define PLAG_JUDGE_FACTS_PARTS_H

#include "judge/facts.h"

void plag_facts_set(plag_facts *facts, plag_feature feature, double value, double limit,
                    double count);

/* `k` of `n` events; not set for fewer than two. */
void plag_facts_set_chance(plag_facts *facts, plag_feature feature, size_t k, size_t n);

/* The likeliest value, or the bound that is known of it. */
double plag_facts_central(const platelag_estimate *estimate);

/* Noise between moves, % of travel; a usual one where it could not be measured. */
double plag_facts_noise_pct(const platelag_fit *fit);

/* Share of the readings that are frozen. */
double plag_facts_frozen_share(const platelag_fit *fit);

/* Travel that a desired position asks for. */
double plag_facts_desired_pct(const platelag_trace *trace, double command);

/* Log likelihood less the price of the parameters, nats; NaN where a description was not fitted. */
double plag_facts_bic(const platelag_score *score);

/* Sets `railed`. */
void plag_facts_take_rails(plag_facts *facts, const platelag_signal *signal,
                           const platelag_valve_spec *spec);

/* Sets what several facts share: commanded, moved, and how the valve is driven. */
void plag_facts_take_moved(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace);
void plag_facts_take_signal(plag_facts *facts, const platelag_fit *fit,
                            const platelag_trace *trace);
void plag_facts_take_reference(plag_facts *facts, const platelag_trace *trace);
void plag_facts_take_still(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace);

/* Needs the stops and the trend. */
void plag_facts_take_held(plag_facts *facts, const platelag_fit *fit, const platelag_trace *trace,
                          const platelag_valve_spec *spec);

#endif
