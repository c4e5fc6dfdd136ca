/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Log densities of the facts that the hypotheses are scored on. Each is mixed with a little of a
 * broad background, so that no single fact, however odd, decides alone: the worst a fact can do is
 * bounded. Where a hypothesis says nothing of a fact it scores the background itself. */
#ifndef PLAG_JUDGE_DENSITY_H
#define PLAG_JUDGE_DENSITY_H

/* Share of the background in every density: facts are measured wrongly about that often (a
 * judgement, no source); it bounds a fact's Bayes factor to about e^5 in the usual case. */
#define PLAG_DENSITY_BACKGROUND 0.01

/* The same where the finding is defined by the fact itself (a limit of the spec), and its own
 * interval already says how well it is known. */
#define PLAG_DENSITY_BACKGROUND_LIMIT 0.0005

/* A proportion 0..1 expected near `mean`; `strength` counts as that many observations (Beta). */
typedef struct plag_proportion {
  double mean;
  double strength; /* 0: says nothing */
} plag_proportion;

/* A count expected as `rate` times the exposure; gamma-Poisson, a small `shape` is a wide one. */
typedef struct plag_rate {
  double rate;
  double shape; /* 0: says nothing */
} plag_rate;

/* A level expected near `centre` (normal). */
typedef struct plag_level {
  double centre;
  double sd; /* 0: says nothing */
} plag_level;

/* k of n expected with a chance that is itself Beta(a, b). a = b = 0: exactly one half. */
typedef struct plag_chance {
  double a;
  double b;
} plag_chance;

/* On which side of a limit of the spec a quantity is expected: the chance that it is above. */
#define PLAG_SIDE_BELOW  0.0
#define PLAG_SIDE_ABOVE  1.0
#define PLAG_SIDE_EITHER 0.5

double plag_density_proportion(double value, plag_proportion expected);
/* The same with `share` as that of the background. */
double plag_density_proportion_by(double value, plag_proportion expected, double share);
/* `share` is that of the background, in place of PLAG_DENSITY_BACKGROUND. */
double plag_density_count(double count, double exposure, plag_rate expected, double share);

/* `range` is the width over which the background spreads. */
double plag_density_level(double value, double range, plag_level expected, double share);

/* A spread (0 or more) expected to be about `scale` or less (half-normal); scale 0 says nothing. */
double plag_density_spread(double value, double range, double scale);

/* Beta-Binomial(k; n, a, b). */
double plag_density_chance(double k, double n, plag_chance expected);

/* A yes with probability `yes`; a negative one says nothing. */
double plag_density_yes(double value, double yes);

/* A quantity that a limit of the spec divides. `above` is the probability, by its own interval,
 * that it lies above. `ratio` is its value over the limit, NaN where it is only bounded; healthy
 * values scatter (log-normal) about `healthy` times the limit, faulty ones up to `most` times. */
double plag_density_side(double above, double ratio, double healthy, double most,
                         double expected_above);

/* Standard normal distribution function. */
double plag_density_normal_below(double z);

#endif
