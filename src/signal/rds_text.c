/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters of RDS. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "signal/rds_text.h"

#include "common/rds_characters.h"

/* Length of the character at `s` and its code point; 0: not UTF-8 of at most three bytes. */
static size_t decode(const unsigned char *s, uint32_t *point)
{
  if (s[0] < 0x80) {
    *point = s[0];
    return 1;
  }
  const size_t length = s[0] >= 0xc2 && s[0] < 0xe0 ? 2 : s[0] >= 0xe0 && s[0] < 0xf0 ? 3 : 0;
  *point = length == 2 ? s[0] & 0x1fu : s[0] & 0x0fu;
  for (size_t i = 1; i < length; i++) {
    if ((s[i] & 0xc0) != 0x80)
      return 0;
    *point = *point << 6 | (s[i] & 0x3fu);
  }
  return length;
}

static unsigned encode(uint32_t point)
{
  for (unsigned i = 0; i < sizeof common_rds_unicode / sizeof common_rds_unicode[0]; i++)
    if (common_rds_unicode[i] != 0 && common_rds_unicode[i] == point)
      return i + COMMON_RDS_FIRST;
  return 0;
}

bool signal_rds_text(const char *utf8, uint8_t *codes, size_t room, size_t *count)
{
  const unsigned char *s = (const unsigned char *)utf8;
  *count = 0;
  while (*s != 0) {
    uint32_t point = 0;
    const size_t length = decode(s, &point);
    const unsigned code = length > 0 ? encode(point) : 0;
    if (code == 0 || *count == room)
      return false;
    codes[(*count)++] = (uint8_t)code;
    s += length;
  }
  return true;
}
