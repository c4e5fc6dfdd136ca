/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files that pages carry, taken into the library when it is built (assets.S, page.cmake). */
#ifndef PLAG_CORE_PAGE_ASSETS_H
#define PLAG_CORE_PAGE_ASSETS_H

typedef struct plag_asset {
  const char *from;
  const char *end;
} plag_asset;

/* Of a review's page, of the fleet's, of a class's and of a student's. */
extern const plag_asset plag_asset_style;
extern const plag_asset plag_asset_script; /* empty in a build without the plotting library */
extern const plag_asset plag_asset_policy; /* names style and script by their hashes */
extern const plag_asset plag_asset_fleet_style;
extern const plag_asset plag_asset_fleet_script;
extern const plag_asset plag_asset_fleet_policy;
extern const plag_asset plag_asset_class_style;
extern const plag_asset plag_asset_class_script;
extern const plag_asset plag_asset_class_policy;
extern const plag_asset plag_asset_student_style; /* this page has no script */
extern const plag_asset plag_asset_student_policy;

#endif
