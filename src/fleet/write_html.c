/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fleet/write.h"

platelag_status platelag_fleet_write_html(const platelag_fleet *fleet,
                                          const platelag_fleet_page *page,
                                          const platelag_sink *sink, platelag_error *error) {
  plag_text text = {0};
  (void)fleet;
  (void)page;
  const platelag_status status = plag_write_text(&text, sink, error);
  plag_text_clear(&text);
  return status;
}
