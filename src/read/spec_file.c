/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A spec from a file. */
#include "read/spec_keys.h"

platelag_status platelag_spec_read(const char *path, platelag_spec **out, platelag_error *error) {
  *out = NULL;
  plag_spec_given given = {0};
  platelag_status status = platelag_spec_create(&given.spec, error);
  if (status != PLATELAG_OK)
    return status;
  status = plag_ini_read(path, "the spec", plag_spec_take_key, &given, error);
  if (status == PLATELAG_OK)
    status = plag_spec_apply(&given, path, error);
  if (status == PLATELAG_OK)
    *out = given.spec;
  else
    platelag_spec_destroy(given.spec);
  return status;
}
