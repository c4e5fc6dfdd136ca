/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is right to say of a practice capture, from its truth and from what was recorded, never from
 * what the program finds.
 *
 * The matter in fact: the fault's finding where its figure lies beyond the default limit of design
 * section 7, else free. A figure within 15 % of its limit is at the border: both are right there,
 * and the capture is not among the decidable ones.
 *
 * Decidable is what the record holds the means for:
 * - slow: the command is a duty, on/off, or a desired position;
 * - sticking along the shaft: the command is a duty and the stick band beyond the border; under a
 *   controller, three true held intervals; under an on/off command never, unless three such;
 * - a ridge: three true held intervals whose pull is beyond the border of the stick-band limit;
 * - what shows only against the readings expected at the stops (short travel, shift, scaled span,
 *   drift): these readings are given, the position is in volts or % of reference, and no controller
 *   makes up for it (short travel shows under one all the same);
 * - a pinned or frozen signal: for 60 % of the record or more; a rail, not in % open, where the
 *   controller hides it;
 * - dropouts, a worn spot: five recorded readings or more have nothing to do with the shaft;
 * - a sagging reference: it was recorded, or the position is in volts all the same;
 * - nothing wrong: as slow, and not under an on/off command, since friction, from which it has to
 * be told, does not show there. A fault beyond the border whose means are lacking is hidden: the
 * record of it is that of a healthy valve, and `free` or undecided is all that can be said of it.
 * These are counted apart.
 *
 * Of a mixture the dominant fault is weighed. Where the record does not hold what it takes to see
 * that one, the other is the matter, either is right, and the capture is not decidable.
 *
 * Where the design leaves the family open (still; signal_high), undecided or the true family is
 * right. */
#include "support/check.h"

#include "support/practice_set.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/number.h"

#define BORDER 0.15

static const struct {
  double t63_s, stick_band_pct, short_travel_pct, tolerance_v;
} limit = {0.70, 8, 12, 0.50};

#define BIT(kind) (1u << PLATELAG_FINDING_##kind)

typedef struct matter {
  const made_capture *made;
  const practice_draw *draw;
  practice_truth *truth;
} matter;

static bool is(const char *given, const char *name) {
  return given != NULL && strcmp(given, name) == 0;
}

static double number(const matter *of, const char *object, const char *key) {
  return made_capture_truth(of->made, object, key);
}

static bool controlled(const matter *of) {
  const char *command = of->draw->order.command;
  return is(command, "desired_and_duty") || is(command, "duty_closed_loop");
}

/* The stops' readings are known, and show. */
static bool stops_show(const matter *of) {
  return of->draw->spec_given && !is(of->draw->order.unit, "open");
}

static bool duty_means_place(const matter *of) {
  return !is(of->draw->order.command, "duty_closed_loop");
}

/* True held intervals, not at a deposit, whose pull is `pull_pct` or more. */
static size_t held_intervals(const matter *of, double pull_pct) {
  size_t count = 0;
  const char *at = strstr(of->made->truth.bytes, "\"held\": [");
  assert_non_null(at);
  while ((at = strstr(at, "\"pull_pct\": ")) != NULL) {
    double pull = 0;
    at += strlen("\"pull_pct\": ");
    (void)plag_number_read(at, strcspn(at, ",}\n"), '.', &pull);
    const char *stop = strstr(at, "\"at_stop\": ");
    assert_non_null(stop);
    count += fabs(pull) >= pull_pct && strncmp(stop + strlen("\"at_stop\": "), "false", 5) == 0;
  }
  return count;
}

static bool free_can_be_told(const matter *of) {
  return duty_means_place(of) && !is(of->draw->order.command, "on_off");
}

/* A fault of degree `figure` against `limit`, for which the record has the means or not. */
static void weigh(const matter *of, double figure, double border, platelag_finding_kind kind,
                  platelag_family family, unsigned right, bool means) {
  practice_truth *truth = of->truth;
  const bool beyond = figure >= border;
  truth->is = beyond ? kind : PLATELAG_FINDING_FREE;
  truth->family = beyond ? family : PLATELAG_FAMILY_FREE;
  if (fabs(figure / border - 1) < BORDER) {
    truth->right = right | BIT(FREE);
    return;
  }
  truth->decidable = beyond ? means : free_can_be_told(of);
  truth->hidden = beyond && !means;
  truth->right = beyond ? (means ? right : right | BIT(FREE)) : BIT(FREE);
}

