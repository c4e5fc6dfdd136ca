/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "line_up/candidates.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "core/error.h"
#include "core/text.h"
#include "line_up/behaviour.h"

/* How far two scores must lie apart to be told from each other. A word of the table more or less is
 * worth at least this; so is a clear difference in behaviour. */
static const double APART = 0.05;

enum { MOST_COLUMNS_TOLD = 12, MESSAGE_BYTES = 380 };

/* The next letter or digit, in lower case; 0 at the end. */
static int next_sign(const char **text) {
  while (**text != '\0') {
    const unsigned char sign = (unsigned char)*(*text)++;
    if (isalnum(sign) || sign >= 0x80)
      return tolower(sign);
  }
  return 0;
}

/* Whether `given` is the channel's name, with or without its unit, whatever the case and blanks. */
static bool is_named(const platelag_channel *channel, const char *given) {
  const char *parts[] = {channel->name, channel->unit_text};
  for (size_t i = 0; i < 2; i++) {
    const char *part = parts[i];
    for (int sign = next_sign(&part); sign != 0; sign = next_sign(&part))
      if (next_sign(&given) != sign)
        return false;
    const char *rest = given;
    if (next_sign(&rest) == 0)
      return true;
  }
  return false;
}

static double behaves_like_position(const plag_behaviour *seen, const platelag_channel *channel) {
  double score = 0.0;
  if (seen->lowest == seen->highest)
    score -= 0.08; /* a jammed valve is constant too: no reason to refuse it */
  if (channel->kind == PLATELAG_VALUE_STATE)
    score -= 0.30;
  return score;
}

static double behaves_like_command(const plag_behaviour *seen) {
  if (seen->lowest == seen->highest)
    return -0.15;
  /* A command has stretches of constant value; a measured quantity changes at nearly every row. */
  if (seen->change_share < 0.5)
    return 0.06;
  return seen->change_share > 0.9 ? -0.06 : 0.0;
}

static void add(plag_candidates *found, plag_candidate candidate) {
  size_t at = found->count < PLAG_MOST_CANDIDATES ? found->count++ : PLAG_MOST_CANDIDATES - 1;
  if (at == PLAG_MOST_CANDIDATES - 1 && found->candidate[at].channel != NULL &&
      found->candidate[at].score >= candidate.score)
    return;
  for (; at > 0 && found->candidate[at - 1].score < candidate.score; at--)
    found->candidate[at] = found->candidate[at - 1];
  found->candidate[at] = candidate;
}

static bool fits(const platelag_channel *channel, platelag_role role, int bank) {
  return channel->role == role && (bank < 0 || channel->bank == bank) && channel->kept &&
         channel->count > 0 &&
         (channel->kind == PLATELAG_VALUE_NUMBER || channel->kind == PLATELAG_VALUE_STATE);
}

plag_candidates plag_candidates_find(const plag_recording *recording, platelag_role role,
                                     const char *named, int bank,
                                     const platelag_channel *follower) {
  plag_candidates found = {0};
  for (size_t i = 0; i < recording->channel_count; i++) {
    const platelag_channel *channel = recording->channel[i];
    if (!fits(channel, role, bank) || (named != NULL && !is_named(channel, named)))
      continue;
    const plag_rows_range rows = plag_recording_run_rows(recording, channel);
    const plag_behaviour seen = plag_behaviour_of(channel, rows);
    if (seen.present == 0)
      continue;
    plag_candidate candidate = {
        .channel = channel, .score = channel->role_score, .varies = seen.highest > seen.lowest};
    if (role == PLATELAG_ROLE_POSITION)
      candidate.score += behaves_like_position(&seen, channel);
    else
      candidate.score += behaves_like_command(&seen);
    add(&found, candidate);
  }
  if (follower == NULL || found.count < 2)
    return found;
  plag_candidates weighed = {0};
  for (size_t i = 0; i < found.count; i++) {
    plag_candidate candidate = found.candidate[i];
    const double follows = plag_behaviour_follows(candidate.channel, follower,
                                                  plag_recording_run_rows(recording, follower));
    candidate.score += 0.25 * fabs(follows);
    add(&weighed, candidate);
  }
  return weighed;
}

