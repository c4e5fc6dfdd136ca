/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/clock_find.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/statistics.h"
#include "read/fold.h"
#include "read/names.h"

#define SECOND_NS INT64_C(1000000000)
#define DAY_NS    (86400 * SECOND_NS)

/* Of the steps of a clock that jitters or begins anew; a measured time goes down as often as up. */
static const double most_falling = 0.35;

/* Seconds since 1970 of any recording: 1995 and later. */
#define EPOCH_LEAST 8e8

typedef struct named_unit {
  int64_t unit_ns;
  const char *name;
} named_unit;

static const named_unit number_units[] = {
    {1, "nanoseconds"},
    {1000, "microseconds"},
    {1000000, "milliseconds"},
    {SECOND_NS, "seconds"},
    {60 * SECOND_NS, "minutes"},
    {3600 * SECOND_NS, "hours"},
    {DAY_NS, "fraction of a day"},
};

static const char *unit_name(int64_t unit_ns) {
  for (size_t i = 0; i < sizeof number_units / sizeof number_units[0]; i++)
    if (number_units[i].unit_ns == unit_ns)
      return number_units[i].name;
  return "seconds";
}

/* What the stamps of a column look like, taken together. */
typedef struct stamp_facts {
  size_t present, times, dates, zoned, twelve, two_fields, decimals, year_first, dotted;
  bool day_fits, month_fits; /* every date is one with the day, or the month, in front */
} stamp_facts;

static stamp_facts look_at_stamps(const plag_sample *sample, int column) {
  stamp_facts facts = {.day_fits = true, .month_fits = true};
  for (size_t i = 0; i < sample->count; i++) {
    const plag_cell cell = plag_row_cell(&sample->row[i], column);
    const plag_notation plain = {'.', 0};
    plag_stamp stamp;
    if (!plag_stamp_read(cell.text, cell.length, &stamp)) {
      facts.present += plag_cell_read(cell.text, cell.length, plain).kind != PLAG_CELL_MISSING;
      continue;
    }
    facts.present++;
    facts.times += stamp.has_time;
    facts.dates += stamp.has_date;
    facts.zoned += stamp.has_zone;
    facts.twelve += stamp.twelve_hours;
    facts.two_fields += stamp.has_time && stamp.fields == 2;
    facts.decimals += stamp.decimals > 0;
    facts.year_first += stamp.year_first;
    facts.dotted += stamp.dotted;
    int64_t day = 0;
    if (stamp.has_date && !stamp.year_first) {
      facts.day_fits = facts.day_fits && plag_stamp_day(&stamp, PLAG_DATE_DAY_FIRST, &day);
      facts.month_fits = facts.month_fits && plag_stamp_day(&stamp, PLAG_DATE_MONTH_FIRST, &day);
    }
  }
  return facts;
}

static void decide_order(const stamp_facts *facts, plag_clock_form *form) {
  if (facts->year_first == facts->dates) {
    form->order = PLAG_DATE_YEAR_FIRST;
  } else if (facts->day_fits != facts->month_fits) {
    form->order = facts->day_fits ? PLAG_DATE_DAY_FIRST : PLAG_DATE_MONTH_FIRST;
  } else if (facts->dotted > 0) {
    form->order = PLAG_DATE_DAY_FIRST;
  } else {
    form->order = form->twelve_hours ? PLAG_DATE_MONTH_FIRST : PLAG_DATE_DAY_FIRST;
    form->order_guessed = true;
    (void)snprintf(form->evidence, sizeof form->evidence,
                   "no date tells whether day or month stands first; read with the %s first",
                   form->twelve_hours ? "month, as clocks with AM and PM are usual," : "day");
  }
}

static void decide_stamp(const stamp_facts *facts, plag_clock_form *form) {
  form->kind = PLAG_CLOCK_STAMP;
  form->dated = facts->dates == facts->times;
  form->zoned = facts->zoned > 0;
  form->twelve_hours = facts->twelve > 0;
  const bool two = facts->two_fields == facts->times;
  form->hours_minutes = two && form->dated && facts->decimals == 0;
  form->minutes_seconds = two && !form->hours_minutes;
  if (form->dated)
    decide_order(facts, form);
  if (form->minutes_seconds)
    form->name = "mm:ss";
  else if (!form->dated)
    form->name = form->twelve_hours ? "h:mm:ss AM/PM" : "h:mm:ss";
  else if (form->order == PLAG_DATE_YEAR_FIRST)
    form->name = "ISO 8601";
  else
    form->name = "date and time";
}

/* Figures of a numeric column. */
typedef struct number_facts {
  size_t fractions;
  double lowest, highest, step; /* median of the steps that are not 0 */
  double widest_fraction;       /* not used for whole numbers */
} number_facts;

