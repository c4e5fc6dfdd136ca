/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Headers as they are written in four languages are recognised with their role and bank; headers of
 * other parts, which look alike, are not taken for the valve's. The spellings are common terms of
 * the trade, no source. */
#include "support/check.h"

#include <string.h>

#include "read/column_name.h"
#include "read/names.h"
#include "read/units.h"

#define COM PLATELAG_ROLE_COMMAND
#define DES PLATELAG_ROLE_DESIRED
#define POS PLATELAG_ROLE_POSITION

typedef struct name_case {
  const char *header;
  platelag_role role;
  int bank;
} name_case;

/* Recognised with a score that the valve's columns need. */
static const name_case known[] = {
    /* English */
    {"Intake manifold runner control duty (%)", COM, 0},
    {"Intake Manifold Runner Position Sensor (V)", POS, 0},
    {"Manifold runner position, V", POS, 0},
    {"IMRC Duty Cycle [%]", COM, 0},
    {"IMRC command", COM, 0},
    {"IMRC CMD B2", COM, 2},
    {"IMRC_POS_B1_V", POS, 1},
    {"IMRC Pos. Bank 2 (mV)", POS, 2},
    {"IMRC Monitor (V)", POS, 0},
    {"imrc2 position (%)", POS, 2},
    {"ImrcActualPosition", POS, 0},
    {"IMRC desired position (%)", DES, 0},
    {"IMTV duty (%)", COM, 0},
    {"IMT valve position", POS, 0},
    {"Tumble valve target [%]", DES, 0},
    {"Tumble Flap Actual Position [%]", POS, 0},
    {"Tumble actuator feedback (V)", POS, 0},
    {"Swirl control valve DC %", COM, 0},
    {"Swirl Control Valve Position Voltage [V]", POS, 0},
    {"Runner control position (V)", POS, 0},
    {"Runner control (%)", COM, 0},
    {"Runner position control (%)", DES, 0},
    {"Inlet flap position (V)", POS, 0},
    {"Swirl valve position sensor bank 1 (V)", POS, 1},
    {"Swirl flap setpoint", DES, 0},
    {"Charge motion control valve cmd", COM, 0},
    {"CMCV position voltage (V)", POS, 0},
    {"CMCV PWM", COM, 0},
    {"Charge Motion Valve Pos B1", POS, 1},
    {"Intake tuning valve command", COM, 0},
    {"Manifold tuning valve position", POS, 0},
    {"Variable intake solenoid", COM, 0},
    {"Port deactivation feedback (V)", POS, 0},
    {"Intake flap opening (%)", POS, 0},
    {"Runner pos.", POS, 0},
    {"runner duty/%", COM, 0},
    {"RUNNER VALVE REQUESTED POSITION", DES, 0},
    /* German */
    {"Saugrohrklappe Tastverh\xC3\xA4ltnis (%)", COM, 0},
    {"Saugrohrklappe Tastverhaeltnis", COM, 0},
    {"Saugrohrklappe Stellung (V)", POS, 0},
    {"Saugrohrklappe Istwert", POS, 0},
    {"Saugrohrklappe Sollwert [%]", DES, 0},
    {"Saugrohrumschaltung Ansteuerung", COM, 0},
    {"Drallklappe Ist Bank 2 (%)", POS, 2},
    {"Drallklappe Soll (%)", DES, 0},
    {"Drallklappensteller TV [%]", COM, 0},
    {"Ladungsbewegungsklappe Lage (V)", POS, 0},
    {"Ladungsbewegungsklappe R\xC3\xBC"
     "ckmeldung",
     POS, 0},
    {"Tumbleklappe Potentiometer (V)", POS, 0},
    {"Schaltsaugrohr Ansteuerung", COM, 0},
    {"Einlassklappe Winkel", POS, 0},
    {"Wirbelklappe Geberspannung (V)", POS, 0},
    {"Resonanzklappe Vorgabe", DES, 0},
    /* French */
    {"Volet de swirl rapport cyclique (%)", COM, 0},
    {"Volet d'admission position (V)", POS, 0},
    {"RCO clapets admission (%)", COM, 0},
    {"Position clapets d'admission (V)", POS, 0},
    {"Mando mariposas colector admisi\xC3\xB3n (%)", COM, 0},
    {"Posici\xC3\xB3n mariposas del colector (V)", POS, 0},
    {"Volets d'admission consigne", DES, 0},
    {"Volet de turbulence commande (%)", COM, 0},
    {"Volet de turbulence recopie (V)", POS, 0},
    {"Collecteur variable RCO", COM, 0},
    {"Admission variable position mesur\xC3\xA9"
     "e",
     POS, 0},
    {"Clapet d'admission capteur (V)", POS, 0},
    {"Volet de turbulence position banc 2 (V)", POS, 2},
    {"Volet de turbulence position souhait\xC3\xA9"
     "e (%)",
     DES, 0},
    /* Spanish */
    {"Aletas de admisi\xC3\xB3n ciclo de trabajo (%)", COM, 0},
    {"Aletas de admisi\xC3\xB3n posici\xC3\xB3n (V)", POS, 0},
    {"Aletas posici\xC3\xB3n banco 1 (V)", POS, 1},
    {"Turbulencia v\xC3\xA1lvula mando", COM, 0},
    {"Colector variable posici\xC3\xB3n deseada (%)", DES, 0},
    {"Admisi\xC3\xB3n variable posici\xC3\xB3n real (%)", POS, 0},
    {"Mariposas de admisi\xC3\xB3n se\xC3\xB1"
     "al (V)",
     POS, 0},
    {"Trampilla de admisi\xC3\xB3n objetivo", DES, 0},
    {"V\xC3\xA1lvula de sintonizaci\xC3\xB3n posici\xC3\xB3n", POS, 0},
    /* what else is used */
    {"Engine speed (rpm)", PLATELAG_ROLE_ENGINE_SPEED, 0},
    {"RPM", PLATELAG_ROLE_ENGINE_SPEED, 0},
    {"Motordrehzahl [1/min]", PLATELAG_ROLE_ENGINE_SPEED, 0},
    {"R\xC3\xA9gime moteur (tr/min)", PLATELAG_ROLE_ENGINE_SPEED, 0},
    {"R\xC3\xA9gimen del motor (rpm)", PLATELAG_ROLE_ENGINE_SPEED, 0},
    {"Calculated load (%)", PLATELAG_ROLE_LOAD, 0},
    {"Intake manifold absolute pressure (kPa)", PLATELAG_ROLE_MANIFOLD_PRESSURE, 0},
    {"MAP (kPa)", PLATELAG_ROLE_MANIFOLD_PRESSURE, 0},
    {"Saugrohrdruck [hPa]", PLATELAG_ROLE_MANIFOLD_PRESSURE, 0},
    {"Mass air flow (g/s)", PLATELAG_ROLE_AIR_FLOW, 0},
    {"Throttle position (%)", PLATELAG_ROLE_THROTTLE, 0},
    {"Drosselklappenwinkel (%)", PLATELAG_ROLE_THROTTLE, 0},
    {"Coolant temperature (C)", PLATELAG_ROLE_COOLANT_TEMPERATURE, 0},
    {"K\xC3\xBChlmitteltemperatur", PLATELAG_ROLE_COOLANT_TEMPERATURE, 0},
    {"Battery voltage (V)", PLATELAG_ROLE_BATTERY_VOLTAGE, 0},
    {"Control module voltage (V)", PLATELAG_ROLE_BATTERY_VOLTAGE, 0},
    {"Sensor reference voltage (V)", PLATELAG_ROLE_SENSOR_REFERENCE, 0},
    {"IMRC actuator current (A)", PLATELAG_ROLE_ACTUATOR_CURRENT, 0},
    {"Actuator supply voltage (V)", PLATELAG_ROLE_ACTUATOR_SUPPLY, 0},
    {"Spannung Stellerversorgung (V)", PLATELAG_ROLE_ACTUATOR_SUPPLY, 0},
    {"IMRC driver status", PLATELAG_ROLE_DRIVER_STATE, 0},
    {"Stored trouble codes", PLATELAG_ROLE_STORED_CODE, 0},
};

