/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/search.h"

#include <dirent.h>
#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/array.h"
#include "core/error.h"
#include "core/text.h"

static bool ends_with(const char *name, size_t length, const char *end) {
  const size_t bytes = strlen(end);
  return length > bytes && strncasecmp(name + length - bytes, end, bytes) == 0;
}

static bool is_capture_name(const char *name) {
  static const char *const packed[] = {".gz", ".zst"};
  static const char *const ends[] = {".csv", ".tsv", ".txt"};
  size_t length = strlen(name);
  for (size_t i = 0; i < sizeof packed / sizeof packed[0]; i++)
    if (ends_with(name, length, packed[i])) {
      length -= strlen(packed[i]);
      break;
    }
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
    if (ends_with(name, length, ends[i]))
      return true;
  return false;
}

/* Folders found in a folder, gone into when it is closed, so that deep trees need no more handles
 * than flat ones. */
typedef struct names {
  char *bytes; /* one after the other, terminated */
  size_t length, capacity;
} names;

static bool keep_name(names *list, const char *name) {
  const size_t bytes = strlen(name) + 1;
  if (!plag_array_reserve((void **)&list->bytes, &list->capacity, list->length + bytes, 1))
    return false;
  memcpy(list->bytes + list->length, name, bytes);
  list->length += bytes;
  return true;
}

typedef struct walker {
  const plag_search_visitor *visitor;
  plag_text path; /* of where it is */
} walker;

static bool trouble(const walker *w, const char *path, const char *why) {
  return w->visitor->trouble(w->visitor->context, path, why);
}

/* False: the walk ends. */
static bool no_memory(const walker *w) {
  w->visitor->no_memory(w->visitor->context);
  return false;
}

static bool set_path(walker *w, size_t folder_length, const char *name) {
  w->path.length = folder_length;
  w->path.bytes[folder_length] = '\0';
  if (folder_length > 0 && w->path.bytes[folder_length - 1] != '/')
    plag_text_add_char(&w->path, '/');
  plag_text_add(&w->path, name);
  return !w->path.failed;
}

/* One name of a folder: visited, kept for later or passed over. */
static bool visit_entry(walker *w, size_t folder_length, const char *name, names *folders) {
  struct stat is;
  if (name[0] == '.')
    return true;
  if (!set_path(w, folder_length, name))
    return no_memory(w);
  if (lstat(w->path.bytes, &is) != 0)
    return errno == ENOENT || trouble(w, w->path.bytes, strerror(errno));
  if (S_ISDIR(is.st_mode))
    return keep_name(folders, name) || no_memory(w);
  if (S_ISLNK(is.st_mode) && (stat(w->path.bytes, &is) != 0 || S_ISDIR(is.st_mode)))
    return true;
  if (S_ISREG(is.st_mode) && is_capture_name(name))
    return w->visitor->file(w->visitor->context, w->path.bytes);
  w->visitor->left_out(w->visitor->context);
  return true;
}

static bool walk_folder(walker *w);

static bool walk_folders(walker *w, size_t folder_length, const names *folders) {
  bool on = true;
  for (size_t at = 0; at < folders->length && on; at += strlen(folders->bytes + at) + 1)
    on = set_path(w, folder_length, folders->bytes + at) ? walk_folder(w) : no_memory(w);
  return on;
}

/* The entries of an open folder; one that cannot be read to its end is told. */
static bool visit_entries(walker *w, DIR *folder, size_t folder_length, names *folders) {
  for (;;) {
    errno = 0;
    const struct dirent *entry = readdir(folder);
    if (entry == NULL) {
      const int why = errno;
      w->path.bytes[folder_length] = '\0';
      return why == 0 || trouble(w, w->path.bytes, strerror(why));
    }
    if (!visit_entry(w, folder_length, entry->d_name, folders))
      return false;
  }
}

