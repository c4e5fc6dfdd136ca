/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files that pages carry, taken into the library when it is built (assets.S, page.cmake). */
#ifndef PLAG_CORE_PAGE_ASSETS_H
#define PLAG_CORE_PAGE_ASSETS_H

typedef struct plag_asset {
  const char *from;
  const char *end;
} plag_asset;

/* Of a review's page, and of the fleet's. */
extern const plag_asset plag_asset_style;
extern const plag_asset plag_asset_script; /* empty in a build without the plotting library */
extern const plag_asset plag_asset_policy; /* names style and script by their hashes */
extern const plag_asset plag_asset_fleet_style;
extern const plag_asset plag_asset_fleet_script;
extern const plag_asset plag_asset_fleet_policy;

#endif
