/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/decompress.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include <zlib.h>
#include <zstd.h>
#include <zstd_errors.h>

#include "core/error.h"

enum {
  INPUT_BYTES = 64 * 1024,
  LONGEST_MAGIC_BYTES = 4,
  LONGEST_HEADER_BYTES = 18 /* of a stream: zstd's, RFC 8878, 3.1.1.1 */
};

/* What one step of a decompressor came to. */
typedef enum step_result {
  STEP_MORE,     /* inside a stream */
  STEP_COMPLETE, /* a stream ended here; another may follow */
  STEP_DAMAGED,
  STEP_TOO_WIDE, /* going back further than is allowed */
  STEP_NO_MEMORY
} step_result;

/* One compression. Add a row to `kinds` for another. */
typedef struct compression_kind {
  const char *name;
  size_t magic_size;
  unsigned char magic[LONGEST_MAGIC_BYTES];
  void *(*start)(void); /* NULL without memory */
  /* Moves `*in` and `*out` on, lowers both sizes. A stream's header comes in one piece. */
  step_result (*step)(void *state, const unsigned char **in, size_t *in_size, unsigned char **out,
                      size_t *out_size);
  void (*end)(void *state);
} compression_kind;

struct plag_decompress {
  platelag_source source;
  const char *file;
  const compression_kind *kind; /* NULL: the bytes pass as they are */
  void *state;
  bool complete; /* at the boundary of a stream */
  bool damaged;  /* behind the text that was given; the next read tells it */
  bool ended;    /* the source is at its end */
  size_t at, end;
  uint64_t bytes_in, bytes_out;
  unsigned char input[INPUT_BYTES];
};

static void *gzip_start(void) {
  z_stream *stream = calloc(1, sizeof *stream);
  if (stream != NULL && inflateInit2(stream, 16 + MAX_WBITS) != Z_OK) { /* 16: gzip only */
    free(stream);
    stream = NULL;
  }
  return stream;
}

static step_result gzip_step(void *state, const unsigned char **in, size_t *in_size,
                             unsigned char **out, size_t *out_size) {
  z_stream *stream = state;
  stream->next_in = (z_const Bytef *)*in;
  stream->avail_in = (uInt)*in_size; /* at most INPUT_BYTES */
  stream->next_out = *out;
  const size_t room = *out_size < INT32_MAX ? *out_size : INT32_MAX;
  stream->avail_out = (uInt)room;
  const int result = inflate(stream, Z_NO_FLUSH);
  *in += *in_size - stream->avail_in;
  *in_size = stream->avail_in;
  *out += room - stream->avail_out;
  *out_size -= room - stream->avail_out;
  if (result == Z_STREAM_END)
    return inflateReset(stream) == Z_OK ? STEP_COMPLETE : STEP_DAMAGED;
  if (result == Z_MEM_ERROR)
    return STEP_NO_MEMORY;
  return result == Z_OK || result == Z_BUF_ERROR ? STEP_MORE : STEP_DAMAGED;
}

static void gzip_end(void *state) {
  (void)inflateEnd(state);
  free(state);
}

typedef struct zstd_state {
  ZSTD_DStream *stream;
  bool inside;                   /* a frame */
  unsigned long long said, made; /* bytes of it: as its header has it, and so far */
} zstd_state;

/* The library's own limit of the window stands (128 MB): larger ones need an option when the file
 * is made, too. */
static void *zstd_start(void) {
  zstd_state *zstd = calloc(1, sizeof *zstd);
  if (zstd != NULL)
    zstd->stream = ZSTD_createDStream();
  if (zstd != NULL && zstd->stream == NULL) {
    free(zstd);
    zstd = NULL;
  }
  return zstd;
}

/* The library holds a frame against the size that its header says only where it is given the whole
 * frame at once. */
static bool zstd_is_as_said(const zstd_state *zstd) {
  return zstd->said == ZSTD_CONTENTSIZE_UNKNOWN || zstd->said == ZSTD_CONTENTSIZE_ERROR ||
         zstd->said == zstd->made;
}

