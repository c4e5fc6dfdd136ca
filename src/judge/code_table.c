/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/code_table.h"

#include <strings.h>

#define RUNNER "Intake Manifold Runner "
#define SENSOR "Intake Manifold Runner Position Sensor/Switch "

static const plag_code_row row[] = {
    {"P2004", RUNNER "Control Stuck Open Bank 1", 1, PLAG_CLAIM_STUCK_OPEN, 1},
    {"P2005", RUNNER "Control Stuck Open Bank 2", 2, PLAG_CLAIM_STUCK_OPEN, 1},
    {"P2006", RUNNER "Control Stuck Closed Bank 1", 1, PLAG_CLAIM_STUCK_CLOSED, 1},
    {"P2007", RUNNER "Control Stuck Closed Bank 2", 2, PLAG_CLAIM_STUCK_CLOSED, 1},
    {"P2008", RUNNER "Control Circuit/Open Bank 1", 1, PLAG_CLAIM_CONTROL_CIRCUIT, 1},
    {"P2009", RUNNER "Control Circuit Low Bank 1", 1, PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P2010", RUNNER "Control Circuit High Bank 1", 1, PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P2011", RUNNER "Control Circuit/Open Bank 2", 2, PLAG_CLAIM_CONTROL_CIRCUIT, 1},
    {"P2012", RUNNER "Control Circuit Low Bank 2", 2, PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P2013", RUNNER "Control Circuit High Bank 2", 2, PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P200A", RUNNER "Performance Bank 1", 1, PLAG_CLAIM_PERFORMANCE, 1},
    {"P200B", RUNNER "Performance Bank 2", 2, PLAG_CLAIM_PERFORMANCE, 1},
    {"P2014", SENSOR "Circuit Bank 1", 1, PLAG_CLAIM_SENSOR_CIRCUIT, 0},
    {"P2015", SENSOR "Circuit Range/Performance Bank 1", 1, PLAG_CLAIM_SENSOR_PERFORMANCE, 1},
    {"P2016", SENSOR "Circuit Low Bank 1", 1, PLAG_CLAIM_SENSOR_LOW, 1},
    {"P2017", SENSOR "Circuit High Bank 1", 1, PLAG_CLAIM_SENSOR_HIGH, 1},
    {"P2018", SENSOR "Circuit Intermittent Bank 1", 1, PLAG_CLAIM_SENSOR_INTERMITTENT, 1},
    {"P2019", SENSOR "Circuit Bank 2", 2, PLAG_CLAIM_SENSOR_CIRCUIT, 0},
    {"P2020", SENSOR "Circuit Range/Performance Bank 2", 2, PLAG_CLAIM_SENSOR_PERFORMANCE, 1},
    {"P2021", SENSOR "Circuit Low Bank 2", 2, PLAG_CLAIM_SENSOR_LOW, 1},
    {"P2022", SENSOR "Circuit High Bank 2", 2, PLAG_CLAIM_SENSOR_HIGH, 1},
    {"P2023", SENSOR "Circuit Intermittent Bank 2", 2, PLAG_CLAIM_SENSOR_INTERMITTENT, 1},
    {"P0641", "Sensor Reference Voltage A Circuit/Open", 0, PLAG_CLAIM_REFERENCE, 0},
    {"P0642", "Sensor Reference Voltage A Circuit Low", 0, PLAG_CLAIM_REFERENCE_LOW, 1},
    {"P0643", "Sensor Reference Voltage A Circuit High", 0, PLAG_CLAIM_REFERENCE_HIGH, 1},
    {"P0651", "Sensor Reference Voltage B Circuit/Open", 0, PLAG_CLAIM_REFERENCE, 0},
    {"P0652", "Sensor Reference Voltage B Circuit Low", 0, PLAG_CLAIM_REFERENCE_LOW, 0},
    {"P0653", "Sensor Reference Voltage B Circuit High", 0, PLAG_CLAIM_REFERENCE_HIGH, 0},
    {"P0657", "Actuator Supply Voltage A Circuit/Open", 0, PLAG_CLAIM_SUPPLY, 0},
    {"P0658", "Actuator Supply Voltage A Circuit Low", 0, PLAG_CLAIM_SUPPLY_LOW, 1},
    {"P0659", "Actuator Supply Voltage A Circuit High", 0, PLAG_CLAIM_SUPPLY_HIGH, 1},
    {"P0660", "Intake Manifold Tuning Valve Control Circuit Bank 1", 1, PLAG_CLAIM_CONTROL_CIRCUIT,
     0},
    {"P0661", "Intake Manifold Tuning Valve Control Circuit Low Bank 1", 1,
     PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P0662", "Intake Manifold Tuning Valve Control Circuit High Bank 1", 1,
     PLAG_CLAIM_CONTROL_SHORTED, 0},
    {"P2070", "Intake Manifold Tuning (IMT) Valve Stuck Open Bank 1", 1, PLAG_CLAIM_STUCK_OPEN, 0},
    {"P2071", "Intake Manifold Tuning (IMT) Valve Stuck Closed Bank 1", 1, PLAG_CLAIM_STUCK_CLOSED,
     0},
};

size_t plag_code_count(void) {
  return sizeof row / sizeof row[0];
}
const plag_code_row *plag_code_at(size_t index) {
  return &row[index];
}

const plag_code_row *plag_code_find(const char *code) {
  for (size_t i = 0; i < plag_code_count(); i++)
    if (strcasecmp(row[i].code, code) == 0)
      return &row[i];
  return NULL;
}
