/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "practice/export.h"

/* One row a quantity: its name in each language. */
static const char *const names[][PLAG_LANGUAGE_COUNT] = {
    [PLAG_QUANTITY_SPEED] = {"Engine speed", "Motordrehzahl", "R\u00e9gime moteur",
                             "R\u00e9gimen del motor"},
    [PLAG_QUANTITY_THROTTLE] = {"Throttle position", "Drosselklappenstellung", "Position papillon",
                                "Mariposa posici\u00f3n"},
    [PLAG_QUANTITY_LOAD] = {"Calculated load", "Motorlast", "Charge moteur",
                            "Carga calculada del motor"},
    [PLAG_QUANTITY_COOLANT] = {"Coolant temperature", "K\u00fchlmitteltemperatur",
                               "Temp\u00e9rature liquide de refroidissement",
                               "Temperatura del refrigerante"},
    [PLAG_QUANTITY_DUTY] = {"Intake runner duty", "Saugrohrklappe Tastverh\u00e4ltnis",
                            "Volet d'admission rapport cyclique",
                            "Trampilla de admisi\u00f3n ciclo de trabajo"},
    [PLAG_QUANTITY_SWITCH] = {"Intake runner command", "Saugrohrklappe Ansteuerung",
                              "Volet d'admission commande", "Trampilla de admisi\u00f3n mando"},
    [PLAG_QUANTITY_DESIRED] = {"Intake runner desired position", "Saugrohrklappe Sollwert",
                               "Volet d'admission consigne",
                               "Trampilla de admisi\u00f3n posici\u00f3n deseada"},
    [PLAG_QUANTITY_POSITION] = {"Intake runner position", "Saugrohrklappe Istposition",
                                "Volet d'admission position",
                                "Trampilla de admisi\u00f3n posici\u00f3n"},
    [PLAG_QUANTITY_PRESSURE] = {"Manifold pressure", "Saugrohrdruck", "Pression collecteur",
                                "Presi\u00f3n del colector"},
    [PLAG_QUANTITY_BATTERY] = {"Battery voltage", "Batteriespannung", "Tension batterie",
                               "Tensi\u00f3n de bater\u00eda"},
    [PLAG_QUANTITY_CURRENT] = {"Runner actuator current", "Stellmotorstrom",
                               "Courant actionneur volet", "Corriente del actuador"},
    [PLAG_QUANTITY_REFERENCE] = {"Sensor reference voltage", "Sensor Referenzspannung",
                                 "Tension de r\u00e9f\u00e9rence capteur",
                                 "Tensi\u00f3n de referencia del sensor"},
};

static const char *const banks[PLAG_LANGUAGE_COUNT] = {"bank", "Bank", "banc", "banco"};

/* Channels that have nothing to do with the valve, with their units. */
static const struct {
  const char *name, *unit;
} fillers[] = {{"Fuel trim B1", "%"},
               {"Fuel trim B2", "%"},
               {"Ignition advance", "deg"},
               {"Injector on-time", "ms"},
               {"Lambda B1S1", ""},
               {"Lambda B1S2", ""},
               {"Oil temperature", "\u00b0C"},
               {"Outside temperature", "\u00b0C"},
               {"Vehicle speed", "km/h"},
               {"Fuel rail pressure", "bar"},
               {"Knock retard", "deg"},
               {"Cam advance B1", "deg"},
               {"Exhaust temperature", "\u00b0C"},
               {"Fuel level", "%"},
               {"Alternator field", "%"},
               {"Gearbox temperature", "\u00b0C"}};
enum { FILLER_COUNT = sizeof fillers / sizeof fillers[0] };

void plag_export_channel_name(const plag_record_channel *channel, plag_export_language language,
                              plag_text *name) {
  if (channel->quantity == PLAG_QUANTITY_FILLER) {
    plag_text_add(name, fillers[channel->index % FILLER_COUNT].name);
    if (channel->index >= FILLER_COUNT)
      plag_text_add_format(name, " (%zu)", channel->index / FILLER_COUNT + 1);
    return;
  }
  plag_text_add(name, names[channel->quantity][language]);
  if (channel->bank > 0)
    plag_text_add_format(name, " %s %d", banks[language], channel->bank);
}

static const char *speed_unit(plag_export_language language) {
  static const char *const unit[PLAG_LANGUAGE_COUNT] = {"rpm", "1/min", "tr/min", "rpm"};
  return unit[language];
}

const char *plag_export_channel_unit(const plag_record_channel *channel,
                                     plag_export_language language) {
  switch (channel->quantity) {
  case PLAG_QUANTITY_SPEED:
    return speed_unit(language);
  case PLAG_QUANTITY_THROTTLE:
  case PLAG_QUANTITY_LOAD:
  case PLAG_QUANTITY_DUTY:
    return "%";
  case PLAG_QUANTITY_SWITCH:
    return "";
  case PLAG_QUANTITY_COOLANT:
    return "\u00b0C";
  case PLAG_QUANTITY_PRESSURE:
    return "kPa";
  case PLAG_QUANTITY_BATTERY:
  case PLAG_QUANTITY_REFERENCE:
    return "V";
  case PLAG_QUANTITY_CURRENT:
    return "A";
  case PLAG_QUANTITY_DESIRED:
  case PLAG_QUANTITY_POSITION:
    return channel->unit == PLAG_POSITION_VOLT        ? "V"
           : channel->unit == PLAG_POSITION_REFERENCE ? "% ref"
                                                      : "%";
  case PLAG_QUANTITY_FILLER:
    return fillers[channel->index % FILLER_COUNT].unit;
  }
  return "";
}

const char *plag_export_state_word(plag_export_language language, bool on) {
  static const char *const word[PLAG_LANGUAGE_COUNT][2] = {
      {"OFF", "ON"}, {"Aus", "Ein"}, {"Arr\u00eat", "Marche"}, {"Apagado", "Encendido"}};
  return word[language][on];
}

const char *plag_export_frame_word(plag_export_language language, plag_export_word word) {
  static const char *const words[PLAG_WORD_COUNT][PLAG_LANGUAGE_COUNT] = {
      [PLAG_WORD_TIME] = {"Time", "Zeit", "Temps", "Tiempo"},
      [PLAG_WORD_DATE] = {"Date", "Datum", "Date", "Fecha"},
      [PLAG_WORD_CHANNEL] = {"Channel", "Kanal", "Voie", "Canal"},
      [PLAG_WORD_VALUE] = {"Value", "Wert", "Valeur", "Valor"},
      [PLAG_WORD_UNIT] = {"Unit", "Einheit", "Unit\u00e9", "Unidad"},
      [PLAG_WORD_VEHICLE] = {"Vehicle", "Fahrzeug", "V\u00e9hicule", "Veh\u00edculo"}};
  return words[word][language];
}
