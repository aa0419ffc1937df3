/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Helpers around the container interface. */
#include "capture/reading.h"

#include <string.h>

#include <check.h>

void reading_check_line(const char *text)
{
  ck_assert_uint_gt(strlen(text), 10);
  for (const unsigned char *c = (const unsigned char *)text; *c != 0; c++)
    ck_assert_msg(*c >= 0x20 && *c != 0x7f, "control character %d in: %s", *c, text);
}

struct capture *reading_open(const char *path, const char *type, double rate_hz)
{
  struct sc_source_options options = {.path = path, .type = type, .rate_hz = rate_hz};
  struct sc_message message = {""};
  struct capture *capture = NULL;
  enum sc_error error = capture_open(&options, &capture, &message);
  ck_assert_msg(error == SC_OK, "%s: %s", sc_error_name(error), message.text);
  ck_assert_ptr_nonnull(capture);
  return capture;
}

void reading_refused(const char *path, const char *type, double rate_hz, enum sc_error code,
                     const char *part)
{
  struct sc_source_options options = {.path = path, .type = type, .rate_hz = rate_hz};
  struct sc_message message = {""};
  struct capture *capture = NULL;
  enum sc_error error = capture_open(&options, &capture, &message);
  ck_assert_msg(error == code, "%s instead of %s: %s", sc_error_name(error), sc_error_name(code),
                message.text);
  ck_assert_ptr_null(capture);
  reading_check_line(message.text);
  ck_assert_msg(strstr(message.text, part) != NULL, "no '%s' in: %s", part, message.text);
}

size_t reading_frames(struct capture *capture, float *samples, size_t frames)
{
  size_t filled = 0, got = 1;
  while (filled < frames && got > 0) {
    struct sc_message message = {""};
    enum sc_error error = capture_read(capture, samples + filled * capture->facts.channels,
                                       frames - filled, &got, &message);
    ck_assert_msg(error == SC_OK, "%s: %s", sc_error_name(error), message.text);
    ck_assert_uint_le(got, frames - filled);
    filled += got;
  }
  return filled;
}

bool reading_noticed(const struct capture *capture, const char *part)
{
  for (size_t i = 0; i < capture->notices.count; i++) {
    reading_check_line(capture->notices.text[i]);
    if (strstr(capture->notices.text[i], part) != NULL)
      return true;
  }
  return false;
}
