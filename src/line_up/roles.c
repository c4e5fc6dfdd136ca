/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/roles.h"

#include <string.h>

#include "line_up/candidates.h"

static bool same_text(const char *a, const char *b) {
  return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static void add_valve(plag_valve_list *list, const platelag_channel *position, int bank) {
  for (size_t i = 0; i < list->count; i++)
    if (list->valve[i].position == position)
      return;
  list->valve[list->count++] = (plag_valve_roles){.bank = bank, .position = position};
}

/* Adds the best position of `bank` (negative: of all), if there is one. */
static platelag_status add_position(const plag_recording *recording, const char *named, int bank,
                                    plag_valve_list *list, platelag_error *error) {
  const plag_candidates found =
      plag_candidates_find(recording, PLATELAG_ROLE_POSITION, named, bank, NULL);
  if (found.count == 0)
    return PLATELAG_OK;
  if (plag_candidates_ambiguous(&found))
    return plag_candidates_refuse_ambiguous(recording, &found, "position", error);
  const platelag_channel *position = found.candidate[0].channel;
  add_valve(list, position, bank > 0 ? bank : position->bank);
  return PLATELAG_OK;
}

/* A name given for all valves means one valve; a name given for one bank means that bank's. */
static platelag_status add_named(const plag_recording *recording, const platelag_spec *spec,
                                 plag_valve_list *list, platelag_error *error) {
  const char *common = platelag_spec_for_bank(spec, 0)->position;
  for (int bank = 1; bank <= 2; bank++) {
    const char *own = platelag_spec_for_bank(spec, bank)->position;
    if (own == NULL || same_text(own, common))
      continue;
    const size_t before = list->count;
    platelag_status status = add_position(recording, own, -1, list, error);
    if (status != PLATELAG_OK)
      return status;
    if (list->count > before)
      list->valve[before].bank = bank;
  }
  return common == NULL || list->count > 0 ? PLATELAG_OK
                                           : add_position(recording, common, -1, list, error);
}

platelag_status plag_roles_find_valves(const plag_recording *recording, const platelag_spec *spec,
                                       plag_valve_list *out, platelag_error *error) {
  *out = (plag_valve_list){0};
  platelag_status status = add_named(recording, spec, out, error);
  /* A position without a bank beside banked ones is most likely a mean or an old name of one. */
  for (int bank = 1; bank <= 2 && status == PLATELAG_OK; bank++) {
    bool settled = platelag_spec_for_bank(spec, 0)->position != NULL;
    for (size_t i = 0; i < out->count; i++)
      settled = settled || out->valve[i].bank == bank;
    if (!settled)
      status = add_position(recording, NULL, bank, out, error);
  }
  if (status == PLATELAG_OK && out->count == 0)
    status = add_position(recording, NULL, 0, out, error);
  /* The reader marks a column that was named by hand even where its name differs in writing. */
  if (status == PLATELAG_OK && out->count == 0)
    status = add_position(recording, NULL, -1, out, error);
  if (status == PLATELAG_OK && out->count == 0)
    status = plag_candidates_refuse_none(recording, "position", error);
  if (out->count == 2 && out->valve[0].bank > out->valve[1].bank) {
    const plag_valve_roles first = out->valve[0];
    out->valve[0] = out->valve[1];
    out->valve[1] = first;
  }
  return status;
}

/* Candidates of the valve's own bank, else of no bank, else (one command for all) of any. */
static plag_candidates candidates_for(const plag_recording *recording, platelag_role role,
                                      const char *named, const plag_valve_roles *valve) {
  plag_candidates found = {0};
  if (named != NULL)
    found = plag_candidates_find(recording, role, named, -1, valve->position);
  if (found.count == 0 && valve->bank > 0)
    found = plag_candidates_find(recording, role, NULL, valve->bank, valve->position);
  if (found.count == 0)
    found = plag_candidates_find(recording, role, NULL, 0, valve->position);
  if (found.count == 0)
    found = plag_candidates_find(recording, role, NULL, -1, valve->position);
  return found;
}

static void note_constant(const platelag_channel *left, const platelag_channel *taken,
                          plag_notes *notes) {
  plag_text text = {0};
  plag_text_add_format(&text, "\"%s\" never varies; \"%s\" was taken as the command", left->name,
                       taken->name);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

static void note_other_bank(const platelag_channel *taken, const plag_valve_roles *valve,
                            plag_notes *notes) {
  plag_text text = {0};
  plag_text_add_format(&text,
                       "\"%s\" is named for bank %d and was taken as the command of \"%s\" too, "
                       "which has none of its own; name its command where that is wrong",
                       taken->name, taken->bank, valve->position->name);
  plag_notes_add(notes, &text);
  plag_text_clear(&text);
}

/* Sets command and effort from the best of each kind (either may be NULL). */
static void take_command(const plag_candidate *duty, const plag_candidate *desired,
                         plag_valve_roles *valve, plag_notes *notes) {
  const bool both = duty != NULL && desired != NULL;
  if (both && !desired->varies && duty->varies) {
    valve->command = duty->channel;
    note_constant(desired->channel, duty->channel, notes);
  } else if (desired != NULL) {
    valve->command = desired->channel;
    valve->desired = true;
    valve->effort = both ? duty->channel : NULL;
  } else {
    valve->command = duty->channel;
  }
  if (valve->bank > 0 && valve->command->bank > 0 && valve->command->bank != valve->bank)
    note_other_bank(valve->command, valve, notes);
}

platelag_status plag_roles_find_command(const plag_recording *recording, const platelag_spec *spec,
                                        platelag_condition condition, plag_valve_roles *valve,
                                        plag_notes *notes, platelag_error *error) {
  if (condition == PLATELAG_CONDITION_HAND_SWEEP)
    return PLATELAG_OK; /* a hand turns the shaft: what is commanded has no say */
  const char *named = platelag_spec_for_bank(spec, valve->bank)->command;
  const plag_candidates duty = candidates_for(recording, PLATELAG_ROLE_COMMAND, named, valve);
  plag_candidates desired = {0};
  if (named == NULL)
    desired = candidates_for(recording, PLATELAG_ROLE_DESIRED, NULL, valve);
  if (desired.count == 0 && duty.count == 0) {
    if (condition == PLATELAG_CONDITION_REST)
      return PLATELAG_OK;
    return plag_candidates_refuse_none(recording, "command", error);
  }
  if (plag_candidates_ambiguous(&desired))
    return plag_candidates_refuse_ambiguous(recording, &desired, "command", error);
  if (desired.count == 0 && plag_candidates_ambiguous(&duty))
    return plag_candidates_refuse_ambiguous(recording, &duty, "command", error);
  take_command(duty.count > 0 ? &duty.candidate[0] : NULL,
               desired.count > 0 ? &desired.candidate[0] : NULL, valve, notes);
  return PLATELAG_OK;
}

const platelag_channel *plag_roles_find_auxiliary(const plag_recording *recording,
                                                  platelag_role role, int bank) {
  const platelag_channel *best = NULL;
  double best_score = 0.0;
  for (size_t i = 0; i < recording->channel_count; i++) {
    const platelag_channel *channel = recording->channel[i];
    if (channel->role != role || !channel->kept || channel->count == 0 || channel->present == 0)
      continue;
    if (bank > 0 && channel->bank > 0 && channel->bank != bank)
      continue;
    const double score = channel->role_score + (channel->bank == bank ? 1e-3 : 0.0);
    if (best == NULL || score > best_score) {
      best = channel;
      best_score = score;
    }
  }
  return best;
}
