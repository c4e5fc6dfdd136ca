/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A capture: one recording as it was exported. Channels are plain arrays of double over a time in
 * integer nanoseconds; NaN is a missing sample. Reading streams: only the samples of channels that
 * later stages can use are kept, of all others a summary. */
#ifndef PLATELAG_CAPTURE_H
#define PLATELAG_CAPTURE_H

#include "platelag/spec.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a channel is for. */
typedef enum platelag_role {
  PLATELAG_ROLE_NONE = 0,
  PLATELAG_ROLE_COMMAND,  /* duty cycle, or on/off words */
  PLATELAG_ROLE_DESIRED,  /* desired position */
  PLATELAG_ROLE_POSITION, /* reported position */
  PLATELAG_ROLE_ENGINE_SPEED,
  PLATELAG_ROLE_LOAD,
  PLATELAG_ROLE_MANIFOLD_PRESSURE,
  PLATELAG_ROLE_AIR_FLOW,
  PLATELAG_ROLE_THROTTLE,
  PLATELAG_ROLE_COOLANT_TEMPERATURE,
  PLATELAG_ROLE_BATTERY_VOLTAGE,
  PLATELAG_ROLE_SENSOR_REFERENCE,
  PLATELAG_ROLE_ACTUATOR_CURRENT,
  PLATELAG_ROLE_ACTUATOR_SUPPLY, /* voltage at the actuator, not the battery's */
  PLATELAG_ROLE_DRIVER_STATE,
  PLATELAG_ROLE_STORED_CODE,
  PLATELAG_ROLE_CLOCK,
  PLATELAG_ROLE_COUNT
} platelag_role;

/* A lower-case name of a role, "engine speed". Lent, static. */
PLATELAG_API const char *platelag_role_name(platelag_role role);

/* What the samples of a channel are. */
typedef enum platelag_value_kind {
  PLATELAG_VALUE_EMPTY, /* no sample was present */
  PLATELAG_VALUE_NUMBER,
  PLATELAG_VALUE_STATE, /* on/off, open/closed, yes/no: 1 and 0 */
  PLATELAG_VALUE_WORDS  /* other text; not kept as samples */
} platelag_value_kind;

/* The unit, as far as the judgement cares. Values are stored in the unit the file uses, except that
 * millivolts become volts. */
typedef enum platelag_unit {
  PLATELAG_UNIT_UNKNOWN,
  PLATELAG_UNIT_VOLT,
  PLATELAG_UNIT_PERCENT,
  PLATELAG_UNIT_OTHER /* known, but neither of the two: rpm, kPa, deg C, A ... */
} platelag_unit;

/* One channel. Everything is lent by the capture. */
typedef struct platelag_channel {
  const char *name;      /* as the file spells it, in UTF-8, units taken off */
  const char *unit_text; /* as the file spells it; "" when none */
  platelag_unit unit;
  int column; /* in the file, from 1; in long form the order of first appearance */
  platelag_value_kind kind;
  platelag_role role;      /* by name and unit alone; line_up decides finally, by behaviour too */
  int bank;                /* 1 or 2 where the name says so, else 0 */
  double role_score;       /* 0 (none) to 1 (certain) */
  const char *role_reason; /* words of the table that matched, "runner + position"; "" */
  bool kept;               /* time_ns and value hold its samples */
  size_t count;            /* rows in time_ns and value; 0 when not kept */
  const int64_t
      *time_ns; /* since the capture's first sample; never falls; may be shared by channels */
  const double *value; /* NaN = missing */
  /* Over the whole file, and over its first rows for a channel of no role, when others are kept: */
  size_t present;  /* samples that were there */
  size_t missing;  /* cells that were a missing mark or empty */
  size_t unparsed; /* cells that were neither a value nor a missing mark */
  double lowest;   /* of the present values; NaN when there are none */
  double highest;
  double refresh_s; /* true time between updates, 0 when unknown */
} platelag_channel;

/* Why a segment begins. No state is carried from one to the next. */
typedef enum platelag_break {
  PLATELAG_BREAK_START,   /* of the capture */
  PLATELAG_BREAK_GAP,     /* the recorder paused */
  PLATELAG_BREAK_RESTART, /* the clock began anew, or stepped back too far to be a jitter */
  PLATELAG_BREAK_RUN      /* another vehicle, run or recording in the same file */
} platelag_break;

typedef struct platelag_segment {
  int64_t from_ns; /* first sample */
  int64_t to_ns;   /* last sample */
  platelag_break why;
  int run; /* index of the run it belongs to, from 0 */
} platelag_segment;

