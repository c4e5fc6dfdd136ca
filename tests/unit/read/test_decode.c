/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes of each encoding become the same UTF-8 however they arrive, with the encoding named; what
 * is no text is refused by what it is. */
#include "support/check.h"

#include <string.h>

#include "core/text.h"
#include "read/decode.h"
#include "support/chunk_source.h"

typedef struct decode_case {
  const char *what;
  const char *bytes;
  size_t size;
  const char *expected; /* the text; "!": words of the refusal */
  const char *encoding;
  const char *note; /* words of a note; NULL: there is none */
} decode_case;

#define DECODE(what, bytes, ...)                                                                   \
  { what, bytes, sizeof(bytes) - 1, __VA_ARGS__ }

static const decode_case cases[] = {
    DECODE("plain", "a,2.385\n", "a,2.385\n", "UTF-8", NULL),
    DECODE("two, three and four bytes a character", "\xC2\xB0 \xE2\x82\xAC \xF0\x9F\x9A\x90\n",
           "\xC2\xB0 \xE2\x82\xAC \xF0\x9F\x9A\x90\n", "UTF-8", NULL),
    DECODE("a mark",
           "\xEF\xBB\xBF"
           "a\n",
           "a\n", "UTF-8 with byte-order mark", NULL),
    DECODE("a mark that was encoded again",
           "\xC3\xAF\xC2\xBB\xC2\xBF"
           "a\n",
           "a\n", "UTF-8 with byte-order mark", NULL),
    DECODE("a mark at the start of a later line, as joined files have it",
           "a\n\xEF\xBB\xBF"
           "b\n",
           "a\nb\n", "UTF-8", NULL),
    DECODE("Windows-1252",
           "\x80 \xB0"
           "C \x96 \xE4\xFC\n",
           "\xE2\x82\xAC \xC2\xB0"
           "C \xE2\x80\x93 \xC3\xA4\xC3\xBC\n",
           "Windows-1252", NULL),
    DECODE("UTF-8 with a broken byte",
           "\xC2\xB0"
           "C \xFFx \xC3\xA4\n",
           "\xC2\xB0"
           "C \xC3\xBFx \xC3\xA4\n",
           "UTF-8", "UTF-8"),
    DECODE("an overlong slash is no character",
           "\xC0\xAF"
           "a\n",
           "\xC3\x80\xC2\xAF"
           "a\n",
           "Windows-1252", NULL),
    DECODE("UTF-16 with a pair",
           "\xFF\xFE"
           "a\0\x3D\xD8\x90\xDE\n\0",
           "a\xF0\x9F\x9A\x90\n", "UTF-16LE", NULL),
    DECODE("UTF-16 the other way", "\xFE\xFF\0a\0\xB0\0\n", "a\xC2\xB0\n", "UTF-16BE", NULL),
    DECODE("CR LF, CR and CR CR LF", "a\r\nb\rc\r\r\nd", "a\nb\nc\nd", "UTF-8", NULL),
    DECODE("NULs at the end", "a\n\0\0\0", "a\n", "UTF-8", "NUL bytes at the end"),
    DECODE("a NUL inside", "a,b\n1,\0,2\n", "!NUL at byte 6", NULL, NULL),
    DECODE("control characters",
           "\x01\x02\x03"
           "abc\x04\n",
           "!binary content", NULL, NULL),
    DECODE("a workbook", "PK\x03\x04\x14\0\6\0", "!workbook", NULL, NULL),
    DECODE("a document", "%PDF-1.4\n", "!PDF", NULL, NULL),
    DECODE("a web page", "<!DOCTYPE html>\n", "!web page", NULL, NULL),
    DECODE("UTF-32", "\xFF\xFE\0\0a\0\0\0", "!UTF-32", NULL, NULL),
    DECODE("bzip2", "BZh91AY&SY", "!bzip2", NULL, NULL),
};

/* Decodes everything; false with the refusal in `text` when there is one. */
static bool decode(const decode_case *row, size_t piece, size_t room, plag_text *text,
                   const char **encoding, plag_note_list *notes) {
  plag_test_chunks chunks = {.bytes = row->bytes, .size = row->size, .piece = piece};
  const platelag_source source = plag_test_chunk_source(&chunks);
  plag_decoder *decoder = NULL;
  platelag_error error = {0};
  platelag_status status = plag_decode_open(&source, "made.csv", notes, &decoder, &error);
  char part[64];
  size_t got = 1;
  plag_text_reset(text);
  while (status == PLATELAG_OK && got > 0) {
    status = plag_decode_read(decoder, 1, part, room, &got, &error);
    if (status == PLATELAG_OK)
      plag_text_add_bytes(text, part, got);
  }
  if (status == PLATELAG_OK) {
    *encoding = plag_decode_encoding(decoder);
    plag_text_add(text, "");
  } else {
    plag_text_reset(text);
    plag_text_add_format(text, "!%s", error.message);
  }
  plag_decode_destroy(decoder);
  return status == PLATELAG_OK;
}

static void check(const decode_case *row, size_t piece, size_t room, plag_text *text) {
  plag_note_list notes = {0};
  const char *encoding = "";
  const bool read = decode(row, piece, room, text, &encoding, &notes);
  const bool same = row->expected[0] == '!'
                        ? !read && strstr(text->bytes, row->expected + 1) != NULL
                        : read && strcmp(text->bytes, row->expected) == 0;
  if (!same)
    fail_msg("%s, pieces of %zu, room %zu:\n%s", row->what, piece, room, text->bytes);
  if (row->encoding != NULL && strncmp(encoding, row->encoding, strlen(row->encoding)) != 0)
    fail_msg("%s: %s", row->what, encoding);
  if (read && (row->note != NULL ? notes.count == 0 || !strstr(notes.note[0].text, row->note)
                                 : notes.count > 0))
    fail_msg("%s: %zu notes, %s", row->what, notes.count,
             notes.count > 0 ? notes.note[0].text : "none");
  plag_note_list_clear(&notes);
}

static void each_encoding_gives_the_same_text(void **state) {
  (void)state;
  static const size_t pieces[] = {0, 1, 2, 3, 5};
  static const size_t rooms[] = {16, 17, 64};
  plag_text text = {0};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    for (size_t k = 0; k < sizeof pieces / sizeof pieces[0]; k++)
      for (size_t r = 0; r < sizeof rooms / sizeof rooms[0]; r++)
        check(&cases[i], pieces[k], rooms[r], &text);
  plag_text_clear(&text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_encoding_gives_the_same_text),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
