/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sets of practice captures for the judgement: drawn from one of the two settings, judged by the
 * whole road, and held against what is right. */
#ifndef PLATELAG_TESTS_PRACTICE_SET_H
#define PLATELAG_TESTS_PRACTICE_SET_H

#include "judge/gate.h"
#include "judge/posterior.h"
#include "support/made_capture.h"

/* Which captures. */
typedef enum practice_set {
  PRACTICE_SET_FIRST,       /* calibration */
  PRACTICE_SET_SECOND,      /* test */
  PRACTICE_SET_UNDECIDABLE, /* of the second setting, made so that nobody can tell */
  PRACTICE_SET_LESSON       /* of the first setting, all faults alike: what densities come from */
} practice_set;

/* Capture `number` of a set, as it is ordered, and whether the reader is told what the stops should
 * read. */
typedef struct practice_draw {
  platelag_practice_order order;
  bool spec_given;
} practice_draw;

practice_draw practice_set_draw(practice_set set, uint64_t number);

/* Faults and mixtures that are drawn from. */
size_t practice_set_fault_count(void);

/* What is right to say of a capture. Defined in practice_truth.c. */
typedef struct practice_truth {
  unsigned right; /* findings, as bits, that a careful person may make of the record; 0: none */
  platelag_family family;   /* who is to blame in fact, whether the record shows it or not */
  platelag_finding_kind is; /* what is the matter in fact */
  bool decidable;           /* the record holds what it takes */
  bool hidden;              /* there is a fault that the record does not show */
} practice_truth;

void practice_truth_find(const made_capture *made, const practice_draw *draw,
                         practice_truth *truth);

/* A capture judged: what tells of it without capture, trace or fit. */
typedef struct practice_case {
  practice_set set;
  uint64_t number;
  practice_truth truth;
  plag_facts facts;
  bool blocked[PLATELAG_FINDING_COUNT];
  size_t lacking;     /* sentences of the gate */
  bool tells_lacking; /* the finding says what is lacking */
  bool tells_other;   /* the sentence of a mixture tells the other trouble too */
  bool failed;        /* refused on the road */
  /* by practice_case_judge */
  platelag_finding_kind kind;
  platelag_finding_kind best; /* likeliest finding, told or not */
  platelag_family likeliest;  /* likeliest family */
  platelag_family family;     /* the one told, or undecided */
  double finding_probability; /* of `best` */
  double probability[PLATELAG_FAMILY_COUNT];
  double of_hypothesis[PLAG_HYPOTHESIS_MOST];
} practice_case;

/* Makes capture `number` and takes it down the whole road. */
void practice_case_make(practice_set set, uint64_t number, platelag_workspace *workspace,
                        practice_case *out);

/* Judges the facts anew, as platelag_finding_judge does. */
void practice_case_judge(practice_case *of);

/* The capture's recipe on one line, for whoever looks into it. */
void practice_case_tell(const practice_case *of);

/* The same with each fact and what the likeliest hypotheses make of it. */
void practice_case_explain(const practice_case *of);

#endif
