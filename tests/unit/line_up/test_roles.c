/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Columns become a valve's command and position by name, behaviour and the user's word; what stays
 * open is refused with the candidates and the option that settles it. */
#include "support/check.h"
#include "support/made_random.h"
#include "support/made_recording.h"

#include <math.h>
#include <string.h>

#include "line_up/line_up.h"
#include "line_up/roles.h"

enum { ROWS = 600 };

/* What a column of a test does. */
typedef enum course {
  NOTHING, /* no column */
  STEPS,   /* 5 and 82.5 in turn */
  COPY,    /* the same again under another name */
  FOLLOWS, /* the steps, late */
  STILL,   /* constant */
  NOISE,   /* moves at every row, follows nothing */
  HISS     /* another of the kind */
} course;

static void fill(course shape, double *time_s, double *value) {
  plag_test_random random = {77 + (uint64_t)shape};
  double level = 1.2;
  for (int i = 0; i < ROWS; i++) {
    time_s[i] = 0.1 * i;
    const double command = (i / 43) % 2 == 0 ? 5.0 : 82.5;
    level += 0.3 * ((command > 50.0 ? 3.71 : 1.23) - level);
    switch (shape) {
    case NOTHING:
    case STILL:
      value[i] = 20.4;
      break;
    case STEPS:
    case COPY:
      value[i] = command;
      break;
    case FOLLOWS:
      value[i] = level + 0.004 * plag_test_random_normal(&random);
      break;
    case NOISE:
    case HISS:
      value[i] = 40.0 + 7.0 * plag_test_random_normal(&random);
      break;
    }
  }
}

typedef struct column {
  plag_test_head head;
  course shape;
} column;

