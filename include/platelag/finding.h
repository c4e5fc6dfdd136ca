/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A finding: what is wrong, who is to blame, how sure that is, why, and what to test next. It owns
 * all it reports and outlives capture, trace and fit. */
#ifndef PLATELAG_FINDING_H
#define PLATELAG_FINDING_H

#include <math.h>

#include "platelag/fit.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What is seen. */
typedef enum platelag_finding_kind {
  PLATELAG_FINDING_FREE,
  PLATELAG_FINDING_SLOW,
  PLATELAG_FINDING_STICKING,
  PLATELAG_FINDING_SHORT_TRAVEL,
  PLATELAG_FINDING_STILL,
  PLATELAG_FINDING_SIGNAL_HIGH,
  PLATELAG_FINDING_SIGNAL_LOW,
  PLATELAG_FINDING_SIGNAL_ERRATIC,
  PLATELAG_FINDING_SIGNAL_SHIFTED,
  PLATELAG_FINDING_UNDECIDED,
  PLATELAG_FINDING_COUNT
} platelag_finding_kind;

/* The key of reports, "signal_high". */
PLATELAG_API const char *platelag_finding_name(platelag_finding_kind kind);

/* Who is to blame. */
typedef enum platelag_family {
  PLATELAG_FAMILY_FREE,
  PLATELAG_FAMILY_MECHANICAL,
  PLATELAG_FAMILY_SENSOR_CIRCUIT,
  PLATELAG_FAMILY_DRIVE,
  PLATELAG_FAMILY_COUNT,
  PLATELAG_FAMILY_UNDECIDED = PLATELAG_FAMILY_COUNT
} platelag_family;

/* "free", "mechanical", "sensor_circuit", "drive", "undecided". */
PLATELAG_API const char *platelag_family_name(platelag_family family);

typedef enum platelag_check {
  PLATELAG_CHECK_PASSED,
  PLATELAG_CHECK_FAILED,
  PLATELAG_CHECK_NOT_EVALUABLE
} platelag_check;

PLATELAG_API const char *platelag_check_name(platelag_check check);

/* The four questions of emission rules, 13 CCR 1968.2(e)(15), each with its figure in words. */
typedef enum platelag_check_kind {
  PLATELAG_CHECK_CONTINUITY,
  PLATELAG_CHECK_RANGE,
  PLATELAG_CHECK_RATIONALITY,
  PLATELAG_CHECK_FUNCTIONAL_RESPONSE,
  PLATELAG_CHECK_COUNT
} platelag_check_kind;

PLATELAG_API const char *platelag_check_kind_name(platelag_check_kind kind);

typedef struct platelag_check_result {
  platelag_check result;
  const char *figure; /* "highest reading 61 % of reference, limit 90 %" */
} platelag_check_result;

/* Where a reason comes from. */
typedef enum platelag_evidence_source {
  PLATELAG_EVIDENCE_RECORD, /* the capture itself */
  PLATELAG_EVIDENCE_TEST,   /* a hand sweep or a meter: what the user has already tested */
  PLATELAG_EVIDENCE_REPAIR, /* the capture after the repair */
  PLATELAG_EVIDENCE_CODE    /* a stored code held against the capture: it weighs nothing, for the
                               controller set it from the same signals */
} platelag_evidence_source;

/* One reason. `weight` is the natural log of how much likelier the family makes what was seen than
 * the rest do; it is never negative: `speaks_for` gives the direction. */
typedef struct platelag_evidence {
  const char *what; /* "stick band" */
  double value;
  double limit; /* NaN when there is none */
  const char *unit;
  platelag_family speaks_for;
  double weight;
  /* How likely each family makes what was seen, natural log; only differences mean anything. */
  double log_likelihood[PLATELAG_FAMILY_COUNT];
  platelag_evidence_source source;
} platelag_evidence;

/* Whether the trace shows what a code's name claims. */
typedef enum platelag_code_verdict {
  PLATELAG_CODE_SUPPORTED,
  PLATELAG_CODE_CONTRADICTED,
  PLATELAG_CODE_CANNOT_TELL
} platelag_code_verdict;

/* "supported", "contradicted", "cannot_tell". */
PLATELAG_API const char *platelag_code_verdict_name(platelag_code_verdict verdict);

/* A code that the trace would be expected to set, or that is stored. */
typedef struct platelag_code {
  const char *code;  /* "P2017" */
  const char *name;  /* its public wording */
  double at_s;       /* when its condition is first met; NaN for a code that is only claimed */
  const char *basis; /* what in the trace meets, or does not meet, what the code claims */
  double value;      /* the figure of `basis`; NaN */
  double limit;      /* NaN */
  const char *unit;  /* "" where there is no figure */
  bool stored;       /* the user says it is stored */
  platelag_code_verdict verdict;
} platelag_code;

