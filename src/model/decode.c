/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/decode.h"

#include <math.h>

#include "core/lesser.h"
#include "model/changes.h"

/* Costs are negative natural logs of densities per % of travel, or of probabilities. The constants
 * are priors, chosen on made captures (tests/unit/model/test_modes.c, tests/recovery/test_held.c):
 * a reading that leaves and comes back without being asked to is void, a move that stays is not. */
#define WANDER_SHARE      0.05 /* of still readings that stray by more than noise */
#define WANDER_PCT        1.0  /* how far they stray, mean */
#define MOVE_COST         4.4  /* a move that a recent command change asks for: anywhere in 60 % */
#define SLIP_PER_S        0.2  /* sticking plates let go, towards the command */
#define UNASKED_PER_S     4e-4 /* moves that nothing asks for */
#define HAND_PER_S        0.3  /* the same where a hand turns the shaft */
#define VOID_PER_S        4e-3 /* void spans begin */
#define BACK_PER_S        2.0  /* and end */
#define ANYWHERE_COST     5.0  /* one reading anywhere in 150 % */
#define STRAY_COST        1.0  /* each further void reading at a level of its own */
#define DWELL_COST        0.12 /* each further void reading at the level of the one before */
#define OPEN_END_COST     5.0  /* a void span that never comes back */
#define REACH_PCT         12.0 /* how far off the guessed target may be */
#define OVERSHOOT         0.3  /* of a move, that plates may go beyond their target */
#define LOOK_BACK_NS      2000000000 /* targets of the last 2 to 4 s count as asked for */
#define OUTSIDE_COST      4.0 /* more, for a move to where no command ever let the plates rest */
#define RECENT_MOVE_PCT   3.0
#define BACK_TO_FOLLOWING 1U /* back-pointers, one bit for each mode */
#define BACK_TO_VOID      2U

/* Lowest and highest target asked for lately: two buckets of time. */
typedef struct lately {
  int64_t until_ns;
  double low[2], high[2]; /* this bucket, the one before */
} lately;

/* A way through the samples so far that ends in one mode. */
typedef struct way {
  double cost;
  double valid_pct;         /* last valid reading */
  double low_pct, high_pct; /* targets asked for since, and lately before */
} way;

typedef struct decoder {
  const platelag_trace *trace;
  const plag_guess *guess;
  bool hand;                      /* no command: anything may be asked for */
  double noise_pct;               /* of one reading */
  double lowest_pct, highest_pct; /* where plates have been seen to rest, and the reach beyond */
  double still_cost;              /* at no difference */
  double wander_cost;             /* likewise */
  double costs_dt_s;              /* the spacing that the next four are for */
  double slip_cost, unasked_cost, enter_cost, leave_cost;
  lately asked;
  way following, voided;
  double previous_pct, previous_move_pct, previous_dt_s;
} decoder;

static void forget(lately *asked, int64_t now_ns, double target_pct) {
  asked->until_ns = now_ns + LOOK_BACK_NS;
  for (int k = 0; k < 2; k++)
    asked->low[k] = asked->high[k] = target_pct;
}

static void remember(lately *asked, int64_t now_ns, double target_pct) {
  if (now_ns >= asked->until_ns) {
    const bool old = now_ns >= asked->until_ns + LOOK_BACK_NS;
    asked->low[1] = old ? target_pct : asked->low[0];
    asked->high[1] = old ? target_pct : asked->high[0];
    asked->low[0] = asked->high[0] = target_pct;
    asked->until_ns = now_ns + LOOK_BACK_NS;
  }
  asked->low[0] = plag_lesser(asked->low[0], target_pct);
  asked->high[0] = plag_greater(asked->high[0], target_pct);
}

static double still_cost(const decoder *d, double move_pct) {
  const double by_noise =
      d->still_cost + 0.25 * move_pct * move_pct / (d->noise_pct * d->noise_pct);
  const double by_wander =
      d->wander_cost + fabs(move_pct) / plag_greater(WANDER_PCT, 2.0 * d->noise_pct);
  return plag_lesser(by_noise, by_wander);
}