/* Not the valve's: none of command, desired position or position. */
static const char *const others[] = {
    "Throttle position (%)",
    "Throttle position sensor voltage (V)",
    "Desired throttle position (%)",
    "ETC actual position",
    "Accelerator pedal position (%)",
    "APP sensor 1 (V)",
    "EGR valve position (%)",
    "EGR duty cycle (%)",
    "Desired EGR position (%)",
    "Wastegate duty (%)",
    "Turbo vane position (%)",
    "Boost pressure desired (kPa)",
    "Intake camshaft position (deg)",
    "VVT duty cycle bank 1 (%)",
    "Crankshaft position sensor",
    "Purge valve duty (%)",
    "EVAP purge command (%)",
    "Idle air control position (steps)",
    "Fuel pump duty (%)",
    "Fuel injector duty (%)",
    "Gear position",
    "Clutch pedal position",
    "Brake pedal position (V)",
    "Steering angle (deg)",
    "Fan duty (%)",
    "GPS position",
    "Commanded lambda",
    "O2 sensor bank 1 (V)",
    "Intake air temperature (C)",
    "Oil temperature sensor (V)",
    "Thermostat duty (%)",
    "Drosselklappe Stellung (%)",
    "Fahrpedalstellung (%)",
    "AGR-Ventil Tastverh\xC3\xA4ltnis (%)",
    "Ladedruck Sollwert (hPa)",
    "Nockenwelle Position Soll",
    "Lenkwinkel Ist",
    "Position p\xC3\xA9"
    "dale acc\xC3\xA9l\xC3\xA9rateur (%)",
    "Position papillon (%)",
    "Papillon consigne (%)",
    "Position arbre \xC3\xA0 cames (deg)",
    "Posici\xC3\xB3n mariposa (%)",
    "Posici\xC3\xB3n pedal acelerador (%)",
    "V\xC3\xA1lvula EGR posici\xC3\xB3n (%)",
    "Vehicle speed (km/h)",
    "Engine speed (rpm)",
    "Battery voltage (V)",
    "Short term fuel trim (%)",
    "Seat position",
    "Window position (%)",
    "Note",
    "Id",
};

