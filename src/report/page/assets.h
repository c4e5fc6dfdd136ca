/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files that a page carries, taken into the library when it is built (assets.S, page.cmake). */
#ifndef PLAG_REPORT_PAGE_ASSETS_H
#define PLAG_REPORT_PAGE_ASSETS_H

typedef struct plag_asset {
  const char *from;
  const char *end;
} plag_asset;

extern const plag_asset plag_asset_style;
extern const plag_asset plag_asset_script; /* empty in a build without the plotting library */
extern const plag_asset plag_asset_policy; /* names style and script by their hashes */

#endif
