/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "platelag/mark.h"

platelag_status platelag_class_write_html(const platelag_class *marked, const platelag_sink *sink,
                                          platelag_error *error) {
  (void)marked;
  return sink->write(sink->context, "", 0, error);
}

platelag_status platelag_class_write_student(const platelag_class *marked, size_t submission,
                                             const platelag_sink *sink, platelag_error *error) {
  (void)marked;
  (void)submission;
  return sink->write(sink->context, "", 0, error);
}
