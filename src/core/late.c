/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/late.h"

#include <dlfcn.h>
#include <string.h>

bool plag_late_load(const char *file, const char *const *name, size_t count, void *calls) {
  void *library = dlopen(file, RTLD_NOW | RTLD_LOCAL);
  bool whole = library != NULL;
  for (size_t k = 0; whole && k < count; k++) {
    void *symbol = dlsym(library, name[k]);
    /* POSIX: a pointer to a function has the size of one to an object. */
    memcpy((char *)calls + k * sizeof symbol, &symbol, sizeof symbol);
    whole = symbol != NULL;
  }
  return whole;
}
