/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a fleet says whose captures are: a manifest, a pattern, a path, and a list of paths, parted
 * by the record separator. */
#include "fuzz.h"

#include <string.h>

#include "fleet/manifest.h"
#include "fleet/pattern.h"
#include "fleet/search.h"

static void check_manifest(const plag_manifest *manifest) {
  for (size_t i = 0; i < manifest->file_count; i++) {
    const plag_manifest_row row = plag_manifest_row_at(manifest, i);
    plag_manifest_row found = {0};
    FUZZ_CHECK(row.file[0] != '\0' && row.line > 0);
    if (strchr(row.file, '/') == NULL) {
      FUZZ_CHECK(plag_manifest_find(manifest, row.file, &found));
      FUZZ_CHECK(found.line == row.line);
    }
  }
  for (size_t i = 0; i < manifest->repair_count; i++) {
    const plag_repair_row repair = plag_manifest_repair_at(manifest, i);
    FUZZ_CHECK(repair.vehicle[0] != '\0' && repair.what[0] != '\0');
  }
}

static void read_manifest(const fuzz_bytes *table, const char *path) {
  plag_manifest manifest = {0};
  platelag_error error = {0};
  fuzz_file file = fuzz_file_open(table);
  const platelag_status status = plag_manifest_read(file.path, &manifest, &error);
  fuzz_check_error(status, &error);
  if (status == PLATELAG_OK)
    check_manifest(&manifest);
  plag_manifest_row row;
  (void)plag_manifest_find(&manifest, path, &row);
  plag_manifest_clear(&manifest);
  fuzz_file_close(&file);
}

static bool lies_in(const char *text, size_t length, const char *path) {
  return length == 0 || (text >= path && text + length <= path + strlen(path));
}

static void match(const char *text, const char *path) {
  plag_pattern pattern;
  plag_pattern_match found;
  platelag_error error = {0};
  const platelag_status status = plag_pattern_read(text, &pattern, &error);
  fuzz_check_error(status, &error);
  if (status != PLATELAG_OK || !plag_pattern_match_path(&pattern, path, &found))
    return;
  FUZZ_CHECK(lies_in(found.vehicle, found.vehicle_length, path));
  FUZZ_CHECK(lies_in(found.engine, found.engine_length, path));
  FUZZ_CHECK(found.vehicle_length == 0 || memchr(found.vehicle, '/', found.vehicle_length) == NULL);
}

static bool take_file(void *context, const char *path) {
  (*(size_t *)context)++;
  return path[0] != '\0';
}

static bool take_trouble(void *context, const char *path, const char *why) {
  FUZZ_CHECK(path[0] != '\0' && why[0] != '\0');
  (*(size_t *)context)++;
  return true;
}

static void take_nothing(void *context) {
  (void)context;
}

/* Paths of the input would have the fuzzer read what it finds on the machine: each is made one that
 * is not there. */
static void search(const fuzz_bytes *part) {
  fuzz_bytes list = *part;
  plag_path_list paths = {0};
  plag_text text = {0};
  size_t seen = 0;
  for (size_t i = 0; i < list.size; i++) {
    if (i == 0 || list.data[i - 1] == '\n' || list.data[i - 1] == '\0')
      plag_text_add(&text, "/proc/self/fdinfo/none/");
    plag_text_add_char(&text, (char)list.data[i]);
  }
  if (text.bytes != NULL)
    paths = (plag_path_list){text.bytes, text.length};
  const plag_search_visitor visitor = {take_file, take_trouble, take_nothing, take_nothing, &seen};
  FUZZ_CHECK(plag_search_list(&paths, &visitor));
  FUZZ_CHECK(list.size == 0 || seen > 0);
  plag_text_clear(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  char pattern[512];
  char path[1024];
  fuzz_bytes rest = {data, size, 0};
  const fuzz_bytes table = fuzz_next_part(&rest);
  const fuzz_bytes pattern_part = fuzz_next_part(&rest);
  const fuzz_bytes path_part = fuzz_next_part(&rest);
  const fuzz_bytes list = fuzz_next_part(&rest);
  (void)fuzz_text(&path_part, path, sizeof path);
  read_manifest(&table, path);
  match(fuzz_text(&pattern_part, pattern, sizeof pattern), path);
  search(&list);
  return 0;
}