/* A test that would settle what is open. */
typedef struct platelag_next_test {
  const char *key; /* "hand_sweep", "connector" ...; static */
  const char *test;
  const char *expect[PLATELAG_FAMILY_COUNT]; /* what each family would show; NULL: says nothing */
  const char *caution;
  double minutes;
  double gain; /* expected fall of uncertainty, nats; discounted by `minutes` it orders the list */
} platelag_next_test;

/* What a hypothesis came to; for those who want to see the working. */
typedef struct platelag_hypothesis_result {
  const char *name; /* "ridge", "jam past a stop" ... */
  platelag_family family;
  platelag_finding_kind finding;
  double probability;
} platelag_hypothesis_result;

typedef struct platelag_finding {
  platelag_finding_kind kind;
  platelag_family family;                    /* the most probable, or undecided */
  double probability[PLATELAG_FAMILY_COUNT]; /* add up to 1 */
  double finding_probability; /* of `kind`; where undecided, of the likeliest finding */
  const char *sentence;       /* the finding in one sentence with its figures */
  size_t lacking_count; /* what the capture lacks, where the finding or its family is undecided;
                           advice for the next one */
  const char *const *lacking;
  platelag_check_result check[PLATELAG_CHECK_COUNT];
  size_t evidence_count;
  const platelag_evidence *evidence; /* heaviest first */
  size_t code_count;
  const platelag_code *code;
  size_t next_test_count;
  const platelag_next_test *next_test; /* best first */
  size_t hypothesis_count;
  const platelag_hypothesis_result *hypothesis; /* likeliest first */
  struct plag_finding_store *store;             /* the finding's own */
} platelag_finding;

/* Meter readings at the connectors; NaN where not taken. */
typedef struct platelag_meter {
  double signal_v;
  double reference_v;
  double ground_v;
  double supply_v; /* at the actuator, while it is commanded */
} platelag_meter;

/* No reading at all: an initialiser. A zero is a reading of 0 V, so zeroed memory is not this. */
#define PLATELAG_METER_NONE                                                                        \
  { NAN, NAN, NAN, NAN }

/* Reads "signal=4.61,reference=5.02,ground=0.03,supply=13.9"; every part may be left out. What does
 * not parse is refused with what was expected. */
PLATELAG_API platelag_status platelag_meter_read(const char *text, platelag_meter *out,
                                                 platelag_error *error);

/* What else is known of the vehicle. `code` are stored codes as the user gave them. */
typedef struct platelag_circumstances {
  const char *const *code;
  size_t code_count;
  platelag_meter meter;
} platelag_circumstances;

/* Judges one fit. `trace` gives names, unit and scale. Stored codes are held against the trace
 * and the meter; meter readings are weighed by platelag_case_judge alone, so that they count once
 * over several captures. `circumstances` may be NULL. The caller destroys `*out`. Method: the facts
 * of the record are scored under explicit hypotheses (src/judge); Chow's rule decides (C. K. Chow,
 * IEEE Trans. Inf. Theory 16 (1970) 41-46): no finding below spec->decide_at. */
PLATELAG_API platelag_status platelag_finding_judge(const platelag_fit *fit,
                                                    const platelag_trace *trace,
                                                    const platelag_valve_spec *spec,
                                                    const platelag_circumstances *circumstances,
                                                    platelag_finding **out, platelag_error *error);
PLATELAG_API void platelag_finding_destroy(platelag_finding *finding);

/* Verdict on a repair: `after` against `road`. */
typedef enum platelag_repair {
  PLATELAG_REPAIR_NONE, /* no after capture: null in reports */
  PLATELAG_REPAIR_REPAIRED,
  PLATELAG_REPAIR_BETTER,
  PLATELAG_REPAIR_UNCHANGED,
  PLATELAG_REPAIR_WORSE,
  PLATELAG_REPAIR_CANNOT_TELL
} platelag_repair;

PLATELAG_API const char *platelag_repair_name(platelag_repair repair);

/* One capture's say in a case. */
typedef struct platelag_case_input {
  platelag_condition condition;
  const platelag_fit *fit;
  const platelag_finding *finding;
} platelag_case_input;

/* The finding over all captures of one valve. */
typedef struct platelag_case {
  const char *valve;
  platelag_finding *finding; /* fused */
  platelag_repair repair;
} platelag_case;

/* Fuses the captures of one valve into `*out`; the caller destroys it with
 * platelag_case_destroy. */
PLATELAG_API platelag_status platelag_case_judge(const char *valve,
                                                 const platelag_case_input *input, size_t count,
                                                 const platelag_valve_spec *spec,
                                                 const platelag_circumstances *circumstances,
                                                 platelag_case **out, platelag_error *error);
PLATELAG_API void platelag_case_destroy(platelag_case *judged);

#ifdef __cplusplus
}
#endif
#endif
