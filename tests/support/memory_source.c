/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/memory_source.h"

#include <string.h>

#include "support/check.h"
#include "support/chunk_source.h"

platelag_status plag_test_read_bytes(const char *bytes, size_t size,
                                     const platelag_read_options *options, platelag_capture **out,
                                     platelag_error *error) {
  plag_test_chunks chunks = {.bytes = bytes, .size = size > 0 ? size : strlen(bytes)};
  const platelag_source source = plag_test_chunk_source(&chunks);
  platelag_read_options named = options != NULL ? *options : (platelag_read_options){0};
  if (named.display_name == NULL)
    named.display_name = "memory.csv";
  return platelag_capture_read_source(&source, &named, out, error);
}

const platelag_channel *plag_test_channel(const platelag_capture *capture, const char *name) {
  for (size_t i = 0; i < platelag_capture_channel_count(capture); i++) {
    const platelag_channel *channel = platelag_capture_channel_at(capture, i);
    if (strcmp(channel->name, name) == 0)
      return channel;
  }
  fail_msg("no channel is named \"%s\"", name);
  return NULL;
}
