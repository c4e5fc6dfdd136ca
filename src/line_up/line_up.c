/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/line_up.h"

#include <assert.h>
#include <stdlib.h>

#include "core/error.h"
#include "line_up/roles.h"
#include "line_up/scale.h"
#include "line_up/segments.h"
#include "line_up/updates.h"

struct plag_trace_store {
  platelag_trace trace; /* first: the trace that is given out */
  plag_arena arena;
  plag_notes notes;
};

static void note_updates(const plag_updates *updates, const platelag_channel *position,
                         plag_notes *notes) {
  plag_text text = {0};
  if (updates->repeats > 0) {
    plag_text_add_format(&text,
                         "the recorder reads \"%s\" anew only at every %d. row; %zu repeated "
                         "readings were left out",
                         position->name, updates->rows_per_update, updates->repeats);
    plag_notes_add(notes, &text);
  }
  plag_text_clear(&text);
}

static void note_desired(const platelag_trace *trace, plag_notes *notes) {
  plag_text text = {0};
  plag_text_add_format(
      &text, "the command is the desired position \"%s\", taken as %s", trace->command->name,
      trace->command->unit == trace->position->unit && trace->command->unit != PLATELAG_UNIT_UNKNOWN
          ? "in the unit of the position"
          : "in % open");
  if (trace->effort != NULL)
    plag_text_add_format(&text, "; \"%s\" is the effort", trace->effort->name);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

static platelag_status set_position(const plag_recording *recording, const plag_valve_roles *roles,
                                    platelag_trace *trace, plag_arena *arena, plag_notes *notes,
                                    int *rows_per_update, platelag_error *error) {
  plag_updates updates;
  const platelag_status status =
      plag_updates_take(recording, roles->position, arena, &updates, error);
  if (status != PLATELAG_OK)
    return status;
  trace->position = roles->position;
  trace->sample_count = updates.count;
  trace->time_ns = updates.time_ns;
  trace->level = updates.level;
  trace->level_quantum = plag_updates_quantum(updates.level, updates.count);
  trace->position_refresh_s = updates.refresh_s;
  trace->row_period_s = updates.row_period_s;
  *rows_per_update = updates.rows_per_update;
  note_updates(&updates, roles->position, notes);
  return PLATELAG_OK;
}

/* A recorder that reads one channel after another repeats the command as it does the position. A
 * command alone may change at every k-th row because it was commanded so. */
static double command_refresh_s(const plag_recording *recording, const platelag_channel *command,
                                int rows, double period_s) {
  if (rows == 1 || !plag_updates_changes_fit(recording, command, rows))
    return 0.0;
  return rows * period_s;
}

static platelag_command_kind kind_of(const plag_valve_roles *roles, const platelag_trace *trace) {
  if (roles->command == NULL)
    return PLATELAG_COMMAND_ABSENT;
  if (roles->desired)
    return PLATELAG_COMMAND_DESIRED;
  return roles->command->kind == PLATELAG_VALUE_STATE || plag_segments_is_two_level(trace)
             ? PLATELAG_COMMAND_TWO_LEVEL
             : PLATELAG_COMMAND_DUTY;
}

static void set_auxiliary(const plag_recording *recording, platelag_trace *trace) {
  for (int role = PLATELAG_ROLE_ENGINE_SPEED; role < PLATELAG_ROLE_CLOCK; role++)
    trace->auxiliary[role] = plag_roles_find_auxiliary(recording, (platelag_role)role, trace->bank);
}

static platelag_status line_up(const plag_recording *recording, plag_valve_roles *roles,
                               const platelag_spec *spec, struct plag_trace_store *store,
                               platelag_error *error) {
  platelag_trace *trace = &store->trace;
  plag_notes *notes = &store->notes;
  const platelag_valve_spec *own = platelag_spec_for_bank(spec, roles->bank);
  platelag_status status =
      plag_roles_find_command(recording, spec, trace->condition, roles, notes, error);
  if (status != PLATELAG_OK)
    return status;
  trace->bank = roles->bank;
  trace->valve = roles->bank == 1 ? "bank 1" : roles->bank == 2 ? "bank 2" : "valve";
  int rows_per_update = 1;
  status = set_position(recording, roles, trace, &store->arena, notes, &rows_per_update, error);
  if (status != PLATELAG_OK)
    return status;
  trace->command = roles->command;
  trace->effort = roles->effort;
  if (roles->command != NULL) {
    trace->command_period_s = plag_updates_present_period_s(
        roles->command, plag_recording_run_rows(recording, roles->command));
    trace->command_refresh_s =
        command_refresh_s(recording, roles->command, rows_per_update, trace->command_period_s);
  }
  set_auxiliary(recording, trace);
  status = plag_segments_set(recording, &store->arena, trace, error);
  if (status != PLATELAG_OK)
    return status;
  trace->command_kind = kind_of(roles, trace);
  plag_unit_decide(trace, own, notes);
  plag_scale_set(trace, own, notes);
  if (trace->command_kind == PLATELAG_COMMAND_DESIRED)
    note_desired(trace, notes);
  trace->note_count = notes->count;
  trace->note = notes->text;
  return notes->failed ? plag_error_memory(error, "the notes of a trace") : PLATELAG_OK;
}

platelag_status plag_line_up(const plag_recording *recording, size_t valve,
                             const platelag_spec *spec, platelag_condition condition,
                             platelag_trace **out, platelag_error *error) {
  *out = NULL;
  struct plag_trace_store *store = calloc(1, sizeof *store);
  if (store == NULL)
    return plag_error_memory(error, "a trace");
  store->notes.arena = &store->arena;
  store->trace.store = store;
  store->trace.condition = condition;
  store->trace.run = (int)recording->run;
  plag_valve_list list;
  platelag_status status = plag_roles_find_valves(recording, spec, &list, error);
  if (status == PLATELAG_OK) {
    assert(valve < list.count);
    status = line_up(recording, &list.valve[valve], spec, store, error);
  }
  if (status == PLATELAG_OK)
    *out = &store->trace;
  else
    platelag_trace_destroy(&store->trace);
  return status;
}

void platelag_trace_destroy(platelag_trace *trace) {
  if (trace == NULL)
    return;
  struct plag_trace_store *store = (struct plag_trace_store *)trace;
  plag_arena_clear(&store->arena);
  free(store);
}
