/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "read/signature.h"

#include <string.h>

/* A kind of file by its first bytes. */
typedef struct file_signature {
  const char *bytes;
  size_t size;
  const char *what;
} file_signature;

#define SIGNATURE(bytes, what)                                                                     \
  { bytes, sizeof(bytes) - 1, what }

static const file_signature signatures[] = {
    SIGNATURE("PK\x03\x04", "a ZIP archive or a workbook of a spreadsheet"),
    SIGNATURE("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "a workbook of an old spreadsheet"),
    SIGNATURE("%PDF-", "a PDF document"),
    SIGNATURE("\xFD"
              "7zXZ",
              "xz-compressed data (gzip and zstd are unpacked here, others are not)"),
    SIGNATURE("BZh", "bzip2-compressed data (gzip and zstd are unpacked here, others are not)"),
    SIGNATURE("7z\xBC\xAF\x27\x1C", "a 7z archive"),
    SIGNATURE("\x1F\x8B", "gzip data inside compressed data"),
    SIGNATURE("\x28\xB5\x2F\xFD", "zstd data inside compressed data"),
    SIGNATURE("\x89PNG", "a PNG picture"),
    SIGNATURE("\xFF\xD8\xFF", "a JPEG picture"),
    SIGNATURE("\x7F"
              "ELF",
              "a program"),
    SIGNATURE("SQLite format 3", "a database"),
    SIGNATURE("\x89HDF", "an HDF data file"),
    SIGNATURE("MDF     ", "a binary measurement file"),
    SIGNATURE("<!DOCTYPE", "a web page"),
    SIGNATURE("<html", "a web page"),
    SIGNATURE("<?xml", "an XML document"),
    SIGNATURE("{\\rtf", "a word processor's document"),
    SIGNATURE("\xFF\xFE\x00\x00", "text in UTF-32 (UTF-8 and UTF-16 are read)"),
    SIGNATURE("\x00\x00\xFE\xFF", "text in UTF-32 (UTF-8 and UTF-16 are read)"),
};

const char *plag_signature_find(const unsigned char *bytes, size_t size) {
  for (size_t i = 0; i < sizeof signatures / sizeof signatures[0]; i++)
    if (size >= signatures[i].size && memcmp(bytes, signatures[i].bytes, signatures[i].size) == 0)
      return signatures[i].what;
  return NULL;
}
