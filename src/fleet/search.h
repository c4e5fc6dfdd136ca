/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which files are captures: folders searched through, files named one by one, and lists of them. */
#ifndef PLAG_FLEET_SEARCH_H
#define PLAG_FLEET_SEARCH_H

#include <stdbool.h>
#include <stddef.h>

#include "platelag/status.h"

/* What is done with what is found. False from `file` or `trouble`: the walk ends. */
typedef struct plag_search_visitor {
  bool (*file)(void *context, const char *path);
  bool (*trouble)(void *context, const char *path, const char *why);
  void (*left_out)(void *context);  /* a file that is no capture by its name */
  void (*no_memory)(void *context); /* the walk ends without having seen all */
  void *context;
} plag_search_visitor;

/* A list of paths, one a line or ended by NUL, read whole. Who writes it may take long: `stopped`
 * (or NULL) is asked meanwhile, and where it says true the list is empty. */
typedef struct plag_path_list {
  char *bytes;
  size_t length;
} plag_path_list;
platelag_status plag_path_list_read(int handle, bool (*stopped)(void *context), void *context,
                                    plag_path_list *out, platelag_error *error);
void plag_path_list_clear(plag_path_list *list);

/* Visits `path`: a folder is searched through, whatever else is visited as it is. Links to folders
 * are not followed, hidden names are passed over, and inside folders only names that end as
 * captures do are taken: .csv .tsv .txt, also with .gz or .zst behind. Nothing is kept but the
 * names of the folders that lead to where it is. False: the visitor, or memory, ended it. */
bool plag_search(const char *path, const plag_search_visitor *visitor);

/* Visits each path of a list in the same way. */
bool plag_search_list(const plag_path_list *list, const plag_search_visitor *visitor);

#endif
