/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Words into lines, and plain ASCII for terminals without UTF-8. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdbool.h>
#include <string.h>

#include "report/layout.h"

static bool starts_character(char c)
{
  return ((unsigned char)c & 0xc0) != 0x80;
}

size_t report_columns(const char *text)
{
  size_t columns = 0;
  for (; *text != '\0'; text++)
    columns += starts_character(*text);
  return columns;
}

static size_t word_columns(const char *word, size_t length)
{
  size_t columns = 0;
  for (size_t i = 0; i < length; i++)
    columns += starts_character(word[i]);
  return columns;
}

void report_wrap(struct report_buffer *out, const char *text, size_t column, size_t indent,
                 size_t width)
{
  bool fresh = true; /* nothing stands on this line since its indent */
  while (*text != '\0') {
    text += strspn(text, " ");
    size_t length = strcspn(text, " ");
    if (length == 0)
      break;
    size_t columns = word_columns(text, length);
    if (!fresh && column + 1 + columns > width) {
      report_add(out, "\n%*s", (int)indent, "");
      column = indent;
      fresh = true;
    }
    report_add(out, "%s%.*s", fresh ? "" : " ", (int)length, text);
    column += columns + !fresh;
    fresh = false;
    text += length;
  }
  report_add(out, "\n");
}

void report_left(struct report_buffer *out, const char *text, size_t columns)
{
  size_t used = report_columns(text);
  report_add(out, "%s%*s", text, used < columns ? (int)(columns - used) : 0, "");
}

void report_right(struct report_buffer *out, const char *text, size_t columns)
{
  size_t used = report_columns(text);
  report_add(out, "%*s%s", used < columns ? (int)(columns - used) : 0, "", text);
}

/* Characters that the report itself uses; any other becomes '?'. */
static const struct {
  const char *utf8, *ascii;
} look_alikes[] = {
    {"±", "+-"}, {"°", "o"}, {"µ", "u"}, {"×", "x"}, {"–", "-"},
    {"—", "-"},  {"−", "-"}, {"’", "'"}, {"≤", "<"}, {"≥", ">"},
};

static const char *ascii_of(const char *character)
{
  for (size_t i = 0; i < sizeof look_alikes / sizeof look_alikes[0]; i++)
    if (strncmp(character, look_alikes[i].utf8, strlen(look_alikes[i].utf8)) == 0)
      return look_alikes[i].ascii;
  return "?";
}

void report_to_ascii(char *text)
{
  char *out = text;
  while (*text != '\0') {
    if ((unsigned char)*text < 0x80) {
      *out++ = *text++;
      continue;
    }
    const char *ascii = ascii_of(text);
    do /* before writing, which may reach up to here */
      text++;
    while (!starts_character(*text));
    memcpy(out, ascii, strlen(ascii));
    out += strlen(ascii);
  }
  *out = '\0';
}
