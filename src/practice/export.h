/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a record is exported. A layout is one row of a table; whatever the layout, the sample values
 * and stamps are the same to the last digit, so that findings must agree over all of them. */
#ifndef PLAG_PRACTICE_EXPORT_H
#define PLAG_PRACTICE_EXPORT_H

#include "core/text.h"
#include "platelag/practice.h"
#include "practice/record.h"

typedef enum plag_export_shape {
  PLAG_SHAPE_WIDE,              /* one clock column, a column a channel */
  PLAG_SHAPE_CLOCK_PER_CHANNEL, /* a clock column before each channel */
  PLAG_SHAPE_LONG,              /* time, channel, value, unit */
  PLAG_SHAPE_SPARSE             /* a row for each sample, the other cells empty */
} plag_export_shape;

typedef enum plag_export_encoding {
  PLAG_ENCODING_UTF8,
  PLAG_ENCODING_UTF8_MARK,
  PLAG_ENCODING_WINDOWS_1252,
  PLAG_ENCODING_UTF16LE,
  PLAG_ENCODING_UTF16LE_MARK,
  PLAG_ENCODING_UTF16BE,
  PLAG_ENCODING_UTF16BE_MARK
} plag_export_encoding;

typedef enum plag_export_clock {
  PLAG_CLOCK_SECONDS,
  PLAG_CLOCK_MILLISECONDS,
  PLAG_CLOCK_MICROSECONDS,
  PLAG_CLOCK_RUN_TIME,    /* h:mm:ss.fff since the start */
  PLAG_CLOCK_OF_DAY,      /* hh:mm:ss.fff */
  PLAG_CLOCK_MIDNIGHT,    /* the same, and the recording runs across midnight */
  PLAG_CLOCK_AM_PM,       /* h:mm:ss.fff AM */
  PLAG_CLOCK_ISO,         /* 2024-03-14T08:17:42.310 */
  PLAG_CLOCK_ISO_ZONE,    /* the same with +01:00 */
  PLAG_CLOCK_ISO_BLANK,   /* a blank in place of the T */
  PLAG_CLOCK_DAY_FIRST,   /* 14.03.2024 08:17:42.310 */
  PLAG_CLOCK_MONTH_FIRST, /* 03/14/2024 08:17:42.310 */
  PLAG_CLOCK_EPOCH_S,
  PLAG_CLOCK_EPOCH_MS,
  PLAG_CLOCK_DATE_AND_TIME, /* two columns */
  PLAG_CLOCK_EPOCH_US,
  PLAG_CLOCK_ZULU,          /* 2024-03-14T07:17:42.310Z */
  PLAG_CLOCK_TIME_AND_ZONE, /* 08:17:42.310+01:00 */
  PLAG_CLOCK_DOTTED,        /* 08:17.42.310 */
  /* These lose something of the stamps. */
  PLAG_CLOCK_WHOLE_SECONDS,   /* hh:mm:ss */
  PLAG_CLOCK_MINUTES_SECONDS, /* mm:ss.f, as spreadsheets show times: hours and the rest cut off */
  PLAG_CLOCK_DAY_FRACTION,    /* days of a spreadsheet, to 1e-9 */
  PLAG_CLOCK_ROW_NUMBER,      /* a count of the rows and no clock */
  PLAG_CLOCK_NONE             /* no such column */
} plag_export_clock;

typedef enum plag_export_units {
  PLAG_UNITS_BRACKETS, /* Name (V) */
  PLAG_UNITS_SQUARE,   /* Name [V] */
  PLAG_UNITS_COMMA,    /* Name, V */
  PLAG_UNITS_SLASH,    /* Name / V */
  PLAG_UNITS_SUFFIX,   /* name_v */
  PLAG_UNITS_ROW,      /* a row of their own below the names */
  PLAG_UNITS_CELLS     /* behind every number */
} plag_export_units;

