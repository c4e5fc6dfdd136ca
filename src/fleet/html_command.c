/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/html_command.h"

#include <string.h>

#include "fleet/database.h"

#define LETTERS_AND_DIGITS "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
static const char unreserved[] = LETTERS_AND_DIGITS "-._~/"; /* RFC 3986, 2.3, and the slash */
static const char bare[] = LETTERS_AND_DIGITS "-._~/:@%+=,";

static void add_quoted(plag_text *out, const char *word) {
  for (; *word != '\0'; word++)
    if (*word == '\'')
      plag_text_add(out, "'\\''");
    else
      plag_text_add_char(out, *word);
}

/* Characters that no shell reads anything into; a "~" at the front would be a home. */
static bool is_bare(const char *word) {
  return word[0] != '\0' && word[0] != '~' && word[strspn(word, bare)] == '\0';
}

void plag_shell_word_add(plag_text *out, const char *word) {
  if (is_bare(word)) {
    plag_text_add(out, word);
    return;
  }
  plag_text_add_char(out, '\'');
  add_quoted(out, word);
  plag_text_add_char(out, '\'');
}

/* The parameters of an address but for a password. */
static void add_parameters(plag_text *out, const char *from) {
  static const char password[] = "password=";
  bool any = false;
  while (*from != '\0') {
    const size_t length = strcspn(from, "&");
    if (strncmp(from, password, sizeof password - 1) != 0) {
      plag_text_add_char(out, any ? '&' : '?');
      plag_text_add_bytes(out, from, length);
      any = true;
    }
    from += length + (from[length] == '&');
  }
}

void plag_store_name_add(plag_text *out, const char *store) {
  if (!plag_database_is_url(store)) {
    plag_text_add(out, store);
    return;
  }
  const char *host = strstr(store, "://") + 3;
  const char *end = host + strcspn(host, "/?");
  const char *at = end;
  while (at > host && at[-1] != '@')
    at--;
  const char *query = end + strcspn(end, "?");
  const size_t user = strcspn(host, ":@/?");
  plag_text_add_bytes(out, store, (size_t)(host - store));
  if (at > host) {
    plag_text_add_bytes(out, host, user);
    plag_text_add_char(out, '@');
  }
  plag_text_add_bytes(out, at, (size_t)(query - at));
  if (*query == '?')
    add_parameters(out, query + 1);
}

void plag_address_add(plag_text *out, const char *path) {
  plag_text_add(out, "./");
  for (; *path != '\0'; path++)
    if (strchr(unreserved, *path) != NULL)
      plag_text_add_char(out, *path);
    else
      plag_text_add_format(out, "%%%02X", (unsigned)(unsigned char)*path);
}

static void add_word(plag_text *out, const char *word) {
  plag_text_add_char(out, ' ');
  plag_shell_word_add(out, word);
}

/* " --html FOLDER/" and ".html", with quotes around both where the folder needs them. */
static void add_place(const char *place, plag_capture_command *out) {
  const bool plain = is_bare(place);
  plag_text_add(&out->between, plain ? " --html " : " --html '");
  if (plain)
    plag_text_add(&out->between, place);
  else
    add_quoted(&out->between, place);
  plag_text_add_char(&out->between, '/');
  plag_text_add(&out->after, plain ? ".html" : ".html'");
}

void plag_capture_command_make(const platelag_fleet_page *page, plag_capture_command *out) {
  *out = (plag_capture_command){0};
  if (page->store == NULL)
    return;
  plag_text store = {0};
  plag_store_name_add(&store, page->store);
  plag_text_add(&out->before, "platelag fleet --store");
  add_word(&out->before, store.bytes != NULL ? store.bytes : "");
  for (size_t i = 0; i < page->word_count; i++)
    add_word(&out->before, page->word[i]);
  plag_text_add(&out->before, " --capture ");
  if (page->folder != NULL)
    add_place(page->place != NULL ? page->place : page->folder, out);
  out->before.failed = out->before.failed || store.failed;
  plag_text_clear(&store);
}

void plag_capture_command_clear(plag_capture_command *command) {
  plag_text_clear(&command->before);
  plag_text_clear(&command->between);
  plag_text_clear(&command->after);
}
