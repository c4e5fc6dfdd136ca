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
  plag_noise noise[PLAG_COMPARED];
} specimen;

typedef struct specimens {
  specimen *list;
  size_t count;
  size_t size; /* of the transforms */
  double *scratch;
} specimens;

static void clear(specimens *all) {
  for (size_t i = 0; i < all->count; i++)
    for (size_t k = 0; k < PLAG_COMPARED; k++)
      plag_noise_clear(&all->list[i].noise[k]);
  free(all->list);
  free(all->scratch);
}

/* The first channel with enough noise; others are not transformed, they would only cost. */
static bool take_noise(specimens *all, specimen *one) {
  for (size_t i = 0; i < PLAG_COMPARED; i++)
    if (one->file->series[i] != NULL &&
        !plag_noise_take(one->file->series[i], one->file->count[i], all->size, &one->noise[i]))
      return false;
  return true;
}

static platelag_status gather(const plag_class_book *book, specimens *all, platelag_error *error) {
  size_t count = 0;
  size_t longest = 1;
  for (size_t i = 0; i < book->entry_count; i++)
    for (size_t k = 0; k < book->entry[i].file_count; k++) {
      count++;
      for (size_t c = 0; c < PLAG_COMPARED; c++)
        if (book->entry[i].file[k].count[c] > longest)
          longest = book->entry[i].file[k].count[c];
    }
  all->size = plag_noise_size(longest);
  all->list = calloc(count + 1, sizeof *all->list);
  all->scratch = calloc(all->size, sizeof *all->scratch);
  if (all->list == NULL || all->scratch == NULL)
    return plag_error_memory(error, "the comparison");
  for (size_t i = 0; i < book->entry_count; i++)
    for (size_t k = 0; k < book->entry[i].file_count; k++) {
      specimen *one = &all->list[all->count++];
      *one = (specimen){.entry = i, .file = &book->entry[i].file[k]};
      if (!take_noise(all, one))
        return plag_error_memory(error, "the comparison");
    }
  return PLATELAG_OK;
}

static const char *describe(plag_class_book *book, const plag_match *match, const plag_file *one,
                            size_t one_count, size_t other_count) {
  (void)one;
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
      .what =
          describe(book, match, one->file, one->file->count[channel], other->file->count[channel])};
  if (likeness.what == NULL ||
      !plag_array_reserve((void **)&book->likeness, &book->likeness_capacity,
                          book->likeness_count + 1, sizeof likeness))
    return plag_error_memory(error, "a likeness");
  book->likeness[book->likeness_count++] = likeness;
  return PLATELAG_OK;
}

static bool is_lively(const specimen *one, size_t channel) {
  return one->noise[channel].lively >= PLAG_LIVELY_LEAST;
}

static platelag_status compare(plag_class_book *book, const specimens *all, const specimen *one,
                               const specimen *other, platelag_error *error) {
  size_t channel = 0;
  while (channel < PLAG_COMPARED && !(is_lively(one, channel) && is_lively(other, channel)))
    channel++;
  if (channel == PLAG_COMPARED)
    return PLATELAG_OK;
  const plag_match match =
      plag_noise_match(&one->noise[channel], one->file->series[channel], &other->noise[channel],
                       other->file->series[channel], all->size, all->scratch);
  return plag_match_is_likeness(&match) ? keep(book, one, other, channel, &match, error)
                                        : PLATELAG_OK;
}

static int surest_first(const void *one, const void *other) {
  const platelag_likeness *a = one;
  const platelag_likeness *b = other;
  const double left = fabs(a->correlation);
  const double right = fabs(b->correlation);
  if (left != right)
    return left > right ? -1 : 1;
  return a->one != b->one ? (a->one < b->one ? -1 : 1)
                          : (a->other > b->other) - (a->other < b->other);
}

platelag_status plag_book_compare(plag_class_book *book, platelag_error *error) {
  specimens all = {0};
  platelag_status status = gather(book, &all, error);
  for (size_t i = 0; i < all.count && status == PLATELAG_OK; i++)
    for (size_t k = i + 1; k < all.count && status == PLATELAG_OK; k++)
      if (strcmp(book->entry[all.list[i].entry].submission.student,
                 book->entry[all.list[k].entry].submission.student) != 0)
        status = compare(book, &all, &all.list[i], &all.list[k], error);
  if (book->likeness_count > 0)
    qsort(book->likeness, book->likeness_count, sizeof *book->likeness, surest_first);
  clear(&all);
  return status;
}
