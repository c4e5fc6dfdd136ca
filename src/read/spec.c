/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The spec. A new key is one row of `keys` and a field of platelag_valve_spec. */
#include "platelag/spec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"
#include "read/spec_keys.h"

typedef enum key_kind { KEY_TEXT, KEY_NUMBER } key_kind;

typedef struct spec_key {
  const char *name;
  key_kind kind;
  size_t offset; /* in platelag_valve_spec */
  double low, high;
} spec_key;

#define TEXT_KEY(field)                                                                            \
  { #field, KEY_TEXT, offsetof(platelag_valve_spec, field), 0, 0 }
#define NUMBER_KEY(field, low, high)                                                               \
  { #field, KEY_NUMBER, offsetof(platelag_valve_spec, field), low, high }

static const spec_key keys[] = {
    TEXT_KEY(command),
    TEXT_KEY(position),
    NUMBER_KEY(closed_v, -1e6, 1e6),
    NUMBER_KEY(open_v, -1e6, 1e6),
    NUMBER_KEY(reference_v, 0.1, 1000),
    NUMBER_KEY(tolerance_v, 0, 1000),
    NUMBER_KEY(high_limit_pct, 0, 100),
    NUMBER_KEY(low_limit_pct, 0, 100),
    NUMBER_KEY(hold_time_s, 0, 3600),
    NUMBER_KEY(t63_limit_s, 0.001, 3600), /* with none every valve would be slow */
    NUMBER_KEY(stick_band_limit_pct, 0, 100),
    NUMBER_KEY(short_travel_limit_pct, 0, 100),
    NUMBER_KEY(decide_at, 0.5, 1),
};
enum { KEY_COUNT = sizeof keys / sizeof keys[0] };
_Static_assert((int)KEY_COUNT == (int)PLAG_SPEC_KEYS,
               "the number of keys stands in spec_keys.h too");

static const platelag_valve_spec defaults = {
    .closed_v = NAN,
    .open_v = NAN,
    .reference_v = 5.0,
    .tolerance_v = 0.50,
    .high_limit_pct = 90,
    .low_limit_pct = 5,
    .hold_time_s = 0.5,
    .t63_limit_s = 0.70,
    .stick_band_limit_pct = 8,
    .short_travel_limit_pct = 12,
    .decide_at = 0.70,
};

static platelag_status refuse_key(const plag_ini_key *key, platelag_error *error) {
  plag_text list = {0};
  for (size_t i = 0; i < KEY_COUNT; i++)
    plag_text_add_format(&list, "%s%s", i > 0 ? ", " : "one of ", keys[i].name);
  const platelag_status status = plag_ini_refuse(
      key, "unknown key", key->name, list.bytes != NULL ? list.bytes : "a known key", error);
  plag_text_clear(&list);
  return status;
}

static int find_section(const char *section) {
  if (strcmp(section, "valve") == 0)
    return 0;
  if (strcmp(section, "valve bank 1") == 0)
    return 1;
  return strcmp(section, "valve bank 2") == 0 ? 2 : -1;
}

platelag_status plag_spec_take_key(void *context, const plag_ini_key *key, platelag_error *error) {
  plag_spec_given *reader = context;
  const int bank = find_section(key->section);
  if (bank < 0)
    return plag_ini_refuse(key, "a key in section", key->section,
                           "[valve], [valve bank 1] or [valve bank 2]", error);
  size_t index = 0;
  while (index < KEY_COUNT && strcmp(keys[index].name, key->name) != 0)
    index++;
  if (index == KEY_COUNT)
    return refuse_key(key, error);
  plag_spec_value *given = &reader->value[bank][index];
  if (given->line != 0)
    return plag_ini_refuse(key, "a second", key->name, "each key once in a section", error);
  if (*key->value == '\0')
    return plag_ini_refuse(key, "no value behind", key->name, "\"key = value\"", error);
  if (keys[index].kind == KEY_NUMBER) {
    const platelag_status status =
        plag_ini_number(key, keys[index].low, keys[index].high, &given->number, error);
    if (status != PLATELAG_OK)
      return status;
  }
  given->text = plag_arena_copy_text(&reader->spec->arena, key->value);
  given->line = key->line;
  return given->text != NULL ? PLATELAG_OK : plag_error_memory(error, "the spec");
}

static void apply(platelag_valve_spec *valve, const plag_spec_value given[KEY_COUNT]) {
  for (size_t i = 0; i < KEY_COUNT; i++) {
    if (given[i].line == 0)
      continue;
    char *field = (char *)valve + keys[i].offset;
    if (keys[i].kind == KEY_TEXT)
      memcpy(field, &given[i].text, sizeof given[i].text);
    else
      memcpy(field, &given[i].number, sizeof given[i].number);
    if (keys[i].offset == offsetof(platelag_valve_spec, reference_v))
      valve->reference_given = true;
  }
}

/* What can only be seen once all keys are there. */
static platelag_status check_whole(const platelag_valve_spec *valve, const char *path,
                                   platelag_error *error) {
  if (valve->closed_v == valve->open_v)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, 0, 0,
                          "closed_v and open_v are the same; expected two readings that differ");
  if (valve->low_limit_pct >= valve->high_limit_pct)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, path, 0, 0,
                          "low_limit_pct is not below high_limit_pct");
  return PLATELAG_OK;
}