static step_result zstd_step(void *state, const unsigned char **in, size_t *in_size,
                             unsigned char **out, size_t *out_size) {
  zstd_state *zstd = state;
  if (!zstd->inside) {
    zstd->said = ZSTD_getFrameContentSize(*in, *in_size);
    zstd->made = 0;
  }
  ZSTD_inBuffer input = {*in, *in_size, 0};
  ZSTD_outBuffer output = {*out, *out_size, 0};
  const size_t result = ZSTD_decompressStream(zstd->stream, &output, &input);
  *in += input.pos;
  *in_size -= input.pos;
  *out += output.pos;
  *out_size -= output.pos;
  zstd->made += output.pos;
  zstd->inside = result != 0;
  if (result == 0)
    return zstd_is_as_said(zstd) ? STEP_COMPLETE : STEP_DAMAGED;
  if (ZSTD_getErrorCode(result) == ZSTD_error_frameParameter_windowTooLarge)
    return STEP_TOO_WIDE;
  return ZSTD_isError(result) ? STEP_DAMAGED : STEP_MORE;
}

static void zstd_end(void *state) {
  zstd_state *zstd = state;
  (void)ZSTD_freeDStream(zstd->stream);
  free(zstd);
}

static const compression_kind kinds[] = {
    {"gzip", 2, {0x1f, 0x8b}, gzip_start, gzip_step, gzip_end},
    {"zstd", 4, {0x28, 0xb5, 0x2f, 0xfd}, zstd_start, zstd_step, zstd_end},
};

/* Reads on until the input holds `need` bytes or the source ends. */
static platelag_status fill_input(plag_decompress *decompress, size_t need, platelag_error *error) {
  const size_t held = decompress->end - decompress->at;
  if (held == 0 || INPUT_BYTES - decompress->at < need) {
    memmove(decompress->input, decompress->input + decompress->at, held);
    decompress->at = 0;
    decompress->end = held;
  }
  while (decompress->end - decompress->at < need && !decompress->ended) {
    size_t got = 0;
    const platelag_status status =
        decompress->source.read(decompress->source.context, decompress->input + decompress->end,
                                INPUT_BYTES - decompress->end, &got, error);
    if (status != PLATELAG_OK)
      return status;
    decompress->ended = got == 0;
    decompress->end += got;
  }
  return PLATELAG_OK;
}

static const compression_kind *find_kind(const unsigned char *bytes, size_t size) {
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (size >= kinds[i].magic_size && memcmp(bytes, kinds[i].magic, kinds[i].magic_size) == 0)
      return &kinds[i];
  return NULL;
}

static platelag_status read_plain(plag_decompress *decompress, void *bytes, size_t size,
                                  size_t *got, platelag_error *error) {
  const size_t held = decompress->end - decompress->at;
  if (held == 0)
    return decompress->source.read(decompress->source.context, bytes, size, got, error);
  *got = held < size ? held : size;
  memcpy(bytes, decompress->input + decompress->at, *got);
  decompress->at += *got;
  return PLATELAG_OK;
}

static platelag_status refuse(const plag_decompress *decompress, const char *what,
                              platelag_error *error) {
  return plag_error_set(error, PLATELAG_ERROR_INPUT, decompress->file, 0, 0,
                        "the %s data %s after %llu bytes of text; copy or export the file again",
                        decompress->kind->name, what, (unsigned long long)decompress->bytes_out);
}

static platelag_status check_growth(const plag_decompress *decompress, platelag_error *error) {
  if (decompress->bytes_out <= PLAG_BOMB_BYTES ||
      decompress->bytes_out / PLAG_BOMB_RATIO <= decompress->bytes_in)
    return PLATELAG_OK;
  return plag_error_set(error, PLATELAG_ERROR_INPUT, decompress->file, 0, 0,
                        "%llu bytes of %s data grew to more than %llu bytes, more than %d times as "
                        "much; a recording does not; if it is one, unpack it first",
                        (unsigned long long)decompress->bytes_in, decompress->kind->name,
                        (unsigned long long)decompress->bytes_out, PLAG_BOMB_RATIO);
}

