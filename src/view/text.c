/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters, widths and line breaks. Whatever reaches the grid passes through here, so a
 * byte that a terminal would obey becomes a visible mark. */
#include <string.h>
#include <wchar.h>

#include "view/text.h"

static const uint32_t replacement = 0xFFFD;

static size_t sequence_length(unsigned char lead)
{
  if (lead < 0x80)
    return 1;
  if (lead >= 0xC2 && lead <= 0xDF)
    return 2;
  if (lead >= 0xE0 && lead <= 0xEF)
    return 3;
  return lead >= 0xF0 && lead <= 0xF4 ? 4 : 0;
}

static bool is_valid(uint32_t code, size_t length)
{
  static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
  bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  bool control = code < 0x20 || (code >= 0x7F && code < 0xA0);
  return code >= least[length] && code <= 0x10FFFF && !surrogate && !control;
}

size_t view_text_decode(const char *text, uint32_t *code)
{
  const unsigned char *bytes = (const unsigned char *)text;
  size_t length = sequence_length(bytes[0]);
  *code = replacement;
  if (length == 0)
    return 1;
  uint32_t value = length == 1 ? bytes[0] : bytes[0] & (0x7Fu >> length);
  for (size_t i = 1; i < length; i++) {
    if ((bytes[i] & 0xC0) != 0x80)
      return 1;
    value = value << 6 | (bytes[i] & 0x3Fu);
  }
  if (is_valid(value, length))
    *code = value;
  return length;
}

size_t view_text_encode(uint32_t code, char out[VIEW_CHARACTER_BYTES])
{
  static const unsigned char lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
  size_t length = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
  out[length] = 0;
  if (length == 1) {
    out[0] = (char)code;
    return 1;
  }
  for (size_t i = length; i-- > 1; code >>= 6)
    out[i] = (char)(0x80u | (code & 0x3Fu));
  out[0] = (char)(lead[length] | code);
  return length;
}

int view_text_character_width(uint32_t code)
{
  if (code < 0x7F)
    return 1;
  int width = wcwidth((wchar_t)code);
  return width < 0 ? 1 : width;
}

const char *view_text_ascii(uint32_t code)
{
  static const struct {
    uint32_t code;
    const char *text;
  } table[] = {
      {0x00B0, "deg"}, {0x00B1, "+/-"}, {0x00B7, "-"}, {0x00B5, "u"},  {0x03BC, "u"},
      {0x00D7, "x"},   {0x2013, "-"},   {0x2014, "-"}, {0x2018, "'"},  {0x2019, "'"},
      {0x201C, "\""},  {0x201D, "\""},  {0x2026, "~"}, {0x2192, "->"}, {0x2190, "<-"},
      {0x2191, "^"},   {0x2193, "v"},   {0x2212, "-"}, {0x2248, "~"},  {0x2500, "-"},
      {0x2502, "|"},   {0x250A, ":"},   {0x2514, "`"}, {0x25B8, ">"},  {0x2534, "+"},
      {0x253C, "+"},   {0x2504, "-"},   {0x25B6, ">"}, {0x2016, "\""},
  };
  for (size_t i = 0; i < sizeof table / sizeof *table; i++)
    if (table[i].code == code)
      return table[i].text;
  return "?";
}

static int shown_width(uint32_t code, bool ascii)
{
  if (!ascii || code < 128)
    return view_text_character_width(code);
  return (int)strlen(view_text_ascii(code));
}

int view_text_width(const char *text, bool ascii)
{
  int width = 0;
  uint32_t code;
  for (; *text != 0;) {
    text += view_text_decode(text, &code);
    width += shown_width(code, ascii);
  }
  return width;
}

const char *view_text_fitting(const char *text, const char *brief, int columns, bool ascii)
{
  return view_text_width(text, ascii) <= columns ? text : brief;
}

size_t view_text_line(const char *text, int columns, bool ascii, const char **next)
{
  const char *at = text, *space = NULL;
  int width = 0;
  while (*at != 0) {
    uint32_t code;
    size_t bytes = view_text_decode(at, &code);
    width += shown_width(code, ascii);
    if (code == ' ')
      space = at;
    if (width > columns && at > text) {
      const char *end = space != NULL && space > text ? space : at;
      *next = *end == ' ' ? end + 1 : end;
      return (size_t)(end - text);
    }
    at += bytes;
  }
  *next = at;
  return (size_t)(at - text);
}

int view_text_lines(const char *text, int columns, bool ascii)
{
  int lines = 0;
  while (view_text_line(text, columns, ascii, &text) > 0)
    lines++;
  return lines;
}
