/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes -> review -> text, JSON and page: of one vehicle's captures, parted by the record
 * separator, under the conditions in turn. */
#include "fuzz.h"
#include "fuzz_review.h"

enum { CAPTURES_MOST = 3 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  static const platelag_condition conditions[CAPTURES_MOST] = {
      PLATELAG_CONDITION_ROAD, PLATELAG_CONDITION_HAND_SWEEP, PLATELAG_CONDITION_AFTER};
  fuzz_bytes rest = {data, size, 0};
  fuzz_bytes part[CAPTURES_MOST];
  platelag_source source[CAPTURES_MOST];
  platelag_review_file file[CAPTURES_MOST];
  size_t count = 0;
  platelag_library_start();
  do {
    part[count] = fuzz_next_part(&rest);
    source[count] = fuzz_source(&part[count]);
    file[count] = (platelag_review_file){
        .path = "fuzz", .condition = conditions[count], .source = &source[count]};
    count++;
  } while (count < CAPTURES_MOST && rest.size > 0);
  const platelag_review_options how = {.rows_per_second = 5,
                                       .circumstances = {.meter = PLATELAG_METER_NONE}};
  fuzz_review(file, count, &how);
  return 0;
}
