/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From recorded levels to travel: the unit, the two stops, and which way the sensor counts. */
#ifndef PLAG_LINE_UP_SCALE_H
#define PLAG_LINE_UP_SCALE_H

#include "line_up/notes.h"
#include "platelag/trace.h"

/* Decides level_unit and volts_per_level from the position's unit, name and values, and the sensor
 * reference from spec or channel. Needs the trace's samples. */
void plag_unit_decide(platelag_trace *trace, const platelag_valve_spec *spec, plag_notes *notes);

/* Sets closed_level, open_level, scale, inverted. Needs the trace's samples, segments, command and
 * unit; may correct the unit of a position in % that cannot be % open. */
void plag_scale_set(platelag_trace *trace, const platelag_valve_spec *spec, plag_notes *notes);

/* Sets volts_per_level from level_unit and reference_v. */
void plag_unit_set_volts(platelag_trace *trace);

/* "V", "%" or "" for sentences. */
const char *plag_unit_text(platelag_level_unit unit);

#endif
