/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A fleet: thousands of captures judged into a store, and what the store says of its vehicles. */
#ifndef PLATELAG_FLEET_H
#define PLATELAG_FLEET_H

#include "platelag/report.h"

#ifdef __cplusplus
extern "C" {
#endif

/* --- the store ------------------------------------------------------------------------------- */

/* Where results are kept: a file, or a server that many machines share ("postgresql://..."). */
typedef struct platelag_fleet_store platelag_fleet_store;

/* Opens a store; a file is made when it is not there and `create`. A file store belongs to one
 * process at a time, others are refused; so are files of other programs and stores of a newer
 * platelag. The caller closes it. */
PLATELAG_API platelag_status platelag_fleet_store_open(const char *name, bool create,
                                                       platelag_fleet_store **out,
                                                       platelag_error *error);
/* Opens a store that is there for reading alone: for a report, a capture's place, or as the one
 * that is taken over by another. Nothing is written, so that a file on a medium that cannot be
 * written, and a role of a server that may only read, will do. Several may read a file at once,
 * none while one writes it. A file beside which a run that was cut off left captures is opened for
 * writing, for these are brought in first. */
PLATELAG_API platelag_status platelag_fleet_store_open_to_read(const char *name,
                                                               platelag_fleet_store **out,
                                                               platelag_error *error);
/* Closes it; accepts NULL. What was not yet written for good is given up. */
PLATELAG_API void platelag_fleet_store_close(platelag_fleet_store *store);

/* Takes over what the store `other` holds; where both hold a capture, the result of the newer
 * program stays. In one transaction. */
PLATELAG_API platelag_status platelag_fleet_store_merge(platelag_fleet_store *store,
                                                        platelag_fleet_store *other,
                                                        platelag_error *error);

/* --- a run ----------------------------------------------------------------------------------- */

typedef struct platelag_fleet_counts {
  size_t total;     /* captures there are; 0 while it is not known */
  size_t seen;      /* of them, so far: the sum of what follows */
  size_t judged;    /* new */
  size_t known;     /* in the store already */
  size_t refused;   /* read, and no capture */
  size_t troubled;  /* could not be read */
  size_t elsewhere; /* another shard's */
  size_t outdated;  /* of the known ones: judged by another version or with another spec */
  size_t left_out;  /* files that are no captures by their names; not part of total */
  double bytes;     /* read */
} platelag_fleet_counts;

typedef struct platelag_fleet_work {
  const char *const *path; /* folders, searched through, and files; "-": a list on standard input,
                              one path a line or ended by NUL */
  size_t path_count;
  const platelag_spec *spec; /* NULL: defaults */
  double rows_per_second;    /* of captures without a clock; 0: not given */
  const char *manifest;      /* NULL: none */
  const char *pattern;       /* NULL: none */
  unsigned jobs;             /* workers; 0: one a processor */
  unsigned shard, shards;    /* this is shard 1..shards; 0 and 0: all */
  bool redo;                 /* judge again what another version or another spec judged */
  bool reread;               /* read every file again, also one whose size and time are as before */
  /* Called now and then by the calling thread. Either may be NULL. True from `stopped` ends the run
   * in good order: what is done is kept. */
  void (*progress)(void *context, const platelag_fleet_counts *counts);
  bool (*stopped)(void *context);
  void *context;
} platelag_fleet_work;

/* Judges what is new or changed and puts it into the store. No capture, however broken, ends the
 * run; a store that cannot be written does. `counts` tells what was done, whatever comes of it. */
PLATELAG_API platelag_status platelag_fleet_run(platelag_fleet_store *store,
                                                const platelag_fleet_work *work,
                                                platelag_fleet_counts *counts,
                                                platelag_error *error);

/* --- what the store says --------------------------------------------------------------------- */

/* A figure that vehicles are followed by. Lent, static. */
typedef struct platelag_fleet_figure_kind {
  const char *key;  /* "stick_band_pct" */
  const char *name; /* "stick band" */
  const char *unit;
  int decimals;
} platelag_fleet_figure_kind;
enum { PLATELAG_FLEET_FIGURES = 9 };
PLATELAG_API const platelag_fleet_figure_kind *platelag_fleet_figure_at(size_t index);

/* What is to be done about a valve, the most urgent first. */
typedef enum platelag_fleet_standing {
  PLATELAG_FLEET_WORK,    /* two logs of the present series agree on a fault, and no two since are
                             sound */
  PLATELAG_FLEET_WORSE,   /* grows worse, beyond chance over the whole fleet */
  PLATELAG_FLEET_AGAIN,   /* one log tells of a fault, or more do and later ones are sound, or none
                             was taken since a repair: record again */
  PLATELAG_FLEET_UNUSUAL, /* within the limits, but not within those that the fleet teaches */
  PLATELAG_FLEET_UNCLEAR, /* the logs cannot tell */
  PLATELAG_FLEET_SOUND,
  PLATELAG_FLEET_STANDINGS
} platelag_fleet_standing;
/* "work list", "growing worse" ... */
PLATELAG_API const char *platelag_fleet_standing_name(platelag_fleet_standing standing);

/* How a figure goes, in the present series. NaN where it is not known. */
typedef struct platelag_fleet_trend {
  size_t logs;                   /* that show the figure */
  double now, now_low, now_high; /* of the last log that shows it */
  double usual; /* now, drawn towards its engine family by how little the log knows */
  double slope_a_year, slope_low, slope_high;
  double p;           /* that chance alone does this */
  double limit;       /* NaN: none */
  bool limit_learned; /* by the healthy valves of the engine family */
  bool crosses;       /* the limit, within three years */
  int64_t crossing_unix_s, crossing_earliest_unix_s, crossing_latest_unix_s; /* INT64_MAX: never */
} platelag_fleet_trend;

/* One log of a valve. */
typedef struct platelag_fleet_log {
  const char *file, *key;
  int run;
  bool dated;
  int64_t at_unix_s;
  int series; /* 0, 1 ... a repair begins a new one */
  platelag_condition condition;
  platelag_finding_kind finding;
  platelag_family family;
  double finding_probability;
  double probability[PLATELAG_FAMILY_COUNT];
  platelag_estimate figure[PLATELAG_FLEET_FIGURES];
  const char *sentence, *next_test, *program;
} platelag_fleet_log;

/* One valve of one vehicle. */
typedef struct platelag_fleet_valve {
  size_t rank; /* from 1 */
  const char *vehicle, *engine, *valve;
  platelag_fleet_standing standing;
  size_t logs, series_logs;      /* all; of the present series, on the road */
  platelag_finding_kind finding; /* of the present series */
  platelag_family family;
  double probability; /* of the family, over the logs that agree */
  size_t agreeing;    /* of the last logs of the present series that tell, those that agree on it */
  double p, q;        /* that nothing grows worse; the same held against the whole fleet; NaN */
  size_t worst;       /* the figure with the surest trend */
  platelag_fleet_trend trend[PLATELAG_FLEET_FIGURES];
  size_t reason_count;
  const char *const *reason;
  const char *next_test; /* "": none */
  const char *last_file, *last_key, *last_sentence;
  bool last_dated;
  int64_t last_unix_s;
  bool repaired; /* the present series, which may have no log yet, began with a repair */
} platelag_fleet_valve;

/* What healthy valves of an engine family teach of a figure. */
typedef struct platelag_fleet_limit {
  const char *engine;
  size_t figure;
  size_t logs; /* that teach it: the healthy valves, each of which counts as one log */
  double median, spread, limit;
  bool learned; /* false: too few; the spec's limit stands */
} platelag_fleet_limit;

/* A file that gave no result. */
typedef struct platelag_fleet_trouble {
  const char *file, *why;
  bool refused; /* read, and no capture; else it could not be read */
} platelag_fleet_trouble;

typedef struct platelag_fleet {
  size_t valve_count;
  const platelag_fleet_valve *valve; /* by rank */
  size_t limit_count;
  const platelag_fleet_limit *limit;
  size_t trouble_count;
  const platelag_fleet_trouble *trouble; /* in order of file */
  size_t captures, vehicles, outdated, nameless, undated;
  int64_t latest_unix_s;        /* the last log of all; 0: none is dated */
  struct plag_fleet_book *book; /* the fleet's own */
} platelag_fleet;

/* Reads the whole store. `spec` (NULL: defaults) gives the limits; a limit that stands in it is not
 * learned. The store must stay open as long as the fleet; the caller destroys `*out`. Methods:
 * Theil-Sen slopes, Mann-Kendall tests, one p a valve by weights (Bonferroni) and
 * Benjamini-Hochberg over the valves (src/fleet/trend.h, page_fill.c).
 */
PLATELAG_API platelag_status platelag_fleet_build(platelag_fleet_store *store,
                                                  const platelag_spec *spec, platelag_fleet **out,
                                                  platelag_error *error);
PLATELAG_API void platelag_fleet_destroy(platelag_fleet *fleet);

/* Logs of one valve, in order of time. */
typedef struct platelag_fleet_logs {
  size_t count;
  const platelag_fleet_log *log;
} platelag_fleet_logs;
PLATELAG_API platelag_status platelag_fleet_logs_build(const platelag_fleet *fleet, size_t valve,
                                                       platelag_fleet_logs **out,
                                                       platelag_error *error);
PLATELAG_API void platelag_fleet_logs_destroy(platelag_fleet_logs *logs);

/* A capture that the store knows. */
typedef struct platelag_fleet_place {
  char key[64];
  char path[4096]; /* where it was seen */
  platelag_condition condition;
} platelag_fleet_place;

/* Finds a capture by its key or the front of it; refused where it is unknown, or the front of
 * several. */
PLATELAG_API platelag_status platelag_fleet_store_find(platelag_fleet_store *store, const char *key,
                                                       platelag_fleet_place *out,
                                                       platelag_error *error);

/* The ranking for a person, `most` valves of it (0: 20). */
PLATELAG_API platelag_status platelag_fleet_write_text(const platelag_fleet *fleet,
                                                       const platelag_report_options *options,
                                                       size_t most, const platelag_sink *sink,
                                                       platelag_error *error);
/* The ranking for a spreadsheet: RFC 4180, no cell begins a formula. */
PLATELAG_API platelag_status platelag_fleet_write_csv(const platelag_fleet *fleet,
                                                      const platelag_sink *sink,
                                                      platelag_error *error);
/* One JSON document a line and log, schema platelag.fleet-log/1. */
PLATELAG_API platelag_status platelag_fleet_write_jsonl(const platelag_fleet *fleet,
                                                        const platelag_sink *sink,
                                                        platelag_error *error);
/* A summary in the text format that monitoring systems collect from files. */
PLATELAG_API platelag_status platelag_fleet_write_metrics(const platelag_fleet *fleet,
                                                          const platelag_sink *sink,
                                                          platelag_error *error);
/* What the page is told of captures' own reports. Zero-initialised: there are none. */
typedef struct platelag_fleet_page {
  const char *folder; /* relative to the page, with KEY.html in it; NULL: none */
  bool (*is_there)(void *context, const char *key);
  void *context;
  /* For the command that makes a report, as the program was told of them; a password in the store's
   * name stays out of the page. */
  const char *store;       /* NULL: no command is shown */
  const char *place;       /* of the folder; NULL: as `folder` */
  const char *const *word; /* what else decides how captures are judged: "--spec", "FILE" */
  size_t word_count;
} platelag_fleet_page;

/* One self-contained page: the ranking, trends, distributions. Every text is escaped, and a content
 * security policy lets nothing run that the library did not bring. */
PLATELAG_API platelag_status platelag_fleet_write_html(const platelag_fleet *fleet,
                                                       const platelag_fleet_page *page,
                                                       const platelag_sink *sink,
                                                       platelag_error *error);

#ifdef __cplusplus
}
#endif
#endif