static void always(const matter *of, platelag_finding_kind kind, platelag_family family,
                   unsigned right, bool means) {
  weigh(of, 2, 1, kind, family, right, means);
}

/* --- the plates and the drive ----------------------------------------------------------------- */

static void none(const matter *of) {
  of->truth->is = PLATELAG_FINDING_FREE;
  of->truth->family = PLATELAG_FAMILY_FREE;
  of->truth->right = BIT(FREE);
  of->truth->decidable = free_can_be_told(of);
}

static double slower_t63_s(const matter *of) {
  return fmax(number(of, "lag", "opening_t63_s"), number(of, "lag", "closing_t63_s"));
}

static void slow(const matter *of) {
  weigh(of, slower_t63_s(of), limit.t63_s, PLATELAG_FINDING_SLOW, PLATELAG_FAMILY_MECHANICAL,
        BIT(SLOW), duty_means_place(of));
}

static void sticking(const matter *of) {
  const bool shows = is(of->draw->order.command, "duty") ||
                     held_intervals(of, limit.stick_band_pct * (1 + BORDER)) >= 3;
  weigh(of, number(of, "friction", "stick_band_pct"), limit.stick_band_pct,
        PLATELAG_FINDING_STICKING, PLATELAG_FAMILY_MECHANICAL, BIT(STICKING), shows);
}

static void ridge(const matter *of) {
  const bool shows = held_intervals(of, limit.stick_band_pct * (1 + BORDER)) >= 3;
  const bool border = !shows && held_intervals(of, limit.stick_band_pct * (1 - BORDER)) > 0;
  always(of, PLATELAG_FINDING_STICKING, PLATELAG_FAMILY_MECHANICAL, BIT(STICKING), shows);
  if (border)
    of->truth->hidden = false; /* a little of it shows: both are right */
}

static void short_travel(const matter *of) {
  const double lost_pct =
      fmax(number(of, "travel", "closed_stop_pct"), 100 - number(of, "travel", "open_stop_pct"));
  weigh(of, lost_pct, limit.short_travel_pct, PLATELAG_FINDING_SHORT_TRAVEL,
        PLATELAG_FAMILY_MECHANICAL, BIT(SHORT_TRAVEL), stops_show(of) && duty_means_place(of));
}

static void weak_drive(const matter *of) {
  const double lost_pct = 100 - number(of, "travel", "most_pct");
  weigh(of, lost_pct, limit.short_travel_pct, PLATELAG_FINDING_SHORT_TRAVEL, PLATELAG_FAMILY_DRIVE,
        BIT(SHORT_TRAVEL), stops_show(of) && duty_means_place(of));
  if (slower_t63_s(of) > limit.t63_s)
    of->truth->right |= BIT(SLOW);
}

static void jam_inside(const matter *of) {
  always(of, PLATELAG_FINDING_STILL, PLATELAG_FAMILY_MECHANICAL, BIT(STILL), true);
}

static void no_drive(const matter *of) {
  always(of, PLATELAG_FINDING_STILL, PLATELAG_FAMILY_DRIVE, BIT(STILL), true);
}

static void jam_past_stop(const matter *of) {
  const bool hides = is(of->draw->order.unit, "open");
  always(of, hides ? PLATELAG_FINDING_STILL : PLATELAG_FINDING_SIGNAL_HIGH,
         PLATELAG_FAMILY_MECHANICAL, hides ? BIT(STILL) : BIT(SIGNAL_HIGH), true);
}

/* --- the signal ------------------------------------------------------------------------------- */

static void stands_from(const matter *of, double from_s, platelag_finding_kind kind) {
  const double share = 1 - from_s / number(of, "", "duration_s");
  const bool whole = share >= 0.6;
  always(of, kind, PLATELAG_FAMILY_SENSOR_CIRCUIT,
         whole ? 1u << kind : 1u << kind | BIT(SIGNAL_ERRATIC), whole);
  of->truth->hidden = false;
}

