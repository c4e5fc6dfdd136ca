/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A damaged store, or another file in its place: opened, ranked, written in every format, merged
 * into a new one. Errors are told; what SQLite accepts as a store may be anything else. */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "fuzz.h"

static const char *folder(void) {
  return access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
}

/* SQLite wants a file with a name of its own, beside which it may put others. */
static void put_file(const char *path, const uint8_t *data, size_t size) {
  const int handle = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  FUZZ_CHECK(handle >= 0);
  FUZZ_CHECK(write(handle, data, size) == (ssize_t)size);
  (void)close(handle);
}

static void remove_store(const char *path) {
  static const char *const ends[] = {"", "-wal", "-shm", "-journal"};
  char name[96];
  for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
    (void)snprintf(name, sizeof name, "%s%s", path, ends[i]);
    (void)unlink(name);
  }
}

static void write_logs(const platelag_fleet *fleet) {
  for (size_t i = 0; i < fleet->valve_count && i < 4; i++) {
    platelag_fleet_logs *logs = NULL;
    platelag_error error = {0};
    const platelag_status status = platelag_fleet_logs_build(fleet, i, &logs, &error);
    fuzz_check_error(status, &error);
    FUZZ_CHECK((logs != NULL) == (status == PLATELAG_OK));
    platelag_fleet_logs_destroy(logs);
  }
}

/* The store is read again while some are written: any of them may find it damaged. */
static void write_reports(const platelag_fleet *fleet) {
  static platelag_status (*const writers[])(const platelag_fleet *, const platelag_sink *,
                                            platelag_error *) = {
      platelag_fleet_write_csv, platelag_fleet_write_jsonl, platelag_fleet_write_metrics};
  static const platelag_fleet_page page = {.store = "fuzz.db"};
  plag_text text = {0};
  const platelag_sink sink = fuzz_sink(&text);
  platelag_error error = {0};
  fuzz_check_error(platelag_fleet_write_text(fleet, NULL, 0, &sink, &error), &error);
  if (text.length > 0)
    fuzz_check_output(&text);
  for (size_t i = 0; i < sizeof writers / sizeof writers[0]; i++) {
    error = (platelag_error){0};
    fuzz_check_error(writers[i](fleet, &sink, &error), &error);
  }
  error = (platelag_error){0};
  fuzz_check_error(platelag_fleet_write_html(fleet, &page, &sink, &error), &error);
  plag_text_clear(&text);
}

static void rank(platelag_fleet_store *store) {
  platelag_fleet *fleet = NULL;
  platelag_error error = {0};
  const platelag_status status = platelag_fleet_build(store, NULL, &fleet, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((fleet != NULL) == (status == PLATELAG_OK));
  if (fleet != NULL) {
    write_reports(fleet);
    write_logs(fleet);
  }
  platelag_fleet_destroy(fleet);
}

static void merge(platelag_fleet_store *from, const char *path) {
  platelag_fleet_store *store = NULL;
  platelag_error error = {0};
  FUZZ_CHECK(platelag_fleet_store_open(path, true, &store, &error) == PLATELAG_OK);
  fuzz_check_error(platelag_fleet_store_merge(store, from, &error), &error);
  platelag_fleet_store_close(store);
  remove_store(path);
}

/* A store that is only read stays as it is, whatever stands in it. */
static void read_only(const char *path) {
  platelag_fleet_store *store = NULL;
  platelag_error error = {0};
  const platelag_status status = platelag_fleet_store_open_to_read(path, &store, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((store != NULL) == (status == PLATELAG_OK));
  if (store != NULL)
    rank(store);
  platelag_fleet_store_close(store);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  char path[64];
  char other[64];
  platelag_fleet_store *store = NULL;
  platelag_error error = {0};
  (void)snprintf(path, sizeof path, "%s/platelag-fuzz-%d.db", folder(), (int)getpid());
  (void)snprintf(other, sizeof other, "%s/platelag-fuzz-%d-new.db", folder(), (int)getpid());
  put_file(path, data, size);
  read_only(path);
  const platelag_status status = platelag_fleet_store_open(path, false, &store, &error);
  fuzz_check_error(status, &error);
  FUZZ_CHECK((store != NULL) == (status == PLATELAG_OK));
  if (store != NULL) {
    platelag_fleet_place place;
    error = (platelag_error){0};
    rank(store);
    fuzz_check_error(platelag_fleet_store_find(store, "0", &place, &error), &error);
    merge(store, other);
  }
  platelag_fleet_store_close(store);
  remove_store(path);
  return 0;
}
