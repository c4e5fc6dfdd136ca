/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks: a class's recordings and conclusions against a key, by a rubric, with a reason for each
 * mark; and likenesses between recordings, for a person to judge. */
#ifndef PLATELAG_MARK_H
#define PLATELAG_MARK_H

#include "platelag/report.h"

#ifdef __cplusplus
extern "C" {
#endif

/* --- the rubric ------------------------------------------------------------------------------ */

/* Criteria and the points that each gives. The caller destroys it. */
typedef struct platelag_rubric platelag_rubric;

/* The default rubric, and one read from an INI file: a section a criterion, `points` and what else
 * the criterion knows. A criterion that is not named gives no points. An unknown section or key and
 * a number out of range are refused with file and line. */
PLATELAG_API platelag_status platelag_rubric_create(platelag_rubric **out, platelag_error *error);
PLATELAG_API platelag_status platelag_rubric_read(const char *path, platelag_rubric **out,
                                                  platelag_error *error);
PLATELAG_API void platelag_rubric_destroy(platelag_rubric *rubric);

/* Writes a rubric as an INI file with a comment a line: what an instructor begins with. */
PLATELAG_API platelag_status platelag_rubric_write(const platelag_rubric *rubric,
                                                   const platelag_sink *sink,
                                                   platelag_error *error);

/* How many criteria there are, and their keys ("length") and titles ("length of the recording").
 * Lent, static. */
PLATELAG_API size_t platelag_criterion_count(void);
PLATELAG_API const char *platelag_criterion_key(size_t index);
PLATELAG_API const char *platelag_criterion_title(size_t index);
enum { PLATELAG_CRITERIA = 15 };

/* --- marking --------------------------------------------------------------------------------- */

typedef struct platelag_mark_work {
  const char *key;               /* CSV: vehicle, valve, finding, family, ... */
  const char *answers;           /* CSV: student, vehicle, file, condition, finding, family, ... */
  const platelag_rubric *rubric; /* NULL: the default */
  const char *folder;            /* that files of the answers are relative to */
  const platelag_spec *spec;     /* NULL: defaults */
} platelag_mark_work;

/* One criterion of one submission. */
typedef struct platelag_mark {
  bool applies; /* else it counts neither for nor against */
  double points, of;
  const char *reason; /* what was found against what was asked */
  const char *advice; /* what would do better next time; "": nothing */
} platelag_mark;

/* What one student handed in of one vehicle. */
typedef struct platelag_submission {
  const char *student, *vehicle;
  const char *files; /* as the answers name them, parted by ", "; "": none */
  int64_t line;      /* of the answers */
  bool marked;       /* else `problem` says why not, and no points count */
  const char *problem;
  platelag_finding_kind found; /* what the recordings show to the tool */
  platelag_family family;
  const char *sentence;
  bool decidable; /* the recordings can tell */
  platelag_mark mark[PLATELAG_CRITERIA];
  double points, of, percent; /* NaN percent where nothing applies */
  size_t remark_count;        /* for the instructor alone */
  const char *const *remark;
} platelag_submission;

/* Two recordings that are alike beyond what two honest ones are. A likeness, not a verdict. */
typedef struct platelag_likeness {
  size_t one, other; /* submissions */
  const char *file_one, *file_other;
  double correlation; /* of what is left when the moves are taken out; 0.2 is much */
  size_t samples;     /* that were compared */
  double share;       /* of the shorter recording that they are */
  double shift_s;     /* by which one begins in the other */
  double scale;       /* of the other's readings to the one's */
  const char *what;   /* "the same readings", "the same readings, trimmed and rescaled" ... */
} platelag_likeness;

typedef struct platelag_class {
  size_t submission_count;
  const platelag_submission *submission; /* in order of student, then vehicle */
  size_t likeness_count;
  const platelag_likeness *likeness; /* surest first */
  size_t student_count;
  double median_percent;
  const platelag_rubric *rubric; /* lent by the work or its own */
  struct plag_class_book *book;  /* the class's own */
} platelag_class;

/* Marks a class. A table that cannot be read fails; what is wrong with a student's part stands in
 * his submission. The caller destroys `*out`; `work` must outlive it. */
PLATELAG_API platelag_status platelag_class_build(const platelag_mark_work *work,
                                                  platelag_class **out, platelag_error *error);
PLATELAG_API void platelag_class_destroy(platelag_class *marked);

/* The class at a glance, for a terminal. */
PLATELAG_API platelag_status platelag_class_write_text(const platelag_class *marked,
                                                       const platelag_report_options *options,
                                                       const platelag_sink *sink,
                                                       platelag_error *error);
/* Marks for a spreadsheet: RFC 4180, no cell begins a formula. */
PLATELAG_API platelag_status platelag_class_write_csv(const platelag_class *marked,
                                                      const platelag_sink *sink,
                                                      platelag_error *error);
/* The same as a workbook (Office Open XML); written whole or not at all. */
PLATELAG_API platelag_status platelag_class_write_xlsx(const platelag_class *marked,
                                                       const char *path, platelag_error *error);
/* The instructor's page: overview, distribution, each criterion, each student, likenesses, what was
 * not marked. */
PLATELAG_API platelag_status platelag_class_write_html(const platelag_class *marked,
                                                       const platelag_sink *sink,
                                                       platelag_error *error);
/* One student's page, free of other students' data: all submissions of the student whose first is
 * `submission`. */
PLATELAG_API platelag_status platelag_class_write_student(const platelag_class *marked,
                                                          size_t submission,
                                                          const platelag_sink *sink,
                                                          platelag_error *error);

#ifdef __cplusplus
}
#endif
#endif
