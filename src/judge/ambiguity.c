/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/ambiguity.h"

static const struct {
  platelag_finding_kind one, other;
  const char *sentence;
} pair[] = {
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_SLOW,
     "the lag lies too near its limit for this sampling; record more openings and closings at a "
     "higher rate"},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_STICKING,
     "the sticking seen is too near its limit or too rare; record slow ramps of the command up and "
     "down, several times, cold and warm"},
    {PLATELAG_FINDING_SLOW, PLATELAG_FINDING_STICKING,
     "late answers and held plates look alike at this rate; record at ten rows a second or more, "
     "with only command and position"},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_SIGNAL_ERRATIC,
     "too few readings were lost to be sure; record longer, over rough road and with the engine "
     "hot"},
    {PLATELAG_FINDING_STICKING, PLATELAG_FINDING_SIGNAL_ERRATIC,
     "jumps of the plates and of the signal look alike here; record at a higher rate, and with the "
     "command at rest for a while"},
    {PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FINDING_SIGNAL_SHIFTED,
     "a short end and a shifted signal look alike where neither stop reads what the spec says; "
     "measure both stops by hand off the manifold (hand sweep)"},
    {PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FINDING_STICKING,
     "plates that halt at one end and plates that stick look alike here; record full openings and "
     "closings that stand for some seconds"},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_SHORT_TRAVEL,
     "the ends of the travel lie too near their limits; record full openings and closings that "
     "stand for some seconds, and give the stops' readings of the service information"},
    {PLATELAG_FINDING_FREE, PLATELAG_FINDING_SIGNAL_SHIFTED,
     "the ends of the travel lie too near their limits; record full openings and closings that "
     "stand for some seconds, and give the stops' readings of the service information"},
};

const char *plag_ambiguity_between(platelag_finding_kind one, platelag_finding_kind other) {
  for (size_t i = 0; i < sizeof pair / sizeof pair[0]; i++)
    if ((pair[i].one == one && pair[i].other == other) ||
        (pair[i].one == other && pair[i].other == one))
      return pair[i].sentence;
  return "the record fits two findings; record at least four openings and four closings over the "
         "whole travel, at the highest rate the recorder has";
}

const char *plag_ambiguity_of_family(platelag_finding_kind finding) {
  switch (finding) {
  case PLATELAG_FINDING_STILL:
    return "nothing in the record shows whether the plates were driven or moved; record actuator "
           "current and manifold pressure or air flow as well";
  case PLATELAG_FINDING_SIGNAL_HIGH:
    return "a wire and plates past their stop read alike here; record a hand sweep off the "
           "manifold, or measure at the connector";
  case PLATELAG_FINDING_SLOW:
  case PLATELAG_FINDING_SHORT_TRAVEL:
    return "a weak drive and tight plates look alike here; record the battery voltage as well, at "
           "idle and with loads switched on";
  case PLATELAG_FINDING_STICKING:
  case PLATELAG_FINDING_SIGNAL_ERRATIC:
  case PLATELAG_FINDING_SIGNAL_SHIFTED:
    return "plates and sensor are both in it or look alike here; record a hand sweep off the "
           "manifold";
  default:
    return NULL;
  }
}
