/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A line over time keeps of each column its first, lowest, highest and last point, which draws the
 * same pixels as all of them. A track that goes anywhere keeps each stroke between two cells once.
 */
#include "report/svg_path.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

enum {
  COLUMN = PLAG_SVG_WIDTH / PLAG_SVG_COLUMNS,
  TRACK_CELLS_X = 500, /* across the box */
  TRACK_CELLS_Y = 250,
  STROKES_KEPT = 1 << 15 /* a power of two */
};

typedef struct point {
  long x, y;
} point;

static point place(double x, double y, const plag_axis *x_axis, const plag_axis *y_axis) {
  const double across = (x - x_axis->from) / (x_axis->to - x_axis->from);
  const double up = (y - y_axis->from) / (y_axis->to - y_axis->from);
  /* Far outside is outside: numbers stay short. */
  return (point){lround(PLAG_SVG_WIDTH * fmin(fmax(across, -1), 2)),
                 lround(PLAG_SVG_HEIGHT * (1 - fmin(fmax(up, -1), 2)))};
}

/* The pen writes relative moves, which are short. */
typedef struct pencil {
  plag_text *out;
  point at;
  bool down;    /* a path has begun and goes on */
  bool started; /* something was written */
} pencil;

static void add_pair(plag_text *out, char letter, long x, long y) {
  plag_text_add_char(out, letter);
  plag_text_add_integer(out, x);
  if (y >= 0)
    plag_text_add_char(out, ' '); /* a minus parts them too */
  plag_text_add_integer(out, y);
}

static void add_one(plag_text *out, char letter, long value) {
  plag_text_add_char(out, letter);
  plag_text_add_integer(out, value);
}

static void move_to(pencil *pen, point to) {
  if (pen->started)
    add_pair(pen->out, 'm', to.x - pen->at.x, to.y - pen->at.y);
  else
    add_pair(pen->out, 'M', to.x, to.y);
  pen->at = to;
  pen->started = true;
  pen->down = true;
}

static void line_to(pencil *pen, point to) {
  const long dx = to.x - pen->at.x, dy = to.y - pen->at.y;
  if (dx == 0 && dy == 0)
    return;
  if (dy == 0)
    add_one(pen->out, 'h', dx);
  else if (dx == 0)
    add_one(pen->out, 'v', dy);
  else
    add_pair(pen->out, 'l', dx, dy);
  pen->at = to;
}

static void draw_to(pencil *pen, point to) {
  if (pen->down)
    line_to(pen, to);
  else
    move_to(pen, to);
}

/* --- lines over time -------------------------------------------------------------------------- */

typedef struct slice {
  long index;
  size_t count;
  point first, lowest, highest, last;
  bool lowest_first;
} slice;

static void flush(pencil *pen, slice *column) {
  if (column->count == 0)
    return;
  draw_to(pen, column->first);
  draw_to(pen, column->lowest_first ? column->lowest : column->highest);
  draw_to(pen, column->lowest_first ? column->highest : column->lowest);
  draw_to(pen, column->last);
  column->count = 0;
}

static void feed(pencil *pen, slice *column, point at) {
  const long index = at.x / COLUMN;
  if (column->count > 0 && index != column->index)
    flush(pen, column);
  if (column->count++ == 0) {
    *column = (struct slice){index, 1, at, at, at, at, true};
    return;
  }
  if (at.y > column->lowest.y) {
    column->lowest = at;
    column->lowest_first = false;
  }
  if (at.y < column->highest.y) {
    column->highest = at;
    column->lowest_first = true;
  }
  column->last = at;
}

static void add_course(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                       const plag_axis *y) {
  pencil pen = {.out = out};
  slice column = {0};
  bool has_last = false;
  point last = {0, 0};
  for (size_t i = 0; i < line->count; i++) {
    if (isnan(line->y[i])) {
      flush(&pen, &column);
      pen.down = has_last = false;
      continue;
    }
    const point at = place(line->x[i], line->y[i], x, y);
    if (line->stroke == PLAG_STROKE_STEPS && has_last)
      feed(&pen, &column, (point){at.x, last.y});
    feed(&pen, &column, at);
    last = at;
    has_last = true;
  }
  flush(&pen, &column);
}