platelag_status platelag_spec_create(platelag_spec **out, platelag_error *error) {
  *out = NULL;
  platelag_spec *spec = calloc(1, sizeof *spec);
  if (spec == NULL)
    return plag_error_memory(error, "the spec");
  for (size_t bank = 0; bank <= PLAG_SPEC_BANKS; bank++)
    spec->valve[bank] = defaults;
  *out = spec;
  return PLATELAG_OK;
}

platelag_status plag_spec_apply(const plag_spec_given *given, const char *path,
                                platelag_error *error) {
  platelag_status status = PLATELAG_OK;
  for (size_t bank = 0; bank <= PLAG_SPEC_BANKS && status == PLATELAG_OK; bank++) {
    apply(&given->spec->valve[bank], given->value[0]);
    if (bank > 0)
      apply(&given->spec->valve[bank], given->value[bank]);
    status = check_whole(&given->spec->valve[bank], path, error);
  }
  return status;
}

platelag_status platelag_spec_set(platelag_spec *spec, const char *key, const char *value,
                                  platelag_error *error) {
  plag_spec_given given = {.spec = spec};
  const plag_ini_key as_read = {.line = 1, .section = "valve", .name = key, .value = value};
  const platelag_status status = plag_spec_take_key(&given, &as_read, error);
  return status == PLATELAG_OK ? plag_spec_apply(&given, NULL, error) : status;
}

platelag_status platelag_spec_name_columns(platelag_spec *spec, const char *command,
                                           const char *position, platelag_error *error) {
  const char *names[2] = {command, position};
  for (size_t i = 0; i < 2; i++) {
    if (names[i] == NULL)
      continue;
    const char *copy = plag_arena_copy_text(&spec->arena, names[i]);
    if (copy == NULL)
      return plag_error_memory(error, "the spec");
    for (size_t bank = 0; bank <= PLAG_SPEC_BANKS; bank++)
      *(i == 0 ? &spec->valve[bank].command : &spec->valve[bank].position) = copy;
  }
  return PLATELAG_OK;
}

const platelag_valve_spec *platelag_spec_for_bank(const platelag_spec *spec, int bank) {
  return &spec->valve[bank >= 1 && bank <= PLAG_SPEC_BANKS ? bank : 0];
}

void platelag_spec_destroy(platelag_spec *spec) {
  if (spec == NULL)
    return;
  plag_arena_clear(&spec->arena);
  free(spec);
}
