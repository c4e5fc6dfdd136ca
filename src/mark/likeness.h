/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether two recordings are one. Two honest recordings of a vehicle may share the drive, but never
 * the noise: what is left of the readings when the moves are taken out. */
#ifndef PLAG_MARK_LIKENESS_H
#define PLAG_MARK_LIKENESS_H

#include <stdbool.h>
#include <stddef.h>

/* What transforms of one length need; made once for a class. */
typedef struct plag_noise_plan plag_noise_plan;

/* For recordings of at most `longest` readings. NULL without memory; the caller destroys it. */
plag_noise_plan *plag_noise_plan_create(size_t longest);
void plag_noise_plan_destroy(plag_noise_plan *plan);

/* A recording's noise, ready to be compared. */
typedef struct plag_noise {
  double *noise;     /* of each reading; NaN where it moves or is missing */
  double *transform; /* of the noise, by the plan */
  size_t count;
  size_t lively; /* readings that stand and differ from their neighbours */
} plag_noise;

/* Fewer lively readings than this tell nothing. */
enum { PLAG_LIVELY_LEAST = 100 };

/* Takes the noise of `count` readings (NaN: missing), and its transform unless `plan` is NULL.
 * False without memory; the caller clears it either way. */
bool plag_noise_take(const double *value, size_t count, plag_noise_plan *plan, plag_noise *out);
void plag_noise_clear(plag_noise *noise);

typedef struct plag_match {
  double correlation;    /* of the noise where the two lie over each other */
  size_t samples;        /* that stand in both and have noise in one */
  ptrdiff_t offset;      /* of the other's first reading in the one */
  double share;          /* of the shorter recording that lies over the other */
  double scale;          /* other = scale * one + something; NaN where the noise is not alike */
  double residual_share; /* what the scale leaves, of the one's spread */
} plag_match;

/* Lays `other` over `one` where their noise agrees best (cross-correlation by fast Fourier
 * transform, the GNU Scientific Library's). */
plag_match plag_noise_match(const plag_noise *one, const double *one_value, const plag_noise *other,
                            const double *other_value, plag_noise_plan *plan);

/* Whether a match is beyond what honest recordings show: a correlation of 0.2 in 100 readings (a
 * judgement), beyond the largest that chance gives over all offsets, and the same way up as the
 * moves. */
bool plag_match_is_likeness(const plag_match *match);

#endif