bool plag_candidates_ambiguous(const plag_candidates *candidates) {
  if (candidates->count < 2)
    return false;
  const plag_candidate *best = candidates->candidate;
  return best[0].score - best[1].score < APART &&
         !plag_behaviour_same(best[0].channel, best[1].channel);
}

/* "name (column 3)" behind what is there; without a name as an option takes it, "#3". */
static void add_column(plag_text *text, const platelag_channel *channel, size_t told) {
  if (told > 0)
    plag_text_add(text, ", ");
  if (channel->name[0] == '\0')
    plag_text_add_format(text, "\"#%d\"", channel->column);
  else
    plag_text_add_format(text, "\"%.60s\" (column %d)", channel->name, channel->column);
}

/* `word`: "command" or "position", which is the key of the setting too. */
static platelag_status refuse(const plag_recording *recording, const char *word, plag_text *text,
                              platelag_error *error) {
  platelag_status status;
  if (text->failed)
    status = plag_error_memory(error, "a message");
  else
    status = plag_error_set_with(error, strcmp(word, "command") == 0 ? "command" : "position",
                                 recording->name, 0, 0, "%s", text->bytes);
  plag_text_clear(text);
  return status;
}

/* A column that was recognised by its name and holds nothing; NULL for none. */
static const platelag_channel *find_empty(const plag_recording *recording, const char *word) {
  const bool position = strcmp(word, "position") == 0;
  for (size_t i = 0; i < recording->channel_count; i++) {
    const platelag_channel *channel = recording->channel[i];
    const bool fits =
        position ? channel->role == PLATELAG_ROLE_POSITION
                 : channel->role == PLATELAG_ROLE_COMMAND || channel->role == PLATELAG_ROLE_DESIRED;
    if (fits && channel->present == 0)
      return channel;
  }
  return NULL;
}

platelag_status plag_candidates_refuse_none(const plag_recording *recording, const char *word,
                                            platelag_error *error) {
  plag_text text = {0};
  const platelag_channel *empty = find_empty(recording, word);
  if (empty != NULL) {
    plag_text_add_format(&text,
                         "the valve's %s, \"%.60s\" (column %d), holds no value: all cells "
                         "are missing; expected samples, or another column named",
                         word, empty->name, empty->column);
    return refuse(recording, word, &text, error);
  }
  plag_text_add_format(&text, "no column was recognised as the valve's %s", word);
  if (recording->run_count > 1)
    plag_text_add_format(&text, " in run %zu", recording->run + 1);
  plag_text_add(&text, "; the file has ");
  size_t told = 0;
  size_t left = 0;
  for (size_t i = 0; i < recording->channel_count; i++) {
    const platelag_channel *channel = recording->channel[i];
    if (channel->role == PLATELAG_ROLE_CLOCK)
      continue;
    if (told < MOST_COLUMNS_TOLD && text.length < MESSAGE_BYTES)
      add_column(&text, channel, told++);
    else
      left++;
  }
  if (left > 0)
    plag_text_add_format(&text, " and %zu more", left);
  plag_text_add_format(&text, "; name the column of the %s", word);
  return refuse(recording, word, &text, error);
}

platelag_status plag_candidates_refuse_ambiguous(const plag_recording *recording,
                                                 const plag_candidates *candidates,
                                                 const char *word, platelag_error *error) {
  plag_text text = {0};
  plag_text_add_format(&text, "columns that are equally good as the valve's %s: ", word);
  size_t told = 0;
  const double best = candidates->candidate[0].score;
  for (size_t i = 0; i < candidates->count && best - candidates->candidate[i].score < APART; i++)
    if (text.length < MESSAGE_BYTES)
      add_column(&text, candidates->candidate[i].channel, told++);
  plag_text_add(&text, "; say which it is");
  return refuse(recording, word, &text, error);
}