static bool look_at_numbers(const plag_sample *sample, int column, plag_notation notation,
                            number_facts *facts) {
  *facts = (number_facts){.lowest = INFINITY, .highest = -INFINITY};
  double *step = calloc(sample->count + 1, sizeof *step);
  if (step == NULL)
    return false;
  size_t steps = 0;
  double last = NAN;
  for (size_t i = 0; i < sample->count; i++) {
    const plag_cell cell = plag_row_cell(&sample->row[i], column);
    const plag_value value = plag_cell_read(cell.text, cell.length, notation);
    if (value.kind != PLAG_CELL_NUMBER)
      continue;
    facts->fractions += value.number != floor(value.number);
    facts->lowest = fmin(facts->lowest, value.number);
    facts->highest = fmax(facts->highest, value.number);
    if (isfinite(last) && value.number != last)
      step[steps++] = fabs(value.number - last);
    last = value.number;
  }
  facts->step = steps > 0 ? plag_median(step, steps) : 0;
  free(step);
  return true;
}

/* The unit that the header names, in ns; 0 when it names none. */
static int64_t header_unit(const plag_column_head *head) {
  const plag_unit_entry *unit = plag_unit_find(head->unit, strlen(head->unit));
  if (unit != NULL && unit->second_ns > 0)
    return (int64_t)unit->second_ns;
  char folded[PLAG_FOLDED_BYTES];
  size_t length = plag_fold_words(head->full_name, strlen(head->full_name), folded);
  for (char *word = folded; length > 0 && *word != '\0';) {
    word += strspn(word, " ");
    const size_t letters = strcspn(word, " ");
    unit = letters > 0 ? plag_unit_find(word, letters) : NULL;
    if (unit != NULL && unit->second_ns > 0 && (letters > 1 || *word == 's'))
      return (int64_t)unit->second_ns;
    word += letters;
  }
  return 0;
}

/* By the size of the numbers where that says it (seconds, milliseconds ... since 1970, days of a
 * spreadsheet), else by the header, else by how far apart rows can be. */
static void decide_number(const number_facts *facts, int64_t named, plag_clock_form *form) {
  static const struct {
    double low, high;
    int64_t unit_ns;
    const char *name;
  } epochs[] = {{EPOCH_LEAST, 5e9, SECOND_NS, "epoch seconds"},
                {8e11, 5e12, 1000000, "epoch milliseconds"},
                {8e14, 5e15, 1000, "epoch microseconds"},
                {8e17, 5e18, 1, "epoch nanoseconds"}};
  form->kind = PLAG_CLOCK_NUMBER;
  for (size_t i = 0; i < sizeof epochs / sizeof epochs[0]; i++)
    if (facts->lowest >= epochs[i].low && facts->highest <= epochs[i].high &&
        facts->highest - facts->lowest < 0.05 * facts->lowest) {
      form->unit_ns = epochs[i].unit_ns;
      form->name = epochs[i].name;
      form->since_1970 = true;
      return;
    }
  if (facts->fractions > 0 && facts->step > 0 && facts->step < 4e-4 &&
      ((facts->lowest > 20000 && facts->highest < 80000) ||
       (facts->lowest >= 0 && facts->highest < 1.5 && named == 0 && facts->step < 4e-5))) {
    form->unit_ns = DAY_NS;
    form->name = "fraction of a day";
    (void)snprintf(form->evidence, sizeof form->evidence,
                   "the numbers are read as days, as spreadsheets store times");
    return;
  }
  form->unit_ns = named;
  if (named == 0) {
    const bool whole = facts->fractions == 0;
    form->unit_ns = facts->step >= 4000               ? 1000
                    : facts->step >= (whole ? 5 : 40) ? 1000000
                                                      : SECOND_NS;
    (void)snprintf(form->evidence, sizeof form->evidence,
                   "no unit stands with the clock; by its steps it counts %s",
                   unit_name(form->unit_ns));
  }
  form->name = unit_name(form->unit_ns);
}

typedef struct step_list {
  double *step; /* positive steps, ns */
  size_t positive, negative, none;
} step_list;

static bool take_steps(const plag_sample *sample, int channel_column, plag_clock_form *form,
                       step_list *list) {
  *list = (step_list){.step = calloc(sample->count + 1, sizeof(double))};
  if (list->step == NULL)
    return false;
  const plag_cell channel = plag_row_cell(&sample->row[0], channel_column);
  int64_t last = 0;
  bool started = false;
  for (size_t i = 0; i < sample->count; i++) {
    if (channel_column >= 0) {
      const plag_cell cell = plag_row_cell(&sample->row[i], channel_column);
      if (cell.length != channel.length || memcmp(cell.text, channel.text, cell.length) != 0)
        continue;
    }
    int64_t raw = 0;
    if (plag_clock_read(form, &sample->row[i], &raw) != PLAG_CLOCK_READ)
      continue;
    if (started) {
      const double step = (double)raw - (double)last;
      if (step > 0)
        list->step[list->positive++] = (double)(raw - last);
      else if (step < 0)
        list->negative++;
      else
        list->none++;
    }
    started = true;
    last = raw;
  }
  return true;
}

