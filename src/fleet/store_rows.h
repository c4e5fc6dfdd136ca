/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A result as rows of the store's tables. */
#ifndef PLAG_FLEET_STORE_ROWS_H
#define PLAG_FLEET_STORE_ROWS_H

#include "fleet/database.h"
#include "fleet/result.h"

/* Writes a result in place of what was known of its content and its path; in a transaction, so that
 * all of it is written or nothing. */
platelag_status plag_store_put_rows(plag_database *database, const plag_result *result,
                                    platelag_error *error);

#endif
