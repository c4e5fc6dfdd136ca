/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/decode.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "core/error.h"
#include "core/escape.h"
#include "read/signature.h"
#include "read/text_form.h"

enum {
  INPUT_BYTES = 64 * 1024,
  LONGEST_SEQUENCE_BYTES = 4, /* of UTF-8, and a surrogate pair */
  LONGEST_OUTPUT_BYTES = 4    /* of one character */
};

struct plag_decoder {
  platelag_source source;
  const char *file;
  plag_note_list *notes;
  plag_text_unit unit;
  bool marked;    /* a byte-order mark stood in front */
  bool ended;     /* the source is at its end */
  size_t valid;   /* sequences of several bytes that are UTF-8 */
  size_t broken;  /* bytes that are not, or lone surrogates */
  size_t mixture; /* the note on it, once there is one */
  bool mixture_noted;
  char last;      /* byte that the last read gave; a line begins at first */
  size_t returns; /* CRs whose successor is not known yet */
  size_t nul_count;
  int64_t nul_line;
  uint64_t nul_offset;
  uint64_t offset; /* in the source, of input[0] */
  size_t at, end;
  unsigned char input[INPUT_BYTES];
};

/* Windows-1252 from 0x80 to 0x9f; its five holes become U+FFFD. From 0xa0 it is Latin-1. */
static const uint16_t windows_1252[32] = {
    0x20ac, 0xfffd, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
    0x2039, 0x0152, 0xfffd, 0x017d, 0xfffd, 0xfffd, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0xfffd, 0x017e, 0x0178};

/* Reads on until the input holds `need` bytes or the source ends. */
static platelag_status fill_input(plag_decoder *decoder, size_t need, platelag_error *error) {
  if (decoder->end - decoder->at >= need || decoder->ended)
    return PLATELAG_OK;
  decoder->offset += decoder->at;
  memmove(decoder->input, decoder->input + decoder->at, decoder->end - decoder->at);
  decoder->end -= decoder->at;
  decoder->at = 0;
  while (decoder->end < need && !decoder->ended) {
    size_t got = 0;
    const platelag_status status =
        decoder->source.read(decoder->source.context, decoder->input + decoder->end,
                             INPUT_BYTES - decoder->end, &got, error);
    if (status != PLATELAG_OK)
      return status;
    decoder->ended = got == 0;
    decoder->end += got;
  }
  return PLATELAG_OK;
}

static bool has_zero_byte(uint64_t word) {
  return ((word - UINT64_C(0x0101010101010101)) & ~word & UINT64_C(0x8080808080808080)) != 0;
}

/* How many bytes from the front are ASCII, no NUL and no CR. */
static size_t plain_span(const unsigned char *bytes, size_t size) {
  size_t span = 0;
  for (; span + sizeof(uint64_t) <= size; span += sizeof(uint64_t)) {
    uint64_t word;
    memcpy(&word, bytes + span, sizeof word);
    if ((word & UINT64_C(0x8080808080808080)) != 0 || has_zero_byte(word) ||
        has_zero_byte(word ^ UINT64_C(0x0d0d0d0d0d0d0d0d)))
      break;
  }
  while (span < size && bytes[span] < 0x80 && bytes[span] != 0 && bytes[span] != '\r')
    span++;
  return span;
}

static int64_t line_at(int64_t line, const char *text, size_t length) {
  for (const char *from = text, *end = text + length;
       (from = memchr(from, '\n', (size_t)(end - from))) != NULL; from++)
    line++;
  return line;
}

/* Tells, once, that single bytes stand among UTF-8, and how many. The text made so far says where.
 */
static void note_mixture(plag_decoder *decoder, int64_t line, const char *text, size_t made) {
  const bool declared = decoder->unit != PLAG_UNIT_BYTE || decoder->marked || decoder->valid > 0;
  if (decoder->broken == 0 || !declared)
    return;
  if (!decoder->mixture_noted) {
    decoder->mixture_noted = true;
    decoder->mixture = plag_note_list_add(
        decoder->notes, line_at(line, text, made), 0,
        decoder->unit == PLAG_UNIT_BYTE
            ? "bytes that are not UTF-8 stand among UTF-8 text; each was read as Windows-1252"
            : "half characters stand in the UTF-16 text; each was read as a replacement mark");
  }
  plag_note_list_set_count(decoder->notes, decoder->mixture, decoder->broken);
}

/* Takes one character that is not ASCII from the input; returns the bytes written. */
static size_t take_bytes_character(plag_decoder *decoder, char *text) {
  const unsigned char *bytes = decoder->input + decoder->at;
  unsigned point = 0;
  const size_t length = plag_utf8_read((const char *)bytes, decoder->end - decoder->at, &point);
  if (length > 0) {
    decoder->valid++;
    decoder->at += length;
    memcpy(text, bytes, length);
    return length;
  }
  decoder->broken++;
  decoder->at++;
  return plag_utf8_write(bytes[0] < 0xa0 ? windows_1252[bytes[0] - 0x80] : bytes[0], text);
}