static void pinned_high(const matter *of) {
  const bool hides = is(of->draw->order.unit, "open");
  stands_from(of, number(of, "signal", "pinned_from_s"),
              hides ? PLATELAG_FINDING_STILL : PLATELAG_FINDING_SIGNAL_HIGH);
}

static void pinned_low(const matter *of) {
  const bool hides = is(of->draw->order.unit, "open");
  stands_from(of, number(of, "signal", "pinned_from_s"),
              hides ? PLATELAG_FINDING_STILL : PLATELAG_FINDING_SIGNAL_LOW);
}

static void frozen(const matter *of) {
  stands_from(of, number(of, "signal", "frozen_from_s"), PLATELAG_FINDING_STILL);
}

static void lost(const matter *of) {
  always(of, PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FAMILY_SENSOR_CIRCUIT, BIT(SIGNAL_ERRATIC),
         number(of, "signal", "lost_readings") >= 5);
}

static void noise(const matter *of) {
  always(of, PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FAMILY_SENSOR_CIRCUIT, BIT(SIGNAL_ERRATIC),
         true);
}

static void sag(const matter *of) {
  always(of, PLATELAG_FINDING_SIGNAL_ERRATIC, PLATELAG_FAMILY_SENSOR_CIRCUIT,
         BIT(SIGNAL_ERRATIC) | BIT(SIGNAL_SHIFTED), !is(of->draw->order.channels, "few"));
}

static void shifted(const matter *of) {
  const double middle_s = number(of, "", "duration_s") / 2;
  const double offset_v =
      number(of, "signal", "offset_v") + middle_s * number(of, "signal", "drift_v_per_s");
  weigh(of, fabs(offset_v), limit.tolerance_v, PLATELAG_FINDING_SIGNAL_SHIFTED,
        PLATELAG_FAMILY_SENSOR_CIRCUIT, BIT(SIGNAL_SHIFTED), stops_show(of) && !controlled(of));
}

/* The span is scaled where the stop that is off further is off by more than short travel may be. */
static void scaled(const matter *of) {
  const double closed_v = number(of, "travel", "closed_v");
  const double open_v = number(of, "travel", "open_v");
  const double off_v = (1 - number(of, "signal", "gain")) * fmax(closed_v, open_v);
  weigh(of, 100 * off_v / fabs(open_v - closed_v), limit.short_travel_pct,
        PLATELAG_FINDING_SIGNAL_SHIFTED, PLATELAG_FAMILY_SENSOR_CIRCUIT, BIT(SIGNAL_SHIFTED),
        stops_show(of) && !controlled(of));
}

static const struct {
  const char *fault;
  void (*weigh)(const matter *of);
} row[] = {
    {"none", none},
    {"slow", slow},
    {"sticking", sticking},
    {"ridge", ridge},
    {"short_travel", short_travel},
    {"jam_inside", jam_inside},
    {"jam_past_stop", jam_past_stop},
    {"no_drive", no_drive},
    {"weak_drive", weak_drive},
    {"open_wire", pinned_high},
    {"short_to_reference", pinned_high},
    {"short_to_ground", pinned_low},
    {"dropouts", lost},
    {"worn_spot", lost},
    {"frozen_signal", frozen},
    {"shifted", shifted},
    {"span_scaled", scaled},
    {"reference_sag", sag},
    {"noise", noise},
    {"drift", shifted},
};

static void weigh_fault(const matter *of, const char *fault, size_t length) {
  for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
    if (strlen(row[i].fault) == length && strncmp(row[i].fault, fault, length) == 0) {
      row[i].weigh(of);
      return;
    }
  fail_msg("no truth for the fault \"%s\"", fault);
}

void practice_truth_find(const made_capture *made, const practice_draw *draw,
                         practice_truth *truth) {
  *truth = (practice_truth){0};
  const matter of = {made, draw, truth};
  const char *fault = draw->order.fault;
  const size_t length = strcspn(fault, "+");
  weigh_fault(&of, fault, length);
  if (fault[length] == '\0' || truth->decidable)
    return;
  const practice_truth dominant = *truth;
  *truth = (practice_truth){0};
  weigh_fault(&of, fault + length + 1, strlen(fault + length + 1));
  truth->right |= dominant.right & ~BIT(FREE);
  truth->decidable = false;
}
