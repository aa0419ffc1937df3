/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Notices are cleaned where they are made, so that nothing downstream has to think of it. */
#include <config.h>

#include "capture/notice.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "common/text.h"

void capture_notice(struct sc_notices *notices, const char *format, ...)
{
  if (notices->count == SC_NOTICES_MAX)
    return;
  char *text = notices->text[notices->count++];
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(text, SC_NOTICE_LENGTH, format, arguments);
  va_end(arguments);
  common_clean_string(text);
}

const char *capture_shown(char *out, const char *path)
{
  static const char cut[] = "...";
  size_t length = strlen(path);
  size_t room = CAPTURE_SHOWN_LENGTH - sizeof cut;
  if (length <= room) {
    (void)common_clean(out, CAPTURE_SHOWN_LENGTH, path, length);
    return out;
  }
  memcpy(out, cut, sizeof cut);
  size_t first = length - room;
  while (((unsigned char)path[first] & 0xc0) == 0x80) /* not amid a character */
    first++;
  (void)common_clean(out + sizeof cut - 1, room + 1, path + first, length - first);
  return out;
}