static uint32_t utf16_unit(const plag_decoder *decoder, size_t at) {
  const uint32_t first = decoder->input[at], second = decoder->input[at + 1];
  return decoder->unit == PLAG_UNIT_UTF16LE ? first | (second << 8) : (first << 8) | second;
}

/* Takes one character of UTF-16 from the input, which holds at least two bytes. */
static uint32_t take_utf16_character(plag_decoder *decoder) {
  const uint32_t unit = utf16_unit(decoder, decoder->at);
  decoder->at += 2;
  if (unit < 0xd800 || unit > 0xdfff)
    return unit;
  if (unit < 0xdc00 && decoder->end - decoder->at >= 2) {
    const uint32_t low = utf16_unit(decoder, decoder->at);
    if (low >= 0xdc00 && low <= 0xdfff) {
      decoder->at += 2;
      return 0x10000 + ((unit - 0xd800) << 10) + (low - 0xdc00);
    }
  }
  decoder->broken++;
  return 0xfffd;
}

static platelag_status refuse_nul(const plag_decoder *decoder, platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, decoder->file, decoder->nul_line, 0,
                        "binary content: a NUL at byte %llu with more behind it; text (an export "
                        "as CSV) was expected",
                        (unsigned long long)decoder->nul_offset);
}

/* Remembers a NUL; whether it is at the end shows later. */
static void take_nul(plag_decoder *decoder, size_t width, int64_t line, const char *text,
                     size_t made) {
  if (decoder->nul_count == 0) {
    decoder->nul_line = line_at(line, text, made) + (int64_t)decoder->returns;
    decoder->nul_offset = decoder->offset + decoder->at;
  }
  decoder->nul_count++;
  decoder->at += width;
}

/* Line ends for CRs that no LF followed. CR LF is one line end, and so is CR CR LF, which a file
 * gets when its line ends are translated twice. */
static size_t put_returns(plag_decoder *decoder, bool line_feed_follows, char *text, size_t room) {
  if (line_feed_follows)
    decoder->returns = 0;
  size_t made = 0;
  for (; decoder->returns > 0 && made < room; decoder->returns--)
    text[made++] = '\n';
  return made;
}

static void note_end(plag_decoder *decoder, int64_t line) {
  if (decoder->nul_count > 0) {
    const size_t note = plag_note_list_add(decoder->notes, decoder->nul_line, 0,
                                           "NUL bytes at the end of the file were dropped; a loss "
                                           "of power while recording leaves such");
    plag_note_list_set_count(decoder->notes, note, decoder->nul_count);
  }
  decoder->nul_count = 0;
  if (decoder->at < decoder->end)
    (void)plag_note_list_add(decoder->notes, line, 0,
                             "half a character at the end of the file was dropped");
  decoder->at = decoder->end;
}

/* Decodes one step of PLAG_UNIT_BYTE: a plain span, a CR, a NUL or a character. */
static platelag_status step_bytes(plag_decoder *decoder, int64_t line, char *text, size_t size,
                                  size_t *made, platelag_error *error) {
  const unsigned char *bytes = decoder->input + decoder->at;
  const size_t held = decoder->end - decoder->at;
  if (bytes[0] == '\r' && decoder->nul_count == 0) {
    decoder->returns++;
    decoder->at++;
    return PLATELAG_OK;
  }
  if (bytes[0] == '\0') {
    take_nul(decoder, 1, line, text, *made);
    return PLATELAG_OK;
  }
  if (decoder->nul_count > 0)
    return refuse_nul(decoder, error);
  if (decoder->returns > 0) {
    *made += put_returns(decoder, bytes[0] == '\n', text + *made, size - *made);
    return PLATELAG_OK;
  }
  if (bytes[0] < 0x80) {
    const size_t room = size - *made;
    const size_t span = plain_span(bytes, held < room ? held : room);
    memcpy(text + *made, bytes, span);
    decoder->at += span;
    *made += span;
    return PLATELAG_OK;
  }
  const size_t broken = decoder->broken;
  const size_t length = take_bytes_character(decoder, text + *made);
  /* A mark at the start of a line is left by joining files; it means nothing there. */
  const char before = *made > 0 ? text[*made - 1] : decoder->last;
  const bool mark = length == 3 && memcmp(text + *made, "\xef\xbb\xbf", 3) == 0 && before == '\n';
  if (broken != decoder->broken || decoder->valid == 1)
    note_mixture(decoder, line, text, *made);
  *made += mark ? 0 : length;
  return PLATELAG_OK;
}

