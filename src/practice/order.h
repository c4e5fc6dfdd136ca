/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an order makes before it is written in a layout. */
#ifndef PLAG_PRACTICE_ORDER_H
#define PLAG_PRACTICE_ORDER_H

#include "platelag/practice.h"
#include "practice/record.h"

/* Drives the vehicle of an order and records it; its layout is not looked at, for plag_export_write
 * writes the record in any. The caller clears the record; on failure it is empty. */
platelag_status plag_order_record(const platelag_practice_order *order, plag_record *out,
                                  platelag_error *error);

#endif