/* Something a reader of the report should know about how the file was understood: a guess with its
 * evidence, a repair, something skipped. `line` is 0 where the whole file is meant. `count` is how
 * often it happened; the line is that of the first time. */
typedef struct platelag_note {
  int64_t line;
  int64_t column;
  size_t count;
  const char *text;
} platelag_note;

/* How the file was understood. Strings are lent by the capture. */
typedef struct platelag_reading {
  const char *compression; /* "none", "gzip", "zstd" */
  const char *encoding;  /* "UTF-8", "UTF-8 with byte-order mark", "UTF-16LE", "Windows-1252" ... */
  const char *separator; /* "comma", "semicolon", "tab", "pipe" */
  const char *decimal;   /* "point", "comma" */
  const char *shape;     /* "one clock", "clock per channel", "long", "sparse rows" */
  const char *clock;     /* "seconds", "milliseconds", "h:mm:ss", "ISO 8601", "row number" ... */
  int64_t header_line;   /* 0: no header */
  int header_rows;
  int64_t preamble_lines;
  size_t rows;              /* data rows read */
  size_t skipped;           /* rows left out: remarks, repeated headers, broken ones */
  size_t unparsed;          /* cells that were no value, over all channels */
  double row_period_s;      /* median time between rows */
  double duration_s;        /* first to last sample */
  const char *stored_codes; /* codes that a stored-code column held, "P2017,P2015"; "" */
  bool started_known;       /* the clock carried a date, or the preamble names one */
  bool started_zoned;       /* a zone is given, or the clock counts from 1970 */
  int64_t started_unix_s;   /* first sample of the file, seconds since 1970-01-01: UTC where zoned,
                               else in the recorder's own local time; a day without a time of day
                               is its begin; 0 when not known */
} platelag_reading;

typedef struct platelag_capture platelag_capture;

/* How to read. Zero-initialise; everything may stay 0 or NULL. */
typedef struct platelag_read_options {
  const platelag_spec *spec; /* column names given by hand; NULL: recognise all */
  double rows_per_second;    /* the rate where the file has no clock; 0: not given */
  const char *display_name;  /* name of the file in messages; NULL: the path */
  bool keep_none;            /* keep summaries only, as `columns` needs */
} platelag_read_options;

/* Reads the capture at `path` ("-": standard input), of whatever layout, or refuses it with file,
 * line, column, what was found and what was expected. `*out` is NULL on failure. */
PLATELAG_API platelag_status platelag_capture_read(const char *path,
                                                   const platelag_read_options *options,
                                                   platelag_capture **out, platelag_error *error);

/* Where bytes come from, for callers without a file. `read` fills up to `size` bytes and sets
 * `*got` (0: the end). */
typedef struct platelag_source {
  void *context;
  platelag_status (*read)(void *context, void *bytes, size_t size, size_t *got,
                          platelag_error *error);
} platelag_source;

/* The same from any source; `options->display_name` names it in messages. */
PLATELAG_API platelag_status platelag_capture_read_source(const platelag_source *source,
                                                          const platelag_read_options *options,
                                                          platelag_capture **out,
                                                          platelag_error *error);

PLATELAG_API const char *platelag_capture_name(const platelag_capture *capture);
PLATELAG_API const platelag_reading *platelag_capture_reading(const platelag_capture *capture);
PLATELAG_API size_t platelag_capture_channel_count(const platelag_capture *capture);
PLATELAG_API const platelag_channel *platelag_capture_channel_at(const platelag_capture *capture,
                                                                 size_t index);
PLATELAG_API size_t platelag_capture_segment_count(const platelag_capture *capture);
PLATELAG_API const platelag_segment *platelag_capture_segment_at(const platelag_capture *capture,
                                                                 size_t index);
/* Runs: recordings or vehicles told apart inside one file; at least one. */
PLATELAG_API size_t platelag_capture_run_count(const platelag_capture *capture);
/* The run's label as the file gives it, "" when it gives none. */
PLATELAG_API const char *platelag_capture_run_label(const platelag_capture *capture, size_t run);
PLATELAG_API size_t platelag_capture_note_count(const platelag_capture *capture);
PLATELAG_API const platelag_note *platelag_capture_note_at(const platelag_capture *capture,
                                                           size_t index);
/* Gives back the samples of all channels, which have none from here on. A trace made of the capture
 * must not be looked at for them. */
PLATELAG_API void platelag_capture_forget_samples(platelag_capture *capture);
PLATELAG_API void platelag_capture_destroy(platelag_capture *capture);

#ifdef __cplusplus
}
#endif
#endif
