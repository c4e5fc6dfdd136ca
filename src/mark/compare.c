/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Likenesses over a class: every recording against every other student's. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/array.h"
#include "core/error.h"
#include "mark/book.h"
#include "mark/likeness.h"

/* Differences that a converter or a rounding leaves, of the spread. */
#define EXACT_SHARE   1e-6
#define ROUNDED_SHARE 0.01
/* Scales that are one. */
#define SAME_SCALE 0.005

/* One recording with its noise. */
typedef struct specimen {
  size_t entry;
  const plag_file *file;
  bool lively[PLAG_COMPARED];
  plag_noise noise; /* of the channel that is being compared */
} specimen;

typedef struct specimens {
  specimen *list;
  size_t count;
} specimens;

static void clear_noise(specimens *all) {
  for (size_t i = 0; i < all->count; i++)
    plag_noise_clear(&all->list[i].noise);
}

/* Which channels have noise enough to tell anything. */
static bool find_lively(specimen *one) {
  bool done = true;
  for (size_t i = 0; i < PLAG_COMPARED && done; i++) {
    if (one->file->series[i] == NULL)
      continue;
    done = plag_noise_take(one->file->series[i], one->file->count[i], NULL, &one->noise);
    one->lively[i] = one->noise.lively >= PLAG_LIVELY_LEAST;
    plag_noise_clear(&one->noise);
  }
  return done;
}

static platelag_status gather(const plag_class_book *book, specimens *all, platelag_error *error) {
  size_t count = 0;
  for (size_t i = 0; i < book->entry_count; i++)
    count += book->entry[i].file_count;
  all->list = calloc(count + 1, sizeof *all->list);
  if (all->list == NULL)
    return plag_error_memory(error, "the comparison");
  for (size_t i = 0; i < book->entry_count; i++)
    for (size_t k = 0; k < book->entry[i].file_count; k++) {
      specimen *one = &all->list[all->count++];
      *one = (specimen){.entry = i, .file = &book->entry[i].file[k]};
      if (!find_lively(one))
        return plag_error_memory(error, "the comparison");
    }
  return PLATELAG_OK;
}

static const char *describe(plag_class_book *book, const plag_match *match, size_t one_count,
                            size_t other_count) {
  const bool trimmed = match->share < 0.999 || one_count != other_count || match->offset != 0;
  const bool scaled = isfinite(match->scale) && !(fabs(match->scale - 1) <= SAME_SCALE);
  const char *how = match->residual_share <= EXACT_SHARE     ? "the same readings"
                    : match->residual_share <= ROUNDED_SHARE ? "the same readings but for rounding"
                                                             : "the same readings with noise added";
  return plag_words(&book->arena, "#s#s#s", how, trimmed ? ", trimmed or shifted" : "",
                    scaled ? ", rescaled" : "");
}

static platelag_status keep(plag_class_book *book, const specimen *one, const specimen *other,
                            size_t channel, const plag_match *match, platelag_error *error) {
  const platelag_likeness likeness = {
      .one = one->entry,
      .other = other->entry,
      .file_one = one->file->name,
      .file_other = other->file->name,
      .correlation = match->correlation,
      .samples = match->samples,
      .share = match->share,
      .shift_s = (double)match->offset * one->file->period_s,
      .scale = match->scale,
      .what = describe(book, match, one->file->count[channel], other->file->count[channel])};
  if (likeness.what == NULL ||
      !plag_array_reserve((void **)&book->likeness, &book->likeness_capacity,
                          book->likeness_count + 1, sizeof likeness))
    return plag_error_memory(error, "a likeness");
  book->likeness[book->likeness_count++] = likeness;
  return PLATELAG_OK;
}

/* The first channel that two recordings both have noise in. */
static size_t common_channel(const specimen *one, const specimen *other) {
  size_t channel = 0;
  while (channel < PLAG_COMPARED && !(one->lively[channel] && other->lively[channel]))
    channel++;
  return channel;
}

static bool is_pair(const plag_class_book *book, const specimen *one, const specimen *other,
                    size_t channel) {
  return common_channel(one, other) == channel &&
         strcmp(book->entry[one->entry].submission.student,
                book->entry[other->entry].submission.student) != 0;
}

static platelag_status compare(plag_class_book *book, const specimen *one, const specimen *other,
                               size_t channel, plag_noise_plan *plan, platelag_error *error) {
  const plag_match match = plag_noise_match(&one->noise, one->file->series[channel], &other->noise,
                                            other->file->series[channel], plan);
  return plag_match_is_likeness(&match) ? keep(book, one, other, channel, &match, error)
                                        : PLATELAG_OK;
}

/* The readings of the longest recording that is compared by this channel; 0: none is. */
static size_t longest_of(const plag_class_book *book, const specimens *all, size_t channel) {
  size_t longest = 0;
  for (size_t i = 0; i < all->count; i++)
    for (size_t k = i + 1; k < all->count; k++) {
      const size_t one = all->list[i].file->count[channel];
      const size_t other = all->list[k].file->count[channel];
      const size_t longer = one > other ? one : other;
      if (longer > longest && is_pair(book, &all->list[i], &all->list[k], channel))
        longest = longer;
    }
  return longest;
}

/* A channel at a time, so that the transforms of one alone are held. */
static platelag_status compare_by(plag_class_book *book, specimens *all, size_t channel,
                                  platelag_error *error) {
  const size_t longest = longest_of(book, all, channel);
  if (longest == 0)
    return PLATELAG_OK;
  platelag_status status = PLATELAG_OK;
  plag_noise_plan *plan = plag_noise_plan_create(longest);
  bool done = plan != NULL;
  for (size_t i = 0; i < all->count && done; i++) {
    const specimen *one = &all->list[i];
    if (one->lively[channel] && one->file->count[channel] <= longest)
      done = plag_noise_take(one->file->series[channel], one->file->count[channel], plan,
                             &all->list[i].noise);
  }
  if (!done)
    status = plag_error_memory(error, "the comparison");
  for (size_t i = 0; i < all->count; i++)
    for (size_t k = i + 1; k < all->count && status == PLATELAG_OK; k++)
      if (is_pair(book, &all->list[i], &all->list[k], channel))
        status = compare(book, &all->list[i], &all->list[k], channel, plan, error);
  clear_noise(all);
  plag_noise_plan_destroy(plan);
  return status;
}

static int surest_first(const void *one, const void *other) {
  const platelag_likeness *a = one;
  const platelag_likeness *b = other;
  const double left = fabs(a->correlation);
  const double right = fabs(b->correlation);
  if (left != right)
    return left > right ? -1 : 1;
  const size_t one_place = a->one != b->one ? a->one : a->other;
  const size_t other_place = a->one != b->one ? b->one : b->other;
  if (one_place != other_place)
    return one_place < other_place ? -1 : 1;
  const int file = strcmp(a->file_one, b->file_one);
  return file != 0 ? file : strcmp(a->file_other, b->file_other);
}

platelag_status plag_book_compare(plag_class_book *book, platelag_error *error) {
  specimens all = {0};
  platelag_status status = gather(book, &all, error);
  for (size_t i = 0; i < PLAG_COMPARED && status == PLATELAG_OK; i++)
    status = compare_by(book, &all, i, error);
  if (book->likeness_count > 0)
    qsort(book->likeness, book->likeness_count, sizeof *book->likeness, surest_first);
  clear_noise(&all);
  free(all.list);
  return status;
}
