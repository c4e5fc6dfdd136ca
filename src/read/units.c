/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/units.h"

#include <string.h>
#include <strings.h>

#define VOLT    PLATELAG_UNIT_VOLT
#define PERCENT PLATELAG_UNIT_PERCENT
#define OTHER   PLATELAG_UNIT_OTHER

/* A new unit is one row. */
static const plag_unit_entry units[] = {
    {"V", VOLT, 1, 0},
    {"volt", VOLT, 1, 0},
    {"volts", VOLT, 1, 0},
    {"VDC", VOLT, 1, 0},
    {"mV", VOLT, 1e-3, 0},
    {"millivolt", VOLT, 1e-3, 0},
    {"millivolts", VOLT, 1e-3, 0},
    {"%", PERCENT, 1, 0},
    {"pct", PERCENT, 1, 0},
    {"percent", PERCENT, 1, 0},
    {"per cent", PERCENT, 1, 0},
    {"prozent", PERCENT, 1, 0},
    {"% DC", PERCENT, 1, 0},
    {"% open", PERCENT, 1, 0},
    {"% ref", PERCENT, 1, 0},
    {"%ref", PERCENT, 1, 0},
    {"pct ref", PERCENT, 1, 0},
    {"pct_ref", PERCENT, 1, 0},
    {"% Vref", PERCENT, 1, 0},
    {"% of ref", PERCENT, 1, 0},
    {"% of Vref", PERCENT, 1, 0},
    {"% of reference", PERCENT, 1, 0},
    {"% Referenz", PERCENT, 1, 0},
    {"% r\u00e9f", PERCENT, 1, 0},
    {"s", OTHER, 1, 1e9},
    {"sec", OTHER, 1, 1e9},
    {"secs", OTHER, 1, 1e9},
    {"second", OTHER, 1, 1e9},
    {"seconds", OTHER, 1, 1e9},
    {"sek", OTHER, 1, 1e9},
    {"sekunden", OTHER, 1, 1e9},
    {"secondes", OTHER, 1, 1e9},
    {"segundos", OTHER, 1, 1e9},
    {"ms", OTHER, 1, 1e6},
    {"msec", OTHER, 1, 1e6},
    {"millis", OTHER, 1, 1e6},
    {"milliseconds", OTHER, 1, 1e6},
    {"us", OTHER, 1, 1e3},
    {"usec", OTHER, 1, 1e3},
    {"micros", OTHER, 1, 1e3},
    {"microseconds", OTHER, 1, 1e3},
    {"\xC2\xB5s", OTHER, 1, 1e3},
    {"\xCE\xBCs", OTHER, 1, 1e3},
    {"ns", OTHER, 1, 1},
    {"min", OTHER, 1, 60e9},
    {"minutes", OTHER, 1, 60e9},
    {"h", OTHER, 1, 3600e9},
    {"hours", OTHER, 1, 3600e9},
    {"d", OTHER, 1, 86400e9},
    {"days", OTHER, 1, 86400e9},
    {"A", OTHER, 1, 0},
    {"mA", OTHER, 1, 0},
    {"W", OTHER, 1, 0},
    {"Hz", OTHER, 1, 0},
    {"kHz", OTHER, 1, 0},
    {"rpm", OTHER, 1, 0},
    {"1/min", OTHER, 1, 0},
    {"/min", OTHER, 1, 0},
    {"min-1", OTHER, 1, 0},
    {"U/min", OTHER, 1, 0},
    {"tr/min", OTHER, 1, 0},
    {"kPa", OTHER, 1, 0},
    {"hPa", OTHER, 1, 0},
    {"Pa", OTHER, 1, 0},
    {"bar", OTHER, 1, 0},
    {"mbar", OTHER, 1, 0},
    {"psi", OTHER, 1, 0},
    {"inHg", OTHER, 1, 0},
    {"g/s", OTHER, 1, 0},
    {"gm/s", OTHER, 1, 0},
    {"kg/h", OTHER, 1, 0},
    {"lb/min", OTHER, 1, 0},
    {"mg", OTHER, 1, 0},
    {"g", OTHER, 1, 0},
    {"kg", OTHER, 1, 0},
    {"mg/str", OTHER, 1, 0},
    {"mg/stroke", OTHER, 1, 0},
    {"mm3", OTHER, 1, 0},
    {"m3/h", OTHER, 1, 0},
    {"l/h", OTHER, 1, 0},
    {"l", OTHER, 1, 0},
    {"mm", OTHER, 1, 0},
    {"m", OTHER, 1, 0},
    {"km", OTHER, 1, 0},
    {"mi", OTHER, 1, 0},
    {"miles", OTHER, 1, 0},
    {"km/h", OTHER, 1, 0},
    {"kph", OTHER, 1, 0},
    {"mph", OTHER, 1, 0},
    {"m/s", OTHER, 1, 0},
    {"C", OTHER, 1, 0},
    {"F", OTHER, 1, 0},
    {"K", OTHER, 1, 0},
    {"deg", OTHER, 1, 0},
    {"degrees", OTHER, 1, 0},
    {"degC", OTHER, 1, 0},
    {"deg C", OTHER, 1, 0},
    {"degF", OTHER, 1, 0},
    {"deg F", OTHER, 1, 0},
    {"\xC2\xB0", OTHER, 1, 0},
    {"\xC2\xB0"
     "C",
     OTHER, 1, 0},
    {"\xC2\xB0 C", OTHER, 1, 0},
    {"\xC2\xB0"
     "F",
     OTHER, 1, 0},
    {"\xC2\xB0 F", OTHER, 1, 0},
    {"\xC2\xB0KW", OTHER, 1, 0},
    {"Nm", OTHER, 1, 0},
    {"kW", OTHER, 1, 0},
    {"Ohm", OTHER, 1, 0},
    {"kOhm", OTHER, 1, 0},
    {"lambda", OTHER, 1, 0},
    {"AFR", OTHER, 1, 0},
    {"counts", OTHER, 1, 0},
    {"steps", OTHER, 1, 0},
};

/* Single letters and "mV"-like pairs keep their case: A is not a, mW is not MW. */
static bool same(const char *row, const char *text, size_t length) {
  if (((*row ^ *text) & ~('a' - 'A')) != 0 || strlen(row) != length) /* most rows begin otherwise */
    return false;
  return memcmp(row, text, length) == 0 || (length > 1 && strncasecmp(row, text, length) == 0) ||
         (length == 1 && (*row == 'V' || *row == 's') && strncasecmp(row, text, 1) == 0);
}

const plag_unit_entry *plag_unit_find(const char *text, size_t length) {
  while (length > 0 && (*text == ' ' || *text == '[' || *text == '(')) {
    text++;
    length--;
  }
  while (length > 0 &&
         (text[length - 1] == ' ' || text[length - 1] == ']' || text[length - 1] == ')'))
    length--;
  if (length == 0)
    return NULL;
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
    if (same(units[i].text, text, length))
      return &units[i];
  return NULL;
}
