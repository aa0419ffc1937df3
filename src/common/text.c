/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Walks UTF-8 character by character and replaces what a terminal might obey or hide. */
#include <config.h>

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "common/text.h"

enum { REPLACEMENT = '?' };

/* A lead byte, the range of the byte after it, and the length of the sequence: The Unicode
 * Standard, table 3-7 (well-formed UTF-8 byte sequences). */
static const struct lead {
  unsigned char first, last, second_min, second_max, length;
} leads[] = {
    {0x00, 0x7f, 0, 0, 1},       {0xc2, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3},
    {0xe1, 0xec, 0x80, 0xbf, 3}, {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3},
    {0xf0, 0xf0, 0x90, 0xbf, 4}, {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4},
};

/* Categories Cc, Cf, Zl and Zp of the Unicode Character Database 14.0, by code point, with
 * noncharacters and the places beside them that Unicode reserves for more of the kind. */
static const struct range {
  uint32_t first, last;
} unwanted[] = {
    {0x0000, 0x001f},   {0x007f, 0x009f},   {0x00ad, 0x00ad},   {0x0600, 0x0605},
    {0x061c, 0x061c},   {0x06dd, 0x06dd},   {0x070f, 0x070f},   {0x0890, 0x0891},
    {0x08e2, 0x08e2},   {0x180e, 0x180e},   {0x200b, 0x200f},   {0x2028, 0x202e},
    {0x2060, 0x206f},   {0xfdd0, 0xfdef},   {0xfeff, 0xfeff},   {0xfff0, 0xfffb},
    {0x110bd, 0x110bd}, {0x110cd, 0x110cd}, {0x13430, 0x1343f}, {0x1bca0, 0x1bca3},
    {0x1d173, 0x1d17a}, {0xe0000, 0xe00ff},
};

static bool is_unwanted(uint32_t code)
{
  if ((code & 0xfffe) == 0xfffe)
    return true;
  size_t low = 0, high = sizeof unwanted / sizeof unwanted[0];
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (code > unwanted[middle].last)
      low = middle + 1;
    else
      high = middle;
  }
  return low < sizeof unwanted / sizeof unwanted[0] && code >= unwanted[low].first;
}

static const struct lead *find_lead(unsigned char byte)
{
  for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++)
    if (byte >= leads[i].first && byte <= leads[i].last)
      return &leads[i];
  return NULL;
}

/* Length of the sequence at `text`, or of the maximal part of a broken one. */
static size_t next(const unsigned char *text, size_t length, uint32_t *code, bool *whole)
{
  const struct lead *lead = find_lead(text[0]);
  *whole = false;
  if (lead == NULL)
    return 1;
  *code = lead->length == 1 ? text[0] : text[0] & (0x7fu >> lead->length);
  for (size_t i = 1; i < lead->length; i++) {
    unsigned char min = i == 1 ? lead->second_min : 0x80;
    unsigned char max = i == 1 ? lead->second_max : 0xbf;
    if (i >= length || text[i] < min || text[i] > max)
      return i;
    *code = *code << 6 | (text[i] & 0x3fu);
  }
  *whole = true;
  return lead->length;
}

size_t common_clean(char *out, size_t size, const char *text, size_t length)
{
  size_t written = 0;
  while (length > 0) {
    uint32_t code = 0;
    bool whole;
    size_t used = next((const unsigned char *)text, length, &code, &whole);
    bool keep = whole && !is_unwanted(code);
    size_t needed = keep ? used : 1;
    if (written + needed >= size)
      break;
    if (keep)
      memmove(out + written, text, used);
    else
      out[written] = REPLACEMENT;
    written += needed;
    text += used;
    length -= used;
  }
  out[written] = '\0';
  return written;
}

void common_clean_string(char *text)
{
  size_t length = strlen(text);
  (void)common_clean(text, length + 1, text, length);
}