/* As reading does: the unit taken off the header first. */
static plag_name_match recognise(const char *header) {
  plag_arena arena = {0};
  const char *name = NULL, *unit = NULL;
  const plag_cell cell = {header, strlen(header)};
  char *clean = plag_column_clean(&arena, cell);
  assert_non_null(clean);
  assert_true(plag_column_part(&arena, clean, &name, &unit));
  const plag_unit_entry *entry = plag_unit_find(unit, strlen(unit));
  const platelag_unit kind = entry != NULL     ? entry->unit
                             : unit[0] != '\0' ? PLATELAG_UNIT_OTHER
                                               : PLATELAG_UNIT_UNKNOWN;
  const plag_name_match match = plag_name_recognise(name, unit, kind);
  plag_arena_clear(&arena);
  return match;
}

static void headers_of_four_languages_are_recognised(void **state) {
  (void)state;
  size_t failed = 0;
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    const plag_name_match match = recognise(known[i].header);
    if (match.role == known[i].role && match.bank == known[i].bank && match.score >= 0.6)
      continue;
    failed++;
    print_error("%s: %s, bank %d, %d %% (%s)\n", known[i].header, platelag_role_name(match.role),
                match.bank, (int)(100 * match.score), match.reason);
  }
  assert_int_equal(failed, 0);
}

static void headers_of_other_parts_are_not_the_valve(void **state) {
  (void)state;
  size_t failed = 0;
  for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
    const plag_name_match match = recognise(others[i]);
    if (match.role != COM && match.role != DES && match.role != POS)
      continue;
    failed++;
    print_error("%s: taken for %s, %d %% (%s)\n", others[i], platelag_role_name(match.role),
                (int)(100 * match.score), match.reason);
  }
  assert_int_equal(failed, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(headers_of_four_languages_are_recognised),
      cmocka_unit_test(headers_of_other_parts_are_not_the_valve),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