/* Some tools pad a file with zeros behind the last stream. */
static void skip_padding(plag_decompress *decompress) {
  while (decompress->at < decompress->end && decompress->input[decompress->at] == 0)
    decompress->at++;
}

/* Where a stream ended, the whole header of the next one, if there is one. */
static platelag_status fill_for_step(plag_decompress *decompress, platelag_error *error) {
  const size_t need = decompress->complete ? LONGEST_HEADER_BYTES : 1;
  platelag_status status = fill_input(decompress, need, error);
  if (status != PLATELAG_OK || !decompress->complete)
    return status;
  skip_padding(decompress);
  return decompress->at < decompress->end ? fill_input(decompress, need, error) : PLATELAG_OK;
}

static platelag_status take_step(plag_decompress *decompress, unsigned char **out, size_t *room,
                                 platelag_error *error) {
  const unsigned char *in = decompress->input + decompress->at;
  size_t in_size = decompress->end - decompress->at;
  const size_t in_before = in_size, room_before = *room;
  const step_result result = decompress->kind->step(decompress->state, &in, &in_size, out, room);
  decompress->at = decompress->end - in_size;
  decompress->bytes_in += in_before - in_size;
  decompress->bytes_out += room_before - *room;
  decompress->complete = result == STEP_COMPLETE;
  if (result == STEP_NO_MEMORY)
    return plag_error_memory(error, "decompressing");
  if (result == STEP_TOO_WIDE)
    return plag_error_set(error, PLATELAG_ERROR_INPUT, decompress->file, 0, 0,
                          "the %s data ask for a window of more than 128 MB; pack the file again "
                          "without a long window",
                          decompress->kind->name);
  decompress->damaged = result == STEP_DAMAGED;
  if (decompress->damaged && room_before == *room)
    return refuse(decompress, "is damaged", error);
  if (in_before == in_size && room_before == *room && decompress->ended && !decompress->complete)
    return refuse(decompress, "ends too early", error);
  return check_growth(decompress, error);
}

static platelag_status read_bytes(void *context, void *bytes, size_t size, size_t *got,
                                  platelag_error *error) {
  plag_decompress *decompress = context;
  *got = 0;
  if (decompress->kind == NULL)
    return read_plain(decompress, bytes, size, got, error);
  if (decompress->damaged)
    return refuse(decompress, "is damaged", error);
  unsigned char *out = bytes;
  size_t room = size;
  while (room == size) {
    platelag_status status = fill_for_step(decompress, error);
    if (status != PLATELAG_OK)
      return status;
    if (decompress->complete && decompress->at == decompress->end) {
      if (decompress->ended)
        break;
      continue;
    }
    status = take_step(decompress, &out, &room, error);
    if (status != PLATELAG_OK)
      return status;
  }
  *got = size - room;
  return PLATELAG_OK;
}

platelag_status plag_decompress_open(const platelag_source *source, const char *file,
                                     plag_decompress **out, platelag_error *error) {
  *out = NULL;
  plag_decompress *decompress = calloc(1, sizeof *decompress);
  if (decompress == NULL)
    return plag_error_memory(error, "reading");
  decompress->source = *source;
  decompress->file = file;
  platelag_status status = fill_input(decompress, LONGEST_HEADER_BYTES, error);
  if (status != PLATELAG_OK)
    goto fail;
  decompress->kind = find_kind(decompress->input, decompress->end);
  if (decompress->kind != NULL) {
    decompress->state = decompress->kind->start();
    if (decompress->state == NULL) {
      status = plag_error_memory(error, "decompressing");
      goto fail;
    }
  }
  *out = decompress;
  return PLATELAG_OK;
fail:
  free(decompress);
  return status;
}

platelag_source plag_decompress_bytes(plag_decompress *decompress) {
  return (platelag_source){.context = decompress, .read = read_bytes};
}

const char *plag_decompress_name(const plag_decompress *decompress) {
  return decompress->kind == NULL ? "none" : decompress->kind->name;
}

void plag_decompress_destroy(plag_decompress *decompress) {
  if (decompress == NULL)
    return;
  if (decompress->kind != NULL)
    decompress->kind->end(decompress->state);
  free(decompress);
}