/* --- tracks ----------------------------------------------------------------------------------- */

/* Strokes that were drawn. When so many were that the table is full, so is the picture, and no more
 * are. */
typedef struct strokes {
  uint64_t *seen; /* 0: free */
  size_t count;
} strokes;

static bool is_new(strokes *drawn, uint64_t from, uint64_t to) {
  const uint64_t key = (from < to ? from << 32 | to : to << 32 | from) + 1;
  size_t slot = (size_t)((key * 0x9e3779b97f4a7c15U) >> 49) & (STROKES_KEPT - 1);
  for (; drawn->seen[slot] != 0; slot = (slot + 1) & (STROKES_KEPT - 1))
    if (drawn->seen[slot] == key)
      return false;
  if (drawn->count == STROKES_KEPT / 2)
    return false;
  drawn->seen[slot] = key;
  drawn->count++;
  return true;
}

static uint64_t cell_of(point at) {
  return ((uint64_t)(at.x + PLAG_SVG_WIDTH) << 14) + (uint64_t)(at.y + PLAG_SVG_HEIGHT);
}

static point snap(point at) {
  const long wide = PLAG_SVG_WIDTH / TRACK_CELLS_X, high = PLAG_SVG_HEIGHT / TRACK_CELLS_Y;
  return (point){lround((double)at.x / (double)wide) * wide,
                 lround((double)at.y / (double)high) * high};
}

static void add_track(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                      const plag_axis *y) {
  strokes drawn = {calloc(STROKES_KEPT, sizeof *drawn.seen), 0};
  if (drawn.seen == NULL) {
    out->failed = true;
    return;
  }
  pencil pen = {.out = out};
  bool has_last = false;
  point last = {0, 0};
  for (size_t i = 0; i < line->count; i++) {
    if (isnan(line->y[i]) || isnan(line->x[i])) {
      has_last = pen.down = false;
      continue;
    }
    const point at = snap(place(line->x[i], line->y[i], x, y));
    if (has_last && (at.x != last.x || at.y != last.y)) {
      if (is_new(&drawn, cell_of(last), cell_of(at))) {
        if (!pen.down)
          move_to(&pen, last);
        line_to(&pen, at);
      } else {
        pen.down = false;
      }
    }
    last = at;
    has_last = true;
  }
  free(drawn.seen);
}

/* --- areas and bars --------------------------------------------------------------------------- */

static void add_range(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                      const plag_axis *y) {
  pencil pen = {.out = out};
  for (size_t i = 0; i < line->count; i++)
    draw_to(&pen, place(line->x[i], line->y[i], x, y));
  for (size_t i = line->count; i-- > 0;)
    draw_to(&pen, place(line->x[i], line->y_high[i], x, y));
  plag_text_add(out, line->count > 0 ? "z" : "");
}

/* What there is at all stays to be seen. */
static void add_bars(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                     const plag_axis *y) {
  enum { LEAST_HEIGHT = 12, GAP = 6 };
  pencil pen = {.out = out};
  for (size_t i = 0; i + 1 < line->count; i++) {
    if (!(line->y[i] > 0))
      continue;
    const point from = place(line->x[i], 0, x, y), to = place(line->x[i + 1], line->y[i], x, y);
    const long top = from.y - to.y < LEAST_HEIGHT ? from.y - LEAST_HEIGHT : to.y;
    move_to(&pen, (point){from.x + GAP, from.y});
    line_to(&pen, (point){from.x + GAP, top});
    line_to(&pen, (point){to.x - GAP, top});
    line_to(&pen, (point){to.x - GAP, from.y});
  }
}

void plag_svg_path_add(plag_text *out, const plag_plot_line *line, const plag_axis *x,
                       const plag_axis *y) {
  switch (line->stroke) {
  case PLAG_STROKE_LINE:
  case PLAG_STROKE_STEPS:
    add_course(out, line, x, y);
    return;
  case PLAG_STROKE_TRACK:
    add_track(out, line, x, y);
    return;
  case PLAG_STROKE_RANGE:
    add_range(out, line, x, y);
    return;
  case PLAG_STROKE_BARS:
    add_bars(out, line, x, y);
    return;
  }
}