static double rare_cost(double per_s, double dt_s) {
  return -log(plag_lesser(per_s * dt_s, 0.3));
}

/* Logarithms are dear and samples come evenly: they are taken anew only when the spacing changes.
 */
static void prepare_costs(decoder *d, double dt_s) {
  if (fabs(dt_s - d->costs_dt_s) <= 0.1 * d->costs_dt_s)
    return;
  d->costs_dt_s = dt_s;
  d->slip_cost = MOVE_COST + rare_cost(SLIP_PER_S, dt_s);
  d->unasked_cost = ANYWHERE_COST + rare_cost(d->hand ? HAND_PER_S : UNASKED_PER_S, dt_s);
  d->enter_cost = ANYWHERE_COST + rare_cost(VOID_PER_S, dt_s);
  d->leave_cost = rare_cost(BACK_PER_S, dt_s);
}

/* Cost of plates going from one valid reading to the next. */
static double move_cost(const decoder *d, const way *from, double to_pct) {
  const double from_pct = from->valid_pct;
  const double still = still_cost(d, to_pct - from_pct);
  if (still < MOVE_COST)
    return still;
  if (d->hand)
    return plag_lesser(still, d->unasked_cost);
  const double low = from->low_pct;
  const double high = from->high_pct;
  double cost = d->unasked_cost;
  if (to_pct < d->lowest_pct || to_pct > d->highest_pct)
    return plag_lesser(still, cost + OUTSIDE_COST);
  const double reach = plag_greater(REACH_PCT, OVERSHOOT * fabs(to_pct - from_pct));
  if (to_pct >= plag_lesser(from_pct, low) - reach &&
      to_pct <= plag_greater(from_pct, high) + reach) {
    if (high - low >= RECENT_MOVE_PCT)
      cost = MOVE_COST;
    else if (fabs(to_pct - low) < fabs(from_pct - low))
      cost = d->slip_cost;
  }
  return plag_lesser(still, cost);
}

/* Plates that were moving may go on the same way, asked or not. */
static bool goes_on(const decoder *d, double move_pct, double dt_s) {
  if (!(d->previous_dt_s > 0.0) || move_pct * d->previous_move_pct <= 0.0)
    return false;
  const double before = fabs(d->previous_move_pct) / d->previous_dt_s;
  return fabs(move_pct) <= 2.5 * before * dt_s && fabs(d->previous_move_pct) > 2.0 * d->noise_pct;
}

static void start(decoder *d, double travel_pct) {
  d->following = (way){.valid_pct = travel_pct};
  d->voided = (way){
      .cost = ANYWHERE_COST + OPEN_END_COST, .valid_pct = NAN, .low_pct = NAN, .high_pct = NAN};
  d->previous_pct = travel_pct;
  d->previous_dt_s = 0.0;
}

/* Back into following. Where no reading was valid yet, anywhere will do. */
static double return_cost(const decoder *d, double travel_pct) {
  if (isnan(d->voided.valid_pct))
    return d->leave_cost + ANYWHERE_COST;
  return d->leave_cost + move_cost(d, &d->voided, travel_pct);
}

/* What was asked for since a reading was valid. */
static void look_back(decoder *d) {
  d->following.low_pct = plag_lesser(d->asked.low[0], d->asked.low[1]);
  d->following.high_pct = plag_greater(d->asked.high[0], d->asked.high[1]);
  d->voided.low_pct = plag_lesser(d->voided.low_pct, d->following.low_pct);
  d->voided.high_pct = plag_greater(d->voided.high_pct, d->following.high_pct);
}

