/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The parts of a fit in their order (parts.h). Each writes its own fields of the fit; nothing is
 * carried otherwise. */
#include <stdlib.h>

#include "core/error.h"
#include "model/asked.h"
#include "model/held.h"
#include "model/loop.h"
#include "model/map.h"
#include "model/parts.h"
#include "model/steps.h"
#include "model/workspace.h"

struct plag_fit_store {
  plag_arena arena;
};

void platelag_fit_destroy(platelag_fit *fit) {
  if (!fit)
    return;
  plag_arena_clear(&fit->store->arena);
  free(fit->store);
  free(fit);
}

/* An empty fit with its store, or NULL. */
static platelag_fit *create(void) {
  platelag_fit *fit = calloc(1, sizeof *fit);
  if (!fit)
    return NULL;
  fit->store = calloc(1, sizeof *fit->store);
  if (fit->store)
    return fit;
  free(fit);
  return NULL;
}

/* Until modes.c has looked, every sample counts as following. */
static platelag_status prepare(plag_model *model, platelag_error *error) {
  plag_workspace_reset(model->workspace);
  model->mode = plag_workspace_take(model->workspace, model->trace->sample_count + 1, 1);
  if (!model->mode || !plag_asked_take(model))
    return plag_error_memory(error, "the samples of a trace");
  model->valid_count = model->trace->sample_count;
  model->noise_pct = 0.5;
  return PLATELAG_OK;
}

typedef platelag_status (*part)(plag_model *model, platelag_error *error);

static platelag_status fit_all(plag_model *model, platelag_error *error) {
  return plag_response_fit(model, false, error);
}

static platelag_status fit_without_held(plag_model *model, platelag_error *error) {
  return model->fit->held_count == 0 ? PLATELAG_OK : plag_response_fit(model, true, error);
}

static platelag_status finish_steps(plag_model *model, platelag_error *error) {
  (void)error;
  plag_steps_finish(model);
  return PLATELAG_OK;
}

/* Friction bends the map that the response was fitted with: with friction known it is put right. */
static platelag_status fit_friction(plag_model *model, platelag_error *error) {
  bool changed = false;
  platelag_status status = plag_friction_fit(model, error);
  if (status == PLATELAG_OK)
    status = plag_map_put_back_friction(model, &changed, error);
  return status;
}

/* Void readings first, since nothing else may see them; whether the loop is closed before held
 * intervals, which are told otherwise there; the response before them too, for they are what free
 * plates would not have done, and again without them; descriptions are compared, and rests measured
 * anew, by that second one. Friction needs to know where the plates went; once it is known, what
 * free plates would have done is known better.
 */
static const part parts[] = {
    prepare,
    plag_modes_find_void,
    plag_steps_measure,
    fit_all,
    plag_map_straighten,
    plag_travel_measure,
    plag_desired_set_map,
    plag_loop_look,
    plag_effort_find,
    plag_held_find,
    fit_without_held,
    plag_map_straighten,
    plag_scores_set,
    plag_travel_measure_rests,
    plag_desired_set_map,
    plag_held_find,
    fit_friction,
    plag_held_find,
    plag_loop_measure_effort,
    plag_spans_list,
    finish_steps,
    plag_warm_up_compare,
    plag_auxiliary_compare,
};

static platelag_status run_parts(plag_model *model, platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t i = 0; status == PLATELAG_OK && i < sizeof parts / sizeof parts[0]; i++)
    status = parts[i](model, error);
  return status;
}

platelag_status platelag_fit_build(const platelag_trace *trace, const platelag_valve_spec *spec,
                                   platelag_workspace *workspace, platelag_fit **out,
                                   platelag_error *error) {
  *out = NULL;
  platelag_fit *fit = create();
  if (!fit)
    return plag_error_memory(error, "a fit");
  plag_model model = {
      .trace = trace,
      .spec = spec,
      .workspace = workspace,
      .arena = &fit->store->arena,
      .fit = fit,
  };
  platelag_status status = run_parts(&model, error);
  if (status != PLATELAG_OK) {
    platelag_fit_destroy(fit);
    return status;
  }
  *out = fit;
  return PLATELAG_OK;
}
