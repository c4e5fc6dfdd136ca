/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include "support/made_recording.h"

#include <math.h>

const platelag_channel *plag_test_recording_add(plag_test_recording *made, plag_test_head head,
                                                const double *time_s, const double *value,
                                                size_t count) {
  platelag_channel *channel = plag_arena_take(&made->arena, sizeof *channel);
  int64_t *time_ns = plag_arena_take_array(&made->arena, count + 1, sizeof *time_ns);
  double *copy = plag_arena_take_array(&made->arena, count + 1, sizeof *copy);
  assert_true(channel != NULL && time_ns != NULL && copy != NULL);
  assert_true(made->recording.channel_count < PLAG_TEST_MOST_CHANNELS);
  *channel = (platelag_channel){
      .name = head.name,
      .unit_text = head.unit_text != NULL ? head.unit_text : "",
      .unit = head.unit,
      .column = (int)made->recording.channel_count + 2,
      .kind = PLATELAG_VALUE_NUMBER,
      .role = head.role,
      .bank = head.bank,
      .role_score = head.score,
      .role_reason = "",
      .kept = true,
      .count = count,
      .time_ns = time_ns,
      .value = copy,
      .lowest = NAN,
      .highest = NAN,
  };
  for (size_t i = 0; i < count; i++) {
    time_ns[i] = (int64_t)llround(time_s[i] * 1e9);
    copy[i] = value[i];
    channel->present += (size_t)!isnan(value[i]);
    channel->lowest = fmin(channel->lowest, value[i]);
    channel->highest = fmax(channel->highest, value[i]);
  }
  made->channel[made->recording.channel_count++] = channel;
  made->recording.channel = made->channel;
  made->recording.name = "shuttle.csv";
  made->recording.run_count = 1;
  made->recording.segment = made->segment;
  if (made->recording.segment_count == 0) {
    made->recording.segment_count = 1;
    made->segment[0] = (platelag_segment){.from_ns = time_ns[0], .to_ns = time_ns[count - 1]};
  }
  platelag_segment *last = &made->segment[made->recording.segment_count - 1];
  if (time_ns[count - 1] > last->to_ns)
    last->to_ns = time_ns[count - 1];
  return channel;
}

void plag_test_recording_cut(plag_test_recording *made, double to_s, double from_s) {
  platelag_segment *last = &made->segment[made->recording.segment_count - 1];
  last[1] = (platelag_segment){
      .from_ns = (int64_t)llround(from_s * 1e9), .to_ns = last->to_ns, .why = PLATELAG_BREAK_GAP};
  last->to_ns = (int64_t)llround(to_s * 1e9);
  made->recording.segment_count++;
}

void plag_test_recording_clear(plag_test_recording *made) {
  plag_arena_clear(&made->arena);
  *made = (plag_test_recording){0};
}
