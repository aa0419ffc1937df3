/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows in memory. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/buffer.h"

enum { SIZE_FIRST = 4096 };

static bool grow(struct report_buffer *buffer, size_t wanted)
{
  if (buffer->used + wanted < buffer->size)
    return true;
  size_t size = buffer->size > 0 ? buffer->size : SIZE_FIRST;
  while (size < buffer->used + wanted + 1)
    size *= 2;
  char *text = realloc(buffer->text, size);
  if (text == NULL) {
    buffer->failed = true;
    return false;
  }
  buffer->text = text;
  buffer->size = size;
  return true;
}

void report_add(struct report_buffer *buffer, const char *format, ...)
{
  va_list arguments, again;
  va_start(arguments, format);
  va_copy(again, arguments);
  int length = vsnprintf(NULL, 0, format, arguments);
  va_end(arguments);
  if (length < 0)
    buffer->failed = true;
  if (!buffer->failed && grow(buffer, (size_t)length)) {
    vsnprintf(buffer->text + buffer->used, (size_t)length + 1, format, again);
    buffer->used += (size_t)length;
  }
  va_end(again);
}

char *report_take(struct report_buffer *buffer)
{
  char *text = buffer->text;
  if (buffer->failed) {
    free(text);
    text = NULL;
  }
  *buffer = (struct report_buffer){0};
  return text;
}
