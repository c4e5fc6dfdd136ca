/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/sheet.h"

#include "core/escape.h"
#include "core/wrap.h"

void plag_sheet_say(plag_sheet *sheet, size_t indent, size_t hang, const char *sentence) {
  plag_text clean = {0};
  plag_escape_add(&clean, sentence != NULL ? sentence : "");
  plag_wrap_add_blanks(&sheet->out, indent);
  plag_wrap_add(&sheet->out, clean.bytes != NULL ? clean.bytes : "", sheet->width, indent, hang);
  sheet->out.failed = sheet->out.failed || clean.failed || sentence == NULL;
  plag_text_clear(&clean);
  plag_arena_clear(&sheet->arena);
}

void plag_sheet_emphasise(plag_sheet *sheet, const char *code, const char *text) {
  if (sheet->color)
    plag_text_add(&sheet->out, code);
  plag_escape_add(&sheet->out, text);
  if (sheet->color)
    plag_text_add(&sheet->out, "\033[0m");
}

void plag_sheet_clear(plag_sheet *sheet) {
  plag_text_clear(&sheet->out);
  plag_arena_clear(&sheet->arena);
}
