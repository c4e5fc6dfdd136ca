/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plots of one valve in one capture, before any format decides how they look: what is drawn over
 * which axes, and what is said beside it. One file a plot (plots_*.c), one list (plots.c). */
#ifndef PLAG_REPORT_PLOTS_H
#define PLAG_REPORT_PLOTS_H

#include "platelag/review.h"

#include "report/document.h"

typedef enum plag_plot_kind {
  PLAG_PLOT_TIME,   /* command and position over time */
  PLAG_PLOT_LOOP,   /* position over command */
  PLAG_PLOT_MOVES,  /* openings and closings laid over each other */
  PLAG_PLOT_HELD,   /* held time over travel */
  PLAG_PLOT_LEVELS, /* readings against their limits */
  PLAG_PLOT_KINDS
} plag_plot_kind;

/* What a line or a span stands for; colour, dashing and hatching follow from it. */
typedef enum plag_look {
  PLAG_LOOK_POSITION,
  PLAG_LOOK_ASKED, /* the travel that the command asks for */
  PLAG_LOOK_COMMAND,
  PLAG_LOOK_EFFORT,
  PLAG_LOOK_MOVE,
  PLAG_LOOK_FIT,
  PLAG_LOOK_RANGE, /* of the fit */
  PLAG_LOOK_BAND,  /* of friction */
  PLAG_LOOK_BARS,
  PLAG_LOOK_HELD,
  PLAG_LOOK_VOID,
  PLAG_LOOK_COUNT
} plag_look;

typedef enum plag_stroke {
  PLAG_STROKE_LINE,  /* x never falls */
  PLAG_STROKE_STEPS, /* likewise, and y holds until the next x */
  PLAG_STROKE_TRACK, /* goes anywhere */
  PLAG_STROKE_RANGE, /* the area between y and y_high */
  PLAG_STROKE_BARS   /* from 0 to y, as wide as the way to the next x; the last is no bar */
} plag_stroke;

/* Arrays are lent by the document's arena. A y of NaN is a gap. */
typedef struct plag_plot_line {
  plag_look look;
  plag_stroke stroke;
  const char *name; /* for the legend; "": goes without */
  size_t count;
  const double *x, *y, *y_high;
} plag_plot_line;

/* A stretch of x, over all panels. */
typedef struct plag_plot_span {
  plag_look look;
  double from, to;
} plag_plot_span;

/* A straight line from edge to edge. */
typedef struct plag_plot_mark {
  bool is_limit; /* else a place: a stop, a level */
  bool of_x;     /* at a value of x, else of y */
  double at;
  const char *label;
} plag_plot_mark;

typedef struct plag_axis {
  double from, to;
  const char *label; /* with its unit; "": goes without */
  bool is_time;      /* seconds, told as minutes and seconds */
} plag_axis;

enum { PLAG_PANEL_LINES = 6, PLAG_PANEL_MARKS = 8, PLAG_PLOT_PANELS = 3 };

typedef struct plag_plot_panel {
  plag_axis y;
  bool is_strip; /* lower than others */
  size_t line_count, mark_count;
  plag_plot_line line[PLAG_PANEL_LINES];
  plag_plot_mark mark[PLAG_PANEL_MARKS];
} plag_plot_panel;

typedef struct plag_plot {
  plag_plot_kind kind;
  const char *title;
  const char *text; /* what is to be seen, in words */
  bool is_empty;    /* it shows that there is nothing: of use beside another capture's alone */
  plag_axis x;
  size_t panel_count;
  plag_plot_panel panel[PLAG_PLOT_PANELS];
  size_t span_count;
  const plag_plot_span *span;
  const char *span_name[PLAG_LOOK_COUNT]; /* for the legend; NULL where there is no such span */
} plag_plot;

/* The plots of one capture; those without panels cannot be drawn from it. */
typedef struct plag_plots {
  const char *title; /* of the capture; "" where it is the only one */
  const platelag_review_valve *valve;
  plag_plot plot[PLAG_PLOT_KINDS];
  plag_document steps; /* a table of the command's steps, by their times */
} plag_plots;

/* Builds the plots of one valve; to be cleared. Arrays and words live in the document. Memory that
 * runs out sticks in `document->failed`. */
void plag_plots_build(plag_document *document, const platelag_review_valve *valve,
                      const char *title, plag_plots *plots);

void plag_plots_clear(plag_plots *plots);

/* Gives plots of the same kind in several captures the same axes, but for the time of recording. */
void plag_plots_share_axes(plag_plots *plots, size_t count);

/* --- for the files that build a plot ---------------------------------------------------------- */

/* Builds one plot into `plot`, which is empty and stays so where nothing can be drawn. */
void plag_plot_time(plag_document *document, const platelag_review_valve *valve, plag_plot *plot);
void plag_plot_loop(plag_document *document, const platelag_review_valve *valve, plag_plot *plot);
void plag_plot_moves(plag_document *document, const platelag_review_valve *valve, plag_plot *plot);
void plag_plot_held(plag_document *document, const platelag_review_valve *valve, plag_plot *plot);
void plag_plot_levels(plag_document *document, const platelag_review_valve *valve, plag_plot *plot);

/* The table of steps, in a document of its own. */
void plag_plots_build_steps(plag_document *document, const platelag_review_valve *valve,
                            plag_document *steps);

/* Points of a line over time beyond which it is thinned: a part of it keeps its extremes. */
enum { PLAG_PLOT_POINTS = 100000 };
void plag_plot_thin(plag_document *document, plag_plot_line *line);

/* An array of `count` doubles, or NULL with `document->failed` set. */
double *plag_plot_array(plag_document *document, size_t count);

/* Add to a panel, which has room (the arrays above); lent until the next is added. */
plag_plot_panel *plag_plot_add_panel(plag_plot *plot, const char *label, bool is_strip);
plag_plot_line *plag_plot_add_line(plag_plot_panel *panel, plag_look look, plag_stroke stroke,
                                   const char *name);
void plag_plot_add_mark(plag_plot_panel *panel, bool is_limit, bool of_x, double at,
                        const char *label);

/* The y axis of a panel: wide enough for `least`..`most`, all its lines and its marks of y. */
void plag_plot_fit_y(plag_plot_panel *panel, double least, double most);

/* Whether positions are drawn as travel (else as they were recorded, where the stops are not
 * known); the value drawn of a recorded level; and its label with unit. */
bool plag_plot_in_travel(const platelag_trace *trace);
double plag_plot_position(const platelag_trace *trace, double level);
const char *plag_plot_position_label(const platelag_trace *trace);
/* What positions are seen against, as marks of their panel: the stops, or the limits of the signal
 * where no stops are known; and the panel's y axis, which holds them and all positions. */
void plag_plot_frame_positions(plag_document *document, plag_plot_panel *panel,
                               const platelag_review_valve *valve);
/* Its y axis for a channel: 0 to 100 for a percentage, so that little is not drawn large. */
void plag_plot_frame_channel(plag_plot_panel *panel, const platelag_channel *channel);
/* "limit 90 %" */
const char *plag_plot_limit_label(plag_document *document, double limit, const char *unit);
/* A channel's name with its unit. */
const char *plag_plot_channel_label(plag_document *document, const platelag_channel *channel);

#endif