static platelag_status step_utf16(plag_decoder *decoder, int64_t line, char *text, size_t size,
                                  size_t *made, platelag_error *error) {
  const uint32_t unit = utf16_unit(decoder, decoder->at);
  if (unit == '\r' && decoder->nul_count == 0) {
    decoder->returns++;
    decoder->at += 2;
    return PLATELAG_OK;
  }
  if (unit == 0) {
    take_nul(decoder, 2, line, text, *made);
    return PLATELAG_OK;
  }
  if (decoder->nul_count > 0)
    return refuse_nul(decoder, error);
  if (decoder->returns > 0) {
    *made += put_returns(decoder, unit == '\n', text + *made, size - *made);
    return PLATELAG_OK;
  }
  const size_t broken = decoder->broken;
  const uint32_t character = take_utf16_character(decoder);
  if (broken != decoder->broken)
    note_mixture(decoder, line, text, *made);
  if (character != 0xfeff)
    *made += plag_utf8_write(character, text + *made);
  return PLATELAG_OK;
}

platelag_status plag_decode_read(plag_decoder *decoder, int64_t line, char *text, size_t size,
                                 size_t *got, platelag_error *error) {
  assert(size >= PLAG_DECODE_LEAST_BYTES);
  const size_t least = decoder->unit == PLAG_UNIT_BYTE ? 1 : 2;
  size_t made = 0;
  platelag_status status = PLATELAG_OK;
  while (status == PLATELAG_OK && size - made >= LONGEST_OUTPUT_BYTES) {
    const bool whole = decoder->unit == PLAG_UNIT_BYTE && decoder->at < decoder->end &&
                       decoder->input[decoder->at] < 0x80;
    if (decoder->end - decoder->at < LONGEST_SEQUENCE_BYTES && !whole) {
      if (made > 0 && decoder->at == decoder->end)
        break; /* give what there is before waiting for more */
      status = fill_input(decoder, LONGEST_SEQUENCE_BYTES, error);
      if (status != PLATELAG_OK)
        break;
    }
    if (decoder->end - decoder->at < least) {
      made += put_returns(decoder, false, text + made, size - made);
      if (decoder->returns == 0 && decoder->ended)
        note_end(decoder, line_at(line, text, made));
      break;
    }
    status = decoder->unit == PLAG_UNIT_BYTE ? step_bytes(decoder, line, text, size, &made, error)
                                             : step_utf16(decoder, line, text, size, &made, error);
  }
  if (made > 0)
    decoder->last = text[made - 1];
  *got = status == PLATELAG_OK ? made : 0;
  return status;
}

static platelag_status look_at_first_bytes(plag_decoder *decoder, platelag_error *error) {
  const platelag_status status = fill_input(decoder, PLAG_TEXT_FORM_BYTES, error);
  if (status != PLATELAG_OK)
    return status;
  /* As many bytes whatever the source gives at a time: the same file, the same answer. */
  const size_t looked =
      decoder->end < PLAG_TEXT_FORM_BYTES ? decoder->end : (size_t)PLAG_TEXT_FORM_BYTES;
  const char *what = plag_signature_find(decoder->input, looked);
  if (what != NULL)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, decoder->file, 1, 0,
                          "this is %s; an export as CSV was expected", what);
  const plag_text_form form = plag_text_form_find(decoder->input, looked);
  decoder->unit = form.unit;
  decoder->marked = form.mark_bytes > 0;
  decoder->at = form.mark_bytes;
  if (form.unit == PLAG_UNIT_BYTE && plag_text_is_binary(decoder->input, looked))
    return plag_error_set(error, PLATELAG_ERROR_INPUT, decoder->file, 1, 0,
                          "binary content: many control characters; text (an export as CSV) was "
                          "expected");
  return PLATELAG_OK;
}

platelag_status plag_decode_open(const platelag_source *source, const char *file,
                                 plag_note_list *notes, plag_decoder **out, platelag_error *error) {
  *out = NULL;
  plag_decoder *decoder = calloc(1, sizeof *decoder);
  if (decoder == NULL)
    return plag_error_memory(error, "decoding");
  decoder->source = *source;
  decoder->file = file;
  decoder->notes = notes;
  decoder->last = '\n';
  const platelag_status status = look_at_first_bytes(decoder, error);
  if (status != PLATELAG_OK) {
    plag_decode_destroy(decoder);
    return status;
  }
  *out = decoder;
  return PLATELAG_OK;
}

const char *plag_decode_encoding(const plag_decoder *decoder) {
  if (decoder->unit == PLAG_UNIT_UTF16LE)
    return "UTF-16LE";
  if (decoder->unit == PLAG_UNIT_UTF16BE)
    return "UTF-16BE";
  if (decoder->marked)
    return "UTF-8 with byte-order mark";
  return decoder->broken > decoder->valid ? "Windows-1252" : "UTF-8";
}

void plag_decode_destroy(plag_decoder *decoder) {
  free(decoder);
}
