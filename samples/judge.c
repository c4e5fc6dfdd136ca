/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A program of your own on libplatelag: one line for each valve of the captures that are named.
 *
 *   cc -o judge judge.c $(pkg-config --cflags --libs platelag)
 *   ./judge shuttle05-sticking.csv shuttle24-two-banks.csv */
#include <stdio.h>

#include <platelag/platelag.h>

static void tell_valve(const char *file, const platelag_case *valve) {
  const platelag_finding *finding = valve->finding;
  printf("%s: %s: %s (%.0f %%), %s. %s\n", file, valve->valve, platelag_finding_name(finding->kind),
         100 * finding->finding_probability, platelag_family_name(finding->family),
         finding->sentence);
}

/* 0, or 1 where the file is refused. */
static int judge(const char *file, platelag_workspace *workspace) {
  const platelag_review_file capture = {.path = file, .condition = PLATELAG_CONDITION_ROAD};
  platelag_error error = {0};
  platelag_review *review = NULL;
  if (platelag_review_build(&capture, 1, NULL, workspace, &review, &error) != PLATELAG_OK) {
    fprintf(stderr, "%s\n", error.message);
    return 1;
  }
  int refused = 0;
  for (size_t i = 0; i < review->capture_count; i++)
    if (review->capture[i].refusal.status != PLATELAG_OK) {
      fprintf(stderr, "%s: %s\n", file, review->capture[i].refusal.message);
      refused = 1;
    }
  for (size_t i = 0; i < review->case_count; i++)
    tell_valve(file, review->cases[i]);
  platelag_review_destroy(review);
  return refused;
}

int main(int count, char **argument) {
  platelag_library_start();
  platelag_error error = {0};
  platelag_workspace *workspace = NULL; /* scratch, one a thread, kept from file to file */
  if (platelag_workspace_create(&workspace, &error) != PLATELAG_OK) {
    fprintf(stderr, "%s\n", error.message);
    return 1;
  }
  int refused = 0;
  for (int i = 1; i < count; i++)
    refused |= judge(argument[i], workspace);
  platelag_workspace_destroy(workspace);
  return refused;
}