/* The folder that the path names; the path is the same afterwards. */
static bool walk_folder(walker *w) { /* NOLINT(misc-no-recursion): as deep as the tree, whose paths
                                        the system bounds */
  const size_t length = w->path.length;
  DIR *folder = opendir(w->path.bytes);
  if (folder == NULL)
    return trouble(w, w->path.bytes, strerror(errno));
  names folders = {0};
  bool on = visit_entries(w, folder, length, &folders);
  (void)closedir(folder);
  on = on && walk_folders(w, length, &folders);
  free(folders.bytes);
  w->path.length = length;
  w->path.bytes[length] = '\0';
  return on;
}

bool plag_search(const char *path, const plag_search_visitor *visitor) {
  walker w = {.visitor = visitor};
  struct stat is;
  bool on = true;
  plag_text_add(&w.path, path);
  if (w.path.failed)
    on = no_memory(&w);
  else if (stat(path, &is) != 0)
    on = trouble(&w, path, strerror(errno));
  else if (S_ISDIR(is.st_mode))
    on = walk_folder(&w);
  else
    on = visitor->file(visitor->context, path);
  plag_text_clear(&w.path);
  return on;
}

/* Waits until the handle has something to read, or its end. False: stopped. */
static bool wait_for_bytes(int handle, bool (*stopped)(void *context), void *context) {
  enum { ASK_EVERY_MS = 200 };
  struct pollfd on = {.fd = handle, .events = POLLIN};
  int ready = 0;
  while (ready == 0 || (ready < 0 && errno == EINTR)) {
    if (stopped != NULL && stopped(context))
      return false;
    ready = poll(&on, 1, ASK_EVERY_MS);
  }
  return true;
}

platelag_status plag_path_list_read(int handle, bool (*stopped)(void *context), void *context,
                                    plag_path_list *out, platelag_error *error) {
  size_t capacity = 0;
  *out = (plag_path_list){0};
  for (;;) {
    enum { STEP = 65536 };
    if (!wait_for_bytes(handle, stopped, context)) {
      plag_path_list_clear(out);
      return PLATELAG_OK;
    }
    if (!plag_array_reserve((void **)&out->bytes, &capacity, out->length + STEP + 1, 1))
      return plag_error_memory(error, "the list of files");
    const ssize_t got = read(handle, out->bytes + out->length, STEP);
    if (got < 0 && errno == EINTR)
      continue;
    if (got < 0)
      return plag_error_set(error, PLATELAG_ERROR_IO, NULL, 0, 0, "the list of files: %s",
                            strerror(errno));
    out->length += (size_t)got;
    out->bytes[out->length] = '\0';
    if (got == 0)
      return PLATELAG_OK;
  }
}

void plag_path_list_clear(plag_path_list *list) {
  free(list->bytes);
  *list = (plag_path_list){0};
}

static bool search_path(const plag_text *path, const plag_search_visitor *visitor) {
  const walker w = {.visitor = visitor};
  return path->failed ? no_memory(&w) : plag_search(path->bytes, visitor);
}

bool plag_search_list(const plag_path_list *list, const plag_search_visitor *visitor) {
  const bool by_nul = list->length > 0 && memchr(list->bytes, '\0', list->length) != NULL;
  plag_text path = {0};
  bool on = true;
  for (size_t at = 0; at < list->length && on;) {
    const char *end = memchr(list->bytes + at, by_nul ? '\0' : '\n', list->length - at);
    const size_t whole = end != NULL ? (size_t)(end - (list->bytes + at)) : list->length - at;
    size_t bytes = whole;
    if (!by_nul && bytes > 0 && list->bytes[at + bytes - 1] == '\r')
      bytes--;
    plag_text_reset(&path);
    plag_text_add_bytes(&path, list->bytes + at, bytes);
    if (bytes > 0)
      on = search_path(&path, visitor);
    at += whole + 1;
  }
  plag_text_clear(&path);
  return on;
}
