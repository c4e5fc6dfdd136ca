/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/gate.h"

#include <assert.h>
#include <math.h>

#include "judge/sweep.h"

typedef struct look {
  const platelag_fit *fit;
  const platelag_trace *trace;
  const platelag_valve_spec *spec;
  const plag_facts *facts;
} look;

/* Findings as bits, so that a row can name several. */
#define BIT(kind) (1u << PLATELAG_FINDING_##kind)
#define MOVEMENT  (BIT(FREE) | BIT(SLOW) | BIT(STICKING) | BIT(SHORT_TRAVEL) | BIT(SIGNAL_SHIFTED))

#define ANY_FAULT (MOVEMENT | BIT(STILL) | BIT(SIGNAL_HIGH) | BIT(SIGNAL_LOW) | BIT(SIGNAL_ERRATIC))

/* Below this many moves a way the scatter of a lag is not known (a judgement). */
#define MOVES_LEAST 2
/* A record shorter than this shows no habit, s. */
#define RECORD_LEAST_S 5.0
/* A stick band that is above its limit by this chance is not excluded (a judgement). */
#define STICK_UNSEEN_ABOVE 0.2
/* Command and position must be renewed at least this often, s (a judgement). */
#define RECORDED_EVERY_S 1.05

static bool too_short(const look *at) {
  return at->fit->coverage.recorded_s < RECORD_LEAST_S;
}

static bool at_rest(const look *at) {
  return at->trace->condition == PLATELAG_CONDITION_REST && !at->facts->commanded;
}

static bool no_command(const look *at) {
  return at->trace->command_kind == PLATELAG_COMMAND_ABSENT && !at_rest(at);
}

static bool idle_command(const look *at) {
  return !no_command(at) && !at->facts->commanded;
}

/* The reading passes over the sensor's range and nothing asks for it, as when a hand turns it. */
static bool turned_by_hand(const look *at) {
  return !at->facts->commanded && plag_sweep_looks_like_one(at->fit);
}

static bool few_moves(const look *at) {
  const platelag_coverage *coverage = &at->fit->coverage;
  return at->facts->commanded && at->facts->moved &&
         (coverage->openings < MOVES_LEAST || coverage->closings < MOVES_LEAST);
}

/* Plates that never move leave no travel to count moves by: the command's own changes count. */
static bool one_move_still(const look *at) {
  return at->facts->commanded && !at->facts->moved && at->trace->change_count < MOVES_LEAST;
}

/* Holds shorter than two readings of either channel cannot be told from plates that just moved. */
static bool seldom_recorded(const look *at) {
  const platelag_trace *trace = at->trace;
  return at->facts->commanded && fmax(fmax(trace->command_period_s, trace->command_refresh_s),
                                      trace->position_refresh_s) > RECORDED_EVERY_S;
}

static bool lag_unknown(const look *at) {
  return at->facts->commanded && at->facts->moved && !at->facts->railed && !at->fit->loop.closed &&
         plag_facts_slower(&at->fit->lag) == NULL;
}

/* A controller takes away the error that friction makes: without the duty it would not show. */
static bool duty_unseen(const look *at) {
  return at->facts->controlled && at->trace->effort == NULL && at->facts->moved &&
         !at->facts->railed;
}

static bool stop_is_off(double error_pct, const plag_facts *facts) {
  return isfinite(error_pct) &&
         fabs(error_pct) > fmin(facts->tolerance_pct, facts->short_limit_pct);
}

/* An on/off command pulls fully: friction shows only by reversals that moved nothing. */
static bool friction_unseen(const look *at) {
  const plag_facts *facts = at->facts;
  return facts->two_level && facts->moved && !facts->railed &&
         (!facts->fact[PLAG_FEATURE_STICK_BAND].present || facts->stick_above > STICK_UNSEEN_ABOVE);
}

/* One end reads off and the other was never visited: a shifted signal and a stop deposit look
 * alike (methods, section 4: only both stops visited help). */
