/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reader takes every channel of a practice capture, in every language, for what it is, and no
 * filler for a channel that matters. */
#include "support/check.h"

#include <string.h>

#include "practice/export.h"
#include "read/names.h"
#include "read/units.h"

static const struct {
  plag_quantity quantity;
  platelag_role role;
} roles[] = {
    {PLAG_QUANTITY_SPEED, PLATELAG_ROLE_ENGINE_SPEED},
    {PLAG_QUANTITY_THROTTLE, PLATELAG_ROLE_THROTTLE},
    {PLAG_QUANTITY_LOAD, PLATELAG_ROLE_LOAD},
    {PLAG_QUANTITY_COOLANT, PLATELAG_ROLE_COOLANT_TEMPERATURE},
    {PLAG_QUANTITY_DUTY, PLATELAG_ROLE_COMMAND},
    {PLAG_QUANTITY_SWITCH, PLATELAG_ROLE_COMMAND},
    {PLAG_QUANTITY_DESIRED, PLATELAG_ROLE_DESIRED},
    {PLAG_QUANTITY_POSITION, PLATELAG_ROLE_POSITION},
    {PLAG_QUANTITY_PRESSURE, PLATELAG_ROLE_MANIFOLD_PRESSURE},
    {PLAG_QUANTITY_BATTERY, PLATELAG_ROLE_BATTERY_VOLTAGE},
    {PLAG_QUANTITY_CURRENT, PLATELAG_ROLE_ACTUATOR_CURRENT},
    {PLAG_QUANTITY_REFERENCE, PLATELAG_ROLE_SENSOR_REFERENCE},
};
enum { ROLE_COUNT = sizeof roles / sizeof roles[0] };

static plag_name_match recognise(const plag_record_channel *channel, plag_export_language language,
                                 plag_text *name) {
  plag_text_reset(name);
  plag_export_channel_name(channel, language, name);
  const char *unit = plag_export_channel_unit(channel, language);
  const plag_unit_entry *entry = plag_unit_find(unit, strlen(unit));
  return plag_name_recognise(name->bytes, unit,
                             entry != NULL ? entry->unit : PLATELAG_UNIT_UNKNOWN);
}

static void each_channel_has_its_role(void **state) {
  (void)state;
  plag_text name = {0};
  for (size_t index = 0; index < ROLE_COUNT; index++)
    for (int language = 0; language < PLAG_LANGUAGE_COUNT; language++)
      for (int unit = PLAG_POSITION_VOLT; unit <= PLAG_POSITION_OPEN; unit++)
        for (int bank = 0; bank <= 2; bank++) {
          const bool banked = roles[index].quantity == PLAG_QUANTITY_DUTY ||
                              roles[index].quantity == PLAG_QUANTITY_SWITCH ||
                              roles[index].quantity == PLAG_QUANTITY_DESIRED ||
                              roles[index].quantity == PLAG_QUANTITY_POSITION;
          const plag_record_channel channel = {.quantity = roles[index].quantity,
                                               .unit = (plag_position_unit)unit,
                                               .bank = banked ? bank : 0};
          const plag_name_match match = recognise(&channel, (plag_export_language)language, &name);
          if (match.role != roles[index].role || match.bank != channel.bank)
            fail_msg("%s: role %d, bank %d (%s)", name.bytes, (int)match.role, match.bank,
                     match.reason);
        }
  plag_text_clear(&name);
}

static void no_filler_has_one(void **state) {
  (void)state;
  plag_text name = {0};
  for (size_t index = 0; index < 190; index++) {
    const plag_record_channel channel = {.quantity = PLAG_QUANTITY_FILLER, .index = index};
    const plag_name_match match = recognise(&channel, PLAG_LANGUAGE_ENGLISH, &name);
    if (match.role != PLATELAG_ROLE_NONE)
      fail_msg("%s: role %d (%s)", name.bytes, (int)match.role, match.reason);
  }
  plag_text_clear(&name);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_channel_has_its_role),
      cmocka_unit_test(no_filler_has_one),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