typedef enum plag_export_language {
  PLAG_LANGUAGE_ENGLISH,
  PLAG_LANGUAGE_GERMAN,
  PLAG_LANGUAGE_FRENCH,
  PLAG_LANGUAGE_SPANISH,
  PLAG_LANGUAGE_COUNT
} plag_export_language;

typedef enum plag_export_preamble {
  PLAG_PREAMBLE_NONE,
  PLAG_PREAMBLE_SHORT, /* a few lines on vehicle and recording */
  PLAG_PREAMBLE_LONG,  /* 34 lines */
  PLAG_PREAMBLE_SEP    /* sep=; */
} plag_export_preamble;

typedef struct plag_export_layout {
  const char *name;
  const char *line_end; /* NULL: LF */
  const char *group;    /* between thousands; NULL: none */
  const char *missing;  /* NULL: an empty cell */
  plag_export_shape shape;
  plag_export_encoding encoding;
  plag_export_language language;
  plag_export_clock clock;
  plag_export_units units;
  plag_export_preamble preamble;
  char separator;          /* 0: comma */
  char decimal;            /* 0: point */
  bool quote_all;          /* quotes about every cell, not only where needed */
  bool trailing_separator; /* after every data row */
  bool trailing_in_header; /* after the header too */
  bool footer;             /* remarks after the data */
  bool repeated_header;    /* every 250 rows */
  bool vehicle_column;     /* the vehicle's name in every row */
  bool no_header;
  bool broken_names;      /* a line end in place of each name's last blank */
  bool kind_row;          /* a further header row: what kind of value each column holds */
  bool ragged;            /* missing cells at the end of a row are left out */
  bool repeated_position; /* the first position once more, under the same name, as last column */
  bool on_change;         /* a cell that repeats the one above is left empty */
  bool two_runs;          /* half-way the clock begins anew, under a header of its own */
  bool back_steps;        /* now and then a stamp steps back behind the one before */
  const char *loses;      /* what a record loses when written so; NULL: nothing */
} plag_export_layout;

size_t plag_export_layout_count(void);
const plag_export_layout *plag_export_layout_at(size_t index);
/* NULL when there is none of that name. */
const plag_export_layout *plag_export_layout_find(const char *name);

/* Writes the whole record. */
platelag_status plag_export_write(const plag_export_layout *layout, const plag_record *record,
                                  const platelag_sink *sink, platelag_error *error);

/* --- parts, each in a file of its own -------------------------------------------------------- */

/* Name and unit of a channel; the name goes to `name`. The unit is lent, static. */
void plag_export_channel_name(const plag_record_channel *channel, plag_export_language language,
                              plag_text *name);
const char *plag_export_channel_unit(const plag_record_channel *channel,
                                     plag_export_language language);
/* The word for a switched-on or switched-off command. */
const char *plag_export_state_word(plag_export_language language, bool on);
/* Words of the frame: "Time", "Date", "Channel", "Value", "Unit", "Vehicle". */
typedef enum plag_export_word {
  PLAG_WORD_TIME,
  PLAG_WORD_DATE,
  PLAG_WORD_CHANNEL,
  PLAG_WORD_VALUE,
  PLAG_WORD_UNIT,
  PLAG_WORD_VEHICLE,
  PLAG_WORD_COUNT
} plag_export_word;
const char *plag_export_frame_word(plag_export_language language, plag_export_word word);

/* Unit of the clock, "s", or "" where its format tells. */
const char *plag_export_clock_unit(plag_export_clock clock);
/* One stamp; `date`: the date's column of PLAG_CLOCK_DATE_AND_TIME. */
void plag_export_clock_add(plag_export_clock clock, char decimal, int64_t stamp_ms, bool date,
                           plag_text *text);

/* Appends `from` (UTF-8, LF line ends) to `to` in another encoding with other line ends. `mark`:
 * begin with the byte-order mark that the encoding asks for. */
void plag_export_encode(const plag_export_layout *layout, bool mark, const plag_text *from,
                        plag_text *to);

#endif