/* One reading on; returns the back-pointers of both modes. */
static unsigned char advance(decoder *d, double travel_pct, double dt_s) {
  const double move = travel_pct - d->previous_pct;
  prepare_costs(d, dt_s);
  look_back(d);
  double stay = move_cost(d, &d->following, travel_pct);
  if (stay > MOVE_COST && goes_on(d, move, dt_s))
    stay = MOVE_COST;
  const double from_following = d->following.cost + stay;
  const double from_void = d->voided.cost + return_cost(d, travel_pct);
  const double into_void = d->following.cost + d->enter_cost;
  const double on_in_void =
      d->voided.cost + plag_lesser(ANYWHERE_COST + STRAY_COST, DWELL_COST + still_cost(d, move));
  unsigned char back = 0;
  if (from_void < from_following)
    back |= BACK_TO_FOLLOWING;
  way voided = d->voided;
  if (on_in_void <= into_void) {
    voided.cost = on_in_void;
    back |= BACK_TO_VOID;
  } else {
    voided = d->following;
    voided.cost = into_void;
  }
  d->following = (way){.cost = plag_lesser(from_following, from_void), .valid_pct = travel_pct};
  d->voided = voided;
  d->previous_move_pct = move;
  d->previous_dt_s = dt_s;
  d->previous_pct = travel_pct;
  return back;
}

/* From the last sample back: the pointers become modes. */
static void trace_back(unsigned char *mode, size_t first, size_t end, bool voided) {
  for (size_t i = end; i-- > first;) {
    const unsigned char back = mode[i];
    mode[i] = voided ? PLATELAG_MODE_ERRATIC : PLATELAG_MODE_FOLLOWING;
    voided = (back & (voided ? BACK_TO_VOID : BACK_TO_FOLLOWING)) != 0;
  }
}

static void decode_segment(decoder *d, size_t index, unsigned char *mode) {
  const platelag_trace *trace = d->trace;
  const platelag_trace_segment *segment = &trace->segment[index];
  const size_t first = segment->first_sample;
  const size_t end = first + segment->sample_count;
  plag_changes changes;
  plag_changes_begin(&changes, trace, index, 0.0, true);
  double target_pct = plag_guess_travel_pct(d->guess, segment->command_at_start);
  forget(&d->asked, segment->from_ns, target_pct);
  for (size_t i = first; i < end; i++) {
    const int64_t now_ns = trace->time_ns[i];
    const double travel_pct = platelag_trace_travel_pct(trace, trace->level[i]);
    /* A change may have happened, and the plates may have felt it, from the last row on that shows
     * the old command: the position of that row is polled after it. */
    for (; changes.at_ns != INT64_MAX && changes.change.after_ns <= now_ns;
         plag_changes_advance(&changes)) {
      remember(&d->asked, changes.at_ns, target_pct); /* the old target counts up to its change */
      target_pct = plag_guess_travel_pct(d->guess, changes.change.to);
      remember(&d->asked, changes.at_ns, target_pct);
    }
    remember(&d->asked, now_ns, target_pct);
    if (i == first)
      start(d, travel_pct);
    else
      mode[i] = advance(d, travel_pct,
                        plag_greater(platelag_seconds(now_ns - trace->time_ns[i - 1]), 1e-6));
  }
  if (end > first)
    trace_back(mode, first, end, d->voided.cost + OPEN_END_COST < d->following.cost);
}

void plag_decode_void(plag_model *model, const plag_guess *guess) {
  /* Below 0.15 % noise the readings are finer than any plate is quiet. */
  const double noise_pct = plag_greater(model->noise_pct, 0.15);
  decoder d = {
      .trace = model->trace,
      .guess = guess,
      .hand = guess->knots == 0,
      .noise_pct = noise_pct,
      .still_cost = log(2.0 * noise_pct * sqrt(M_PI)) - log(1.0 - WANDER_SHARE),
      .wander_cost = log(2.0 * plag_greater(WANDER_PCT, 2.0 * noise_pct)) - log(WANDER_SHARE),
  };
  d.lowest_pct = d.highest_pct = guess->knots > 0 ? guess->travel_pct[0] : 0.0;
  for (int k = 0; k < guess->knots; k++) {
    d.lowest_pct = plag_lesser(d.lowest_pct, guess->travel_pct[k]);
    d.highest_pct = plag_greater(d.highest_pct, guess->travel_pct[k]);
  }
  d.lowest_pct -= 1.5 * REACH_PCT;
  d.highest_pct += 1.5 * REACH_PCT;
  for (size_t s = 0; s < model->trace->segment_count; s++)
    decode_segment(&d, s, model->mode);
}