#define COMMAND(name, bank, score, shape)                                                          \
  { {name, "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_COMMAND, bank, score}, shape }
#define DESIRED(name, bank, score, shape)                                                          \
  { {name, "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_DESIRED, bank, score}, shape }
#define POSITION(name, bank, score, shape)                                                         \
  { {name, "V", PLATELAG_UNIT_VOLT, PLATELAG_ROLE_POSITION, bank, score}, shape }

typedef struct role_case {
  const char *what;
  column column[5];
  platelag_condition condition;
  const char *named_command;
  const char *named_position;
  const char *command; /* expected names; NULL: none */
  const char *position;
  const char *effort;
  const char *refusal[3]; /* words that the refusal must hold; NULL: no refusal */
  const char *setting;    /* that the refusal asks for */
} role_case;

static const role_case CASES[] = {
    {.what = "one of each",
     .column = {COMMAND("Runner duty", 0, 0.9, STEPS), POSITION("Runner pos", 0, 0.9, FOLLOWS)},
     .command = "Runner duty",
     .position = "Runner pos"},
    {.what = "behaviour decides between two commands of the same score",
     .column = {COMMAND("Flap duty", 0, 0.8, NOISE), COMMAND("Flap command", 0, 0.8, STEPS),
                POSITION("Flap pos", 0, 0.9, FOLLOWS)},
     .command = "Flap command",
     .position = "Flap pos"},
    {.what = "a duty that never varies is not the command",
     .column = {COMMAND("Flap duty", 0, 0.85, STILL), COMMAND("Flap cmd", 0, 0.8, STEPS),
                POSITION("Flap pos", 0, 0.9, FOLLOWS)},
     .command = "Flap cmd",
     .position = "Flap pos"},
    {.what = "a desired position is the command, the duty the effort",
     .column = {COMMAND("Duty", 0, 0.7, NOISE), DESIRED("Target", 0, 0.8, STEPS),
                POSITION("Actual", 0, 0.9, FOLLOWS)},
     .command = "Target",
     .position = "Actual",
     .effort = "Duty"},
    {.what = "a desired position that never varies is left for the duty",
     .column = {COMMAND("Duty", 0, 0.7, STEPS), DESIRED("Target", 0, 0.8, STILL),
                POSITION("Actual", 0, 0.9, FOLLOWS)},
     .command = "Duty",
     .position = "Actual"},
    {.what = "the better name wins",
     .column = {POSITION("Position", 0, 0.5, NOISE), POSITION("IMRC position", 0, 0.9, FOLLOWS),
                COMMAND("IMRC duty", 0, 0.9, STEPS)},
     .command = "IMRC duty",
     .position = "IMRC position"},
    {.what = "two positions alike are refused",
     .column = {POSITION("Flap pos A", 0, 0.8, FOLLOWS), POSITION("Flap pos B", 0, 0.8, NOISE),
                COMMAND("Duty", 0, 0.9, STEPS)},
     .refusal = {"\"Flap pos A\" (column 2)", "\"Flap pos B\" (column 3)", "say which"},
     .setting = "position"},
    {.what = "the user's word settles it, however it is spelled",
     .column = {POSITION("Flap pos A", 0, 0.8, FOLLOWS), POSITION("Flap pos B", 0, 0.8, NOISE),
                COMMAND("Duty", 0, 0.9, STEPS)},
     .named_position = "flap  POS b (V)",
     .command = "Duty",
     .position = "Flap pos B"},
    {.what = "the same noise twice is one column",
     .column = {COMMAND("Cmd A", 0, 0.8, NOISE), COMMAND("Cmd B", 0, 0.8, NOISE),
                POSITION("Pos", 0, 0.9, STILL)},
     .command = "Cmd A", /* the very same samples: one column twice */
     .position = "Pos"},
    {.what = "two commands alike are refused",
     .column = {COMMAND("Cmd A", 0, 0.8, NOISE), COMMAND("Cmd B", 0, 0.8, HISS),
                POSITION("Pos", 0, 0.9, STILL)},
     .refusal = {"\"Cmd A\" (column 2)", "\"Cmd B\" (column 3)", "say which"},
     .setting = "command"},
    {.what = "the same command twice is no ambiguity",
     .column = {COMMAND("Cmd A", 0, 0.8, STEPS), COMMAND("Cmd B", 0, 0.8, COPY),
                POSITION("Pos", 0, 0.9, FOLLOWS)},
     .command = "Cmd A",
     .position = "Pos"},
    {.what = "no position is refused with the columns",
     .column = {COMMAND("Flap duty", 0, 0.9, STEPS)},
     .refusal = {"position", "\"Flap duty\" (column 2)", "the position"},
     .setting = "position"},
    {.what = "a column without a name is told by its number",
     .column = {COMMAND("", 0, 0.9, STEPS)},
     .refusal = {"position", "\"#2\"", "the position"},
     .setting = "position"},
    {.what = "no command is refused on the road",
     .column = {POSITION("Flap pos", 0, 0.9, FOLLOWS)},
     .refusal = {"command", "\"Flap pos\" (column 2)", "the command"},
     .setting = "command"},
    {.what = "no command is fine at rest",
     .column = {POSITION("Flap pos", 0, 0.9, STILL)},
     .condition = PLATELAG_CONDITION_REST,
     .position = "Flap pos"},
    {.what = "a hand sweep has no command, whatever is recorded",
     .column = {POSITION("Flap pos", 0, 0.9, FOLLOWS), COMMAND("Duty", 0, 0.9, STILL)},
     .condition = PLATELAG_CONDITION_HAND_SWEEP,
     .position = "Flap pos"},
};

static void add_columns(plag_test_recording *made, const column *columns, size_t count) {
  double time_s[ROWS];
  double value[ROWS];
  for (size_t i = 0; i < count && columns[i].shape != NOTHING; i++) {
    fill(columns[i].shape, time_s, value);
    plag_test_recording_add(made, columns[i].head, time_s, value, ROWS);
  }
}

static platelag_spec *spec_with(const char *command, const char *position) {
  platelag_spec *spec = NULL;
  assert_int_equal(platelag_spec_create(&spec, NULL), PLATELAG_OK);
  assert_int_equal(platelag_spec_name_columns(spec, command, position, NULL), PLATELAG_OK);
  return spec;
}

static void assert_name(const platelag_channel *channel, const char *name, const char *what) {
  if ((channel == NULL) != (name == NULL) || (name != NULL && strcmp(channel->name, name) != 0))
    fail_msg("%s: took \"%s\", expected \"%s\"", what, channel != NULL ? channel->name : "none",
             name != NULL ? name : "none");
}

static void roles_are_found_or_refused(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
    const role_case *row = &CASES[i];
    plag_test_recording made = {0};
    add_columns(&made, row->column, 5);
    platelag_spec *spec = spec_with(row->named_command, row->named_position);
    platelag_trace *trace = NULL;
    platelag_error error = {0};
    const platelag_status status =
        plag_line_up(&made.recording, 0, spec, row->condition, &trace, &error);
    if (row->refusal[0] != NULL) {
      assert_int_equal(status, PLATELAG_ERROR_INPUT);
      assert_null(trace);
      for (size_t k = 0; k < 3; k++)
        if (strstr(error.message, row->refusal[k]) == NULL)
          fail_msg("%s: no \"%s\" in: %s", row->what, row->refusal[k], error.message);
      assert_string_equal(error.file, "shuttle.csv");
      assert_string_equal(error.setting, row->setting);
    } else {
      if (status != PLATELAG_OK)
        fail_msg("%s: refused: %s", row->what, error.message);
      assert_name(trace->position, row->position, row->what);
      assert_name(trace->command, row->command, row->what);
      assert_name(trace->effort, row->effort, row->what);
    }
    platelag_trace_destroy(trace);
    platelag_spec_destroy(spec);
    plag_test_recording_clear(&made);
  }
}

/* A refusal names a dozen columns and counts the others, the clock not among them. */
static void a_refusal_counts_what_it_does_not_name(void **state) {
  (void)state;
  static const char *const name[] = {"C1", "C2", "C3", "C4", "C5", "C6", "C7", "C8",
                                     "C9", "CA", "CB", "CC", "CD", "CE", "CF"};
  plag_test_recording made = {0};
  double time_s[ROWS];
  double value[ROWS];
  fill(STEPS, time_s, value);
  const plag_test_head clock = {"Time", "s", PLATELAG_UNIT_OTHER, PLATELAG_ROLE_CLOCK, 0, 0.9};
  plag_test_recording_add(&made, clock, time_s, time_s, ROWS);
  for (size_t i = 0; i < sizeof name / sizeof name[0]; i++) {
    const plag_test_head head = {name[i], "%", PLATELAG_UNIT_PERCENT, PLATELAG_ROLE_COMMAND,
                                 0,       0.9};
    plag_test_recording_add(&made, head, time_s, value, ROWS);
  }
  platelag_spec *spec = spec_with(NULL, NULL);
  platelag_trace *trace = NULL;
  platelag_error error = {0};
  assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, &error),
                   PLATELAG_ERROR_INPUT);
  assert_non_null(strstr(error.message, "the file has \"C1\" (column 3), \"C2\" (column 4)"));
  assert_non_null(strstr(error.message, "\"CC\" (column 14) and 3 more"));
  assert_null(strstr(error.message, "Time"));
  platelag_spec_destroy(spec);
  plag_test_recording_clear(&made);
}

/* On and off is a poor position: numbers are taken before it, though their name is worse. */
static void numbers_are_a_better_position_than_a_state(void **state) {
  (void)state;
  plag_test_recording made = {0};
  const column columns[] = {COMMAND("Duty", 0, 0.9, STEPS), POSITION("Flap switch", 0, 0.8, STEPS),
                            POSITION("Flap pos", 0, 0.65, FOLLOWS)};
  add_columns(&made, columns, 3);
  platelag_channel as_state = *made.channel[1];
  as_state.kind = PLATELAG_VALUE_STATE;
  made.channel[1] = &as_state;
  platelag_spec *spec = spec_with(NULL, NULL);
  platelag_trace *trace = NULL;
  assert_int_equal(plag_line_up(&made.recording, 0, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
                   PLATELAG_OK);
  assert_name(trace->position, "Flap pos", "a state beside numbers");
  platelag_trace_destroy(trace);
  platelag_spec_destroy(spec);
  plag_test_recording_clear(&made);
}

typedef struct bank_case {
  const char *what;
  column column[5];
  size_t valves;
  const char *valve[2];
  const char *position[2];
  const char *command[2];
} bank_case;

static const bank_case BANKS[] = {
    {.what = "each bank its own, in order of bank whatever the order of columns",
     .column = {POSITION("Pos B2", 2, 0.9, FOLLOWS), COMMAND("Cmd B1", 1, 0.8, STEPS),
                POSITION("Pos B1", 1, 0.9, NOISE), COMMAND("Cmd B2", 2, 0.8, STEPS)},
     .valves = 2,
     .valve = {"bank 1", "bank 2"},
     .position = {"Pos B1", "Pos B2"},
     .command = {"Cmd B1", "Cmd B2"}},
    {.what = "one command for both",
     .column = {COMMAND("Cmd", 0, 0.8, STEPS), POSITION("Pos B1", 1, 0.9, FOLLOWS),
                POSITION("Pos B2", 2, 0.9, FOLLOWS)},
     .valves = 2,
     .valve = {"bank 1", "bank 2"},
     .position = {"Pos B1", "Pos B2"},
     .command = {"Cmd", "Cmd"}},
    {.what = "one command, named for one bank, for both",
     .column = {COMMAND("Cmd B1", 1, 0.8, STEPS), POSITION("Pos B1", 1, 0.9, FOLLOWS),
                POSITION("Pos B2", 2, 0.9, FOLLOWS)},
     .valves = 2,
     .valve = {"bank 1", "bank 2"},
     .position = {"Pos B1", "Pos B2"},
     .command = {"Cmd B1", "Cmd B1"}},
    {.what = "no bank at all",
     .column = {COMMAND("Cmd", 0, 0.8, STEPS), POSITION("Pos", 0, 0.9, FOLLOWS)},
     .valves = 1,
     .valve = {"valve"},
     .position = {"Pos"},
     .command = {"Cmd"}},
    {.what = "bank 2 only",
     .column = {COMMAND("Cmd", 0, 0.8, STEPS), POSITION("Pos B2", 2, 0.9, FOLLOWS)},
     .valves = 1,
     .valve = {"bank 2"},
     .position = {"Pos B2"},
     .command = {"Cmd"}},
};

static void banks_are_valves(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof BANKS / sizeof BANKS[0]; i++) {
    const bank_case *row = &BANKS[i];
    plag_test_recording made = {0};
    add_columns(&made, row->column, 5);
    platelag_spec *spec = spec_with(NULL, NULL);
    plag_valve_list list;
    assert_int_equal(plag_roles_find_valves(&made.recording, spec, &list, NULL), PLATELAG_OK);
    assert_int_equal(list.count, row->valves);
    for (size_t valve = 0; valve < list.count; valve++) {
      platelag_trace *trace = NULL;
      assert_int_equal(
          plag_line_up(&made.recording, valve, spec, PLATELAG_CONDITION_ROAD, &trace, NULL),
          PLATELAG_OK);
      assert_string_equal(trace->valve, row->valve[valve]);
      assert_name(trace->position, row->position[valve], row->what);
      assert_name(trace->command, row->command[valve], row->what);
      platelag_trace_destroy(trace);
    }
    platelag_spec_destroy(spec);
    plag_test_recording_clear(&made);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(roles_are_found_or_refused),
      cmocka_unit_test(a_refusal_counts_what_it_does_not_name),
      cmocka_unit_test(numbers_are_a_better_position_than_a_state),
      cmocka_unit_test(banks_are_valves),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