bool plag_clock_measure(const plag_sample *sample, int channel_column, plag_clock_form *form) {
  step_list list;
  if (!take_steps(sample, channel_column, form, &list))
    return false;
  const size_t steps = list.positive + list.negative + list.none;
  form->falling = steps > 0 ? (double)list.negative / (double)steps : 0;
  form->resting = steps > 0 ? (double)list.none / (double)steps : 0;
  form->period_ns = 0;
  form->quantum_ns = 0;
  if (list.positive > 0) {
    double smallest = INFINITY;
    for (size_t i = 0; i < list.positive; i++)
      smallest = fmin(smallest, list.step[i]);
    size_t on_grid = 0;
    for (size_t i = 0; i < list.positive; i++)
      on_grid += fmod(list.step[i], smallest) == 0;
    const double median = plag_median(list.step, list.positive);
    form->period_ns = (int64_t)median;
    const double rows = (double)(list.positive + list.none) / (double)list.positive;
    if (rows >= 1.5 && on_grid == list.positive && smallest >= 1e7 && smallest < (double)DAY_NS &&
        median < 3 * smallest) {
      form->quantum_ns = (int64_t)smallest;
      form->rows_a_quantum = rows;
      form->period_ns = (int64_t)(smallest / rows);
    }
  }
  free(list.step);
  return true;
}

static bool is_date(const stamp_facts *facts) {
  return facts->dates > 0 && facts->times == 0 && 10 * facts->dates >= 9 * facts->present;
}

bool plag_clock_add_date(const plag_sample *sample, int date_column, plag_clock_form *form) {
  const stamp_facts facts = look_at_stamps(sample, date_column);
  form->date_column = date_column;
  form->dated = true;
  form->minutes_seconds = false;
  decide_order(&facts, form);
  form->name = "date and time in two columns";
  return plag_clock_measure(sample, -1, form);
}

/* What the head of a column says of time. */
typedef struct head_facts {
  bool named;      /* as clocks are */
  bool counted;    /* as row numbers are */
  int64_t unit_ns; /* 0: none */
} head_facts;

static head_facts look_at_head(const plag_column_head *head) {
  const bool named = plag_name_has_word(head->full_name, plag_clock_words);
  return (head_facts){
      .named = named,
      .counted = !named && plag_name_has_word(head->full_name, plag_count_words),
      .unit_ns = header_unit(head),
  };
}

/* How likely the column is the file's clock. Numbers need a name or a unit of time, or to stand
 * first and rise; a row number is none. */
static double score(const plag_clock_form *form, const head_facts *head, size_t steps_needed) {
  /* headers that stand there again and remarks are no stamps */
  const double least = head->named || head->unit_ns > 0 ? 0.5 : 0.9;
  if (form->share < least || form->falling > 0.5 || (form->period_ns == 0 && steps_needed > 0))
    return 0;
  double value = 0;
  if (form->kind == PLAG_CLOCK_STAMP)
    value = head->named ? 1.3 : 1.0;
  else if (head->named || head->unit_ns > 0 || form->since_1970)
    value = form->falling < 0.1                                   ? 0.9
            : form->falling <= most_falling * (1 - form->resting) ? 0.45
                                                                  : 0;
  else if (form->column == 0 && !head->counted && form->falling == 0 && form->resting == 0)
    value = 0.5;
  if (value == 0 || head->counted)
    return 0;
  return value + (form->column == 0 ? 0.2 : 0) + 0.5 * (1 - form->resting);
}

bool plag_clock_find(const plag_sample *sample, const plag_layout *layout, int column,
                     plag_notation notation, const plag_column_facts *facts,
                     plag_clock_form *form) {
  *form = (plag_clock_form){.column = column, .date_column = -1, .notation = notation, .name = ""};
  const head_facts head = look_at_head(&layout->column[column]);
  stamp_facts stamps = {0};
  if (facts->words > 0) /* a stamp is no number */
    stamps = look_at_stamps(sample, column);
  form->is_date = is_date(&stamps);
  if (stamps.times > 0 && 2 * stamps.times > stamps.present) {
    decide_stamp(&stamps, form);
    form->share = (double)stamps.times / (double)stamps.present;
  } else {
    const size_t present = sample->count - facts->missing;
    const bool may_be =
        head.named || head.unit_ns > 0 || column == 0 || facts->lowest >= EPOCH_LEAST;
    number_facts numbers;
    if (!may_be || 2 * facts->numbers <= present)
      return true;
    if (!look_at_numbers(sample, column, notation, &numbers))
      return false;
    decide_number(&numbers, head.unit_ns, form);
    form->share = (double)facts->numbers / (double)present;
  }
  if (!plag_clock_measure(sample, -1, form))
    return false;
  form->score = score(form, &head, sample->count > 1);
  return true;
}
