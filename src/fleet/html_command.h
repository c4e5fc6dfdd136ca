/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words of the page that machines read: the command that makes a capture's own report, and where
 * the report lies. */
#ifndef PLAG_FLEET_HTML_COMMAND_H
#define PLAG_FLEET_HTML_COMMAND_H

#include "core/text.h"
#include "platelag/fleet.h"

/* Adds a word as a POSIX shell takes it: bare where that is harmless, else in single quotes (POSIX
 * 1003.1-2017, Shell Command Language, 2.2.2). */
void plag_shell_word_add(plag_text *out, const char *word);

/* Adds a store's name without the password that a server's may hold. */
void plag_store_name_add(plag_text *out, const char *store);

/* Adds a relative path as an address: all but unreserved characters and slashes in percent form
 * (RFC 3986), "./" before, so that no part of it can be taken for a scheme or a host. */
void plag_address_add(plag_text *out, const char *path);

/* The command before a capture's key and behind it; with a folder the key comes twice. All are
 * empty where the page was told of no store. */
typedef struct plag_capture_command {
  plag_text before, between, after;
} plag_capture_command;
void plag_capture_command_make(const platelag_fleet_page *page, plag_capture_command *out);
void plag_capture_command_clear(plag_capture_command *command);

#endif
