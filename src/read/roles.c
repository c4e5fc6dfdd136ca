/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/roles.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"

enum { BANKS = 2, MOST_WANTED = 2 * (BANKS + 1), MOST_CANDIDATES = 16 };

/* A name given by hand. */
typedef struct wanted_name {
  const char *name;
  platelag_role role;
  int bank; /* 0: for every valve */
} wanted_name;

bool plag_role_is_needed(platelag_role role) {
  return role == PLATELAG_ROLE_COMMAND || role == PLATELAG_ROLE_DESIRED ||
         role == PLATELAG_ROLE_POSITION;
}

static size_t list_wanted(const platelag_spec *spec, wanted_name wanted[MOST_WANTED]) {
  size_t count = 0;
  if (spec == NULL)
    return 0;
  const platelag_valve_spec *common = platelag_spec_for_bank(spec, 0);
  for (int bank = 0; bank <= BANKS; bank++) {
    const platelag_valve_spec *valve = platelag_spec_for_bank(spec, bank);
    if (valve->command != NULL && (bank == 0 || valve->command != common->command))
      wanted[count++] = (wanted_name){valve->command, PLATELAG_ROLE_COMMAND, bank};
    if (valve->position != NULL && (bank == 0 || valve->position != common->position))
      wanted[count++] = (wanted_name){valve->position, PLATELAG_ROLE_POSITION, bank};
  }
  return count;
}

static void set_wanted(plag_column *column, const wanted_name *wanted) {
  plag_name_match *match = &column->match;
  if (!(wanted->role == PLATELAG_ROLE_COMMAND && match->role == PLATELAG_ROLE_DESIRED))
    match->role = wanted->role;
  match->score = 1;
  if (wanted->bank > 0)
    match->bank = wanted->bank;
  (void)snprintf(match->reason, sizeof match->reason, "named by hand");
  column->named = true;
}

void plag_roles_recognise(plag_column *column, const platelag_spec *spec) {
  column->match = plag_name_recognise(column->head.name, column->unit_text, column->unit);
  if (plag_role_is_needed(column->match.role) && column->sampled_words)
    column->match = (plag_name_match){PLATELAG_ROLE_NONE, 0, 0, ""};
  wanted_name wanted[MOST_WANTED];
  const size_t count = list_wanted(spec, wanted);
  for (size_t i = 0; i < count; i++)
    if (plag_name_fits(&column->head, wanted[i].name))
      set_wanted(column, &wanted[i]);
}

/* Columns that the name by hand pushes aside. */
static void demote_others(plag_column *column, size_t count, size_t chosen,
                          const wanted_name *wanted) {
  const platelag_role chosen_role = column[chosen].match.role;
  for (size_t i = 0; i < count; i++) {
    plag_name_match *match = &column[i].match;
    bool same = match->role == wanted->role;
    if (wanted->role == PLATELAG_ROLE_COMMAND) /* a desired position keeps the duty as its effort */
      same = match->role == PLATELAG_ROLE_DESIRED ||
             (match->role == PLATELAG_ROLE_COMMAND && chosen_role == PLATELAG_ROLE_COMMAND);
    const bool bank = wanted->bank == 0 || match->bank == 0 || match->bank == wanted->bank;
    if (i != chosen && same && bank && !column[i].named)
      *match = (plag_name_match){PLATELAG_ROLE_NONE, 0, 0, ""};
  }
}

platelag_status plag_roles_settle(plag_column *column, size_t count, const platelag_spec *spec,
                                  const char *file, platelag_error *error) {
  wanted_name wanted[MOST_WANTED];
  const size_t wanted_count = list_wanted(spec, wanted);
  if (wanted_count == 0)
    return PLATELAG_OK;
  platelag_status status = PLATELAG_OK;
  plag_column_head *head = calloc(count + 1, sizeof *head);
  bool *chosen = calloc(count + 1, sizeof *chosen);
  if (head == NULL || chosen == NULL) {
    status = plag_error_memory(error, "the columns");
    goto done;
  }
  for (size_t i = 0; i < count; i++)
    head[i] = column[i].head;
  for (size_t k = 0; k < wanted_count; k++) {
    const bool commands = wanted[k].role == PLATELAG_ROLE_COMMAND;
    const int found =
        plag_name_find(head, count, wanted[k].name, commands ? "command" : "position", file, error);
    if (found < 0) {
      status = PLATELAG_ERROR_INPUT;
      goto done;
    }
    const bool is_position = column[found].match.role == PLATELAG_ROLE_POSITION;
    if (chosen[found] && commands == is_position) {
      status = plag_error_set(error, PLATELAG_ERROR_INPUT, file, 0, found + 1,
                              "the column \"%s\" is named as command and as position; expected two "
                              "columns",
                              column[found].head.full_name);
      goto done;
    }
    set_wanted(&column[found], &wanted[k]);
    chosen[found] = true;
  }
  for (size_t i = 0; i < count; i++)
    if (column[i].named && !chosen[i]) { /* another fits the name better */
      column[i].named = false;
      column[i].match =
          plag_name_recognise(column[i].head.name, column[i].unit_text, column[i].unit);
    }
  for (size_t k = 0; k < wanted_count; k++) {
    const int found = plag_name_find(head, count, wanted[k].name, "", file, NULL);
    if (found >= 0)
      demote_others(column, count, (size_t)found, &wanted[k]);
  }
done:
  free(head);
  free(chosen);
  return status;
}

bool plag_roles_keep(const plag_column *column, size_t count, size_t which, bool whole) {
  const plag_column *self = &column[which];
  const platelag_role role = self->match.role;
  if (role == PLATELAG_ROLE_NONE || role == PLATELAG_ROLE_CLOCK ||
      role == PLATELAG_ROLE_STORED_CODE || self->match.score <= 0)
    return false;
  size_t better = 0;
  for (size_t i = 0; i < (whole ? count : which); i++) {
    const plag_name_match *other = &column[i].match;
    better +=
        i != which && other->role == role &&
        (other->score > self->match.score || (other->score == self->match.score && i < which));
  }
  return better < (plag_role_is_needed(role) ? MOST_CANDIDATES : 1);
}