static bool other_stop_unseen(const look *at) {
  const plag_facts *facts = at->facts;
  if (at->trace->scale != PLATELAG_SCALE_SPEC || facts->railed || !facts->moved)
    return false;
  return (stop_is_off(facts->closed_error_pct, facts) && !isfinite(facts->open_error_pct)) ||
         (stop_is_off(facts->open_error_pct, facts) && !isfinite(facts->closed_error_pct));
}

static bool no_stops_given(const look *at) {
  return at->trace->scale != PLATELAG_SCALE_SPEC && !at->facts->railed;
}

static const struct {
  bool (*lacks)(const look *at);
  unsigned blocks;
  const char *sentence;
} row[] = {
    {too_short, MOVEMENT | BIT(STILL) | BIT(SIGNAL_ERRATIC),
     "the record is shorter than 5 s; record at least two minutes with the command moving"},
    {at_rest, MOVEMENT | BIT(STILL),
     "a rest capture shows the resting level only; add a road capture in which the valve is opened "
     "and closed at least four times each way"},
    {no_command, MOVEMENT | BIT(STILL),
     "the command was not recorded; record the commanded duty or desired position beside the "
     "position"},
    {turned_by_hand, ANY_FAULT,
     "the position passes over the sensor's range while nothing commands it; if the shaft was "
     "turned by hand, give this capture as a hand sweep"},
    {idle_command, MOVEMENT | BIT(STILL),
     "the command moved by less than 20 %; record a drive in which the valve is opened and closed "
     "at least four times each way"},
    {few_moves, BIT(FREE) | BIT(SLOW) | BIT(SHORT_TRAVEL) | BIT(SIGNAL_SHIFTED),
     "the command moved fewer than two times each way; record at least four openings and four "
     "closings"},
    {one_move_still, BIT(STILL),
     "the command moved only once; record at least four openings and four closings"},
    {seldom_recorded, BIT(FREE) | BIT(SLOW) | BIT(STICKING),
     "command or position was recorded less than once a second; record both at two rows a second "
     "or more, with few channels"},
    {lag_unknown, BIT(FREE) | BIT(SLOW),
     "no command change stood long enough to time the answer; hold each command for two seconds or "
     "more"},
    {duty_unseen, BIT(FREE),
     "the desired position was recorded without the duty, by which alone sticking plates show "
     "behind "
     "a controller; record the duty beside it"},
    {friction_unseen, BIT(FREE),
     "the command is on or off and pulls with its full force, which hides friction; drive the "
     "actuator in small steps or slow ramps and record that"},
    {other_stop_unseen, BIT(FREE) | BIT(SHORT_TRAVEL) | BIT(SIGNAL_SHIFTED),
     "one stop reads off and the other was not visited; record with the valve commanded fully open "
     "and fully closed"},
    {no_stops_given, BIT(SHORT_TRAVEL) | BIT(SIGNAL_SHIFTED),
     "the readings expected at the stops are not given, so a shifted signal or a short end would "
     "not show; give the stops' readings of the service information"},
};

void plag_gate_look(const platelag_fit *fit, const platelag_trace *trace,
                    const platelag_valve_spec *spec, const plag_facts *facts, plag_gate *gate) {
  static_assert(sizeof row / sizeof row[0] <= PLAG_GATE_SENTENCES, "grow PLAG_GATE_SENTENCES");
  const look at = {fit, trace, spec, facts};
  *gate = (plag_gate){.by_hand = turned_by_hand(&at)};
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
    if (!row[i].lacks(&at))
      continue;
    gate->lacking[gate->count] = row[i].sentence;
    gate->blocks[gate->count++] = row[i].blocks;
    for (int k = 0; k < PLATELAG_FINDING_COUNT; k++)
      gate->blocked[k] |= (row[i].blocks >> k & 1u) != 0;
  }
}
