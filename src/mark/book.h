/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What marks are made from: the key, the answers, and what the recordings show. */
#ifndef PLAG_MARK_BOOK_H
#define PLAG_MARK_BOOK_H

#include "core/table.h"
#include "core/words.h"
#include "mark/rubric.h"
#include "platelag/mark.h"

/* Figures that a student may measure, in this order everywhere. */
enum { PLAG_MEASURED = 3, PLAG_TESTS_MOST = 8, PLAG_FILES_MOST = 16 };
extern const char *const plag_measured_key[PLAG_MEASURED]; /* "stick_band_pct" ... */
extern const char *const plag_measured_name[PLAG_MEASURED];
extern const char *const plag_measured_unit[PLAG_MEASURED];

/* What is true of a vehicle. */
typedef struct plag_key_row {
  const char *vehicle, *valve; /* valve "": the first */
  platelag_finding_kind finding;
  bool family_given;
  platelag_family family;
  const char *code; /* stored; "" */
  bool verdict_given;
  platelag_code_verdict verdict; /* what the trace says of it */
  const char *test[PLAG_TESTS_MOST];
  size_t test_count;            /* 0: what the tool finds best */
  unsigned conditions;          /* asked for, a bit each */
  double figure[PLAG_MEASURED]; /* NaN: the tool's */
  int64_t line;
} plag_key_row;

typedef struct plag_key_table {
  plag_key_row *row;
  size_t count;
  plag_table table;
} plag_key_table;

platelag_status plag_key_read(const char *path, plag_key_table *out, platelag_error *error);
void plag_key_clear(plag_key_table *key);
/* The vehicle's row: of exactly this name, else the only one of a name that differs in blanks and
 * case alone; NULL: none. */
const plag_key_row *plag_key_find(const plag_key_table *key, const char *vehicle);

/* Columns of the answers that hold what a student says, in this order everywhere; figures last. */
enum {
  PLAG_SAID_FINDING,
  PLAG_SAID_FAMILY,
  PLAG_SAID_VERDICT,
  PLAG_SAID_TEST,
  PLAG_SAID_PROBABILITY,
  PLAG_SAID_FIGURE,
  PLAG_SAID = PLAG_SAID_FIGURE + PLAG_MEASURED
};

/* What a student says. An answer that was not given, or not understood, is not there. */
typedef struct plag_answer {
  const char *said[PLAG_SAID]; /* as written, NULL: nothing */
  bool odd[PLAG_SAID];         /* said, and not understood */
  bool finding_given, family_given, verdict_given;
  platelag_finding_kind finding;
  platelag_family family;
  platelag_code_verdict verdict;
  const char *test;   /* NULL */
  double probability; /* NaN */
  double figure[PLAG_MEASURED];
} plag_answer;

/* Channels of which noise is compared, the first that two recordings both have noise in. */
enum { PLAG_COMPARED = 4 };

/* One recording that was handed in. */
typedef struct plag_file {
  const char *name; /* as the answers have it */
  const char *path; /* the folder with it */
  platelag_condition condition;
  double *series[PLAG_COMPARED]; /* for likenesses; owned; NULL: none */
  size_t count[PLAG_COMPARED];
  double period_s;
} plag_file;

/* What the recordings show to the tool. */
typedef struct plag_shown {
  bool road; /* a drive was recorded; else nothing stands in what follows, down to lost_pct */
  bool command, position;
  double minutes, rows_per_second;
  double openings, closings, reversals;
  double visited_pct;
  bool closed_asked, open_asked, moved;
  double width_share; /* of the t63 interval, mean of both ways; NaN: no t63; INFINITY: a limit */
  double lost_pct;    /* time not recorded, readings lost where the signal is sound */
  unsigned conditions;
  platelag_finding_kind finding;
  platelag_family family;
  double family_probability[PLATELAG_FAMILY_COUNT];
  bool verdict_known;
  platelag_code_verdict verdict;
  const char *test[PLAG_TESTS_MOST];
  size_t test_count;
  platelag_estimate figure[PLAG_MEASURED];
} plag_shown;

/* A submission while it is being marked. */
typedef struct plag_entry {
  platelag_submission submission; /* what is published */
  const plag_key_row *key;        /* NULL: none */
  plag_answer answer;
  plag_file file[PLAG_FILES_MOST];
  size_t file_count;
  plag_shown shown;
  const char **remark;
  size_t remark_capacity;
} plag_entry;

typedef struct plag_class_book {
  platelag_class marked; /* what is published */
  const platelag_mark_work *work;
  const platelag_rubric *rubric;
  platelag_rubric *own_rubric;
  plag_key_table key;
  plag_table answers;
  plag_entry *entry;
  size_t entry_count, entry_capacity;
  platelag_likeness *likeness;
  size_t likeness_count, likeness_capacity;
  plag_arena arena;
} plag_class_book;

/* Reads the answers into entries, one a student and vehicle, in their order. */
platelag_status plag_answers_read(plag_class_book *book, platelag_error *error);

/* Something for the instructor alone. `text` from plag_words, NULL for no memory. */
platelag_status plag_entry_remark(plag_entry *entry, const char *text, platelag_error *error);

/* Reviews an entry's recordings and notes what they show. */
platelag_status plag_entry_look(plag_class_book *book, plag_entry *entry,
                                platelag_workspace *workspace, platelag_error *error);

/* Marks an entry that was looked at. */
platelag_status plag_entry_mark_recording(plag_class_book *book, plag_entry *entry,
                                          platelag_error *error);
platelag_status plag_entry_mark_conclusion(plag_class_book *book, plag_entry *entry,
                                           platelag_error *error);

/* A mark: `share` (0..1) of the criterion's points, with reason and advice from plag_words (advice
 * may be ""). */
platelag_status plag_mark_set(plag_class_book *book, plag_entry *entry, plag_criterion criterion,
                              double share, const char *reason, const char *advice,
                              platelag_error *error);

/* Finds likenesses between the recordings of different students. */
platelag_status plag_book_compare(plag_class_book *book, platelag_error *error);

#endif
