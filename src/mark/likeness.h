/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether two recordings are one. Two honest recordings of a vehicle may share the drive, but never
 * the noise: what is left of the readings when the moves are taken out. */
#ifndef PLAG_MARK_LIKENESS_H
#define PLAG_MARK_LIKENESS_H

#include <stdbool.h>
#include <stddef.h>

/* A recording's noise, ready to be compared: its transform. */
typedef struct plag_noise {
  double *noise;     /* of each reading, 0 where it moves or is missing; unit energy */
  double *transform; /* half-complex, of `size` */
  size_t count;
  size_t lively; /* readings that have noise */
} plag_noise;

/* Fewer lively readings than this tell nothing. */
enum { PLAG_LIVELY_LEAST = 200 };

/* The size of transforms for recordings of at most `longest` readings: a power of two. */
size_t plag_noise_size(size_t longest);

/* Takes the noise of `count` readings (NaN: missing). False without memory; the caller clears it
 * either way. */
bool plag_noise_take(const double *value, size_t count, size_t size, plag_noise *out);
void plag_noise_clear(plag_noise *noise);

typedef struct plag_match {
  double correlation;    /* of the noise where the two lie over each other */
  size_t samples;        /* that both have noise in */
  ptrdiff_t offset;      /* of the other's first reading in the one */
  double share;          /* of the shorter recording that lies over the other */
  double scale;          /* other = scale * one + something */
  double residual_share; /* what the scale leaves, of the one's spread */
} plag_match;

/* Lays `other` over `one` where their noise agrees best (cross-correlation by fast Fourier
 * transform, the GNU Scientific Library's). `scratch`: `size` doubles. */
plag_match plag_noise_match(const plag_noise *one, const double *one_value, const plag_noise *other,
                            const double *other_value, size_t size, double *scratch);

/* Whether a match is beyond what honest recordings show: a correlation of 0.3 in 200 readings
 * (a judgement), beyond the largest that chance gives over all offsets, and the same way up as the
 * moves. */
bool plag_match_is_likeness(const plag_match *match);

#endif
