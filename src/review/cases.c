/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which valves of which captures are the same one: that of the same bank. A capture that names no
 * bank speaks of the only valve there is. Runs of one file that bear different labels are
 * different vehicles. */
#include "review/cases.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"

/* One valve of one capture, and whose it is. */
typedef struct member {
  const platelag_review_capture *entry;
  platelag_review_valve *valve;
  const char *label; /* of the run, "" where a file is one run */
  int bank;
  bool taken;
} member;

static size_t count_valves(const platelag_review *review) {
  size_t count = 0;
  for (size_t i = 0; i < review->capture_count; i++)
    count += review->capture[i].valve_count;
  return count;
}

static const char *label_of(const platelag_review_capture *entry) {
  if (platelag_capture_run_count(entry->capture) < 2)
    return "";
  return platelag_capture_run_label(entry->capture, entry->run);
}

/* The review lends its valves as const and owns them: which case each belongs to is written here.
 */
static void list_members(const platelag_review *review, member *list) {
  for (size_t i = 0; i < review->capture_count; i++) {
    const platelag_review_capture *entry = &review->capture[i];
    for (size_t k = 0; k < entry->valve_count; k++)
      *list++ = (member){.entry = entry,
                         .valve = (platelag_review_valve *)&entry->valve[k],
                         .label = label_of(entry),
                         .bank = entry->valve[k].trace->bank};
  }
}

/* The only bank that any capture names; 0 when there is none or more than one. */
static int only_bank(const member *list, size_t count) {
  int bank = 0;
  for (size_t i = 0; i < count; i++) {
    if (list[i].bank == 0 || list[i].bank == bank)
      continue;
    if (bank != 0)
      return 0;
    bank = list[i].bank;
  }
  return bank;
}

/* "bank 1", or "bank 1 of LABEL" where the file holds several vehicles. */
static const char *name_of(plag_review_store *store, const member *first) {
  const char *valve = first->bank == 1   ? "bank 1"
                      : first->bank == 2 ? "bank 2"
                                         : first->valve->trace->valve;
  if (first->label[0] == '\0')
    return valve;
  return plag_arena_format(&store->arena, "%s of %s", valve, first->label);
}

static bool same_valve(const member *a, const member *b) {
  assert(a->label != NULL && b->label != NULL);
  return a->bank == b->bank && strcmp(a->label, b->label) == 0;
}

/* Judges what belongs together with `list[first]`, and marks it taken. */
static platelag_status judge_case(plag_review_store *store, const platelag_spec *spec,
                                  const platelag_circumstances *circumstances, member *list,
                                  size_t count, size_t first, platelag_case_input *input,
                                  platelag_error *error) {
  size_t inputs = 0;
  for (size_t i = first; i < count; i++) {
    if (list[i].taken || !same_valve(&list[i], &list[first]))
      continue;
    list[i].taken = true;
    list[i].valve->case_index = store->review.case_count;
    input[inputs++] = (platelag_case_input){.condition = list[i].entry->condition,
                                            .fit = list[i].valve->fit,
                                            .finding = list[i].valve->finding};
  }
  const char *name = name_of(store, &list[first]);
  if (name == NULL)
    return plag_error_memory(error, "the name of a valve");
  platelag_case *judged = NULL;
  platelag_status status =
      platelag_case_judge(name, input, inputs, platelag_spec_for_bank(spec, list[first].bank),
                          circumstances, &judged, error);
  if (status != PLATELAG_OK)
    return status;
  if (plag_review_add_case(store, judged))
    return PLATELAG_OK;
  platelag_case_destroy(judged);
  return plag_error_memory(error, "the list of cases");
}

platelag_status plag_review_judge_cases(plag_review_store *store, const platelag_spec *spec,
                                        const platelag_circumstances *circumstances,
                                        platelag_error *error) {
  const size_t count = count_valves(&store->review);
  member *list = calloc(count + 1, sizeof *list);
  platelag_case_input *input = calloc(count + 1, sizeof *input);
  platelag_status status = PLATELAG_OK;
  if (list == NULL || input == NULL) {
    status = plag_error_memory(error, "the cases of a review");
    goto cleanup;
  }
  list_members(&store->review, list);
  const int bank = only_bank(list, count);
  for (size_t i = 0; i < count; i++)
    if (list[i].bank == 0)
      list[i].bank = bank;
  for (size_t i = 0; i < count && status == PLATELAG_OK; i++)
    if (!list[i].taken)
      status = judge_case(store, spec, circumstances, list, count, i, input, error);
cleanup:
  free(input);
  free(list);
  return status;
}
