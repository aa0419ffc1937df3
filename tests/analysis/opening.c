/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources opened, read and refused by tests that expect the one or the other. */
#include <config.h>

#include <string.h>

#include <check.h>

#include "analysis/opening.h"

static void check_line(const char *text)
{
  ck_assert_uint_gt(strlen(text), 10);
  for (const unsigned char *c = (const unsigned char *)text; *c != 0; c++)
    ck_assert_msg(*c >= 0x20 && *c != 0x7f, "control character %d in: %s", *c, text);
}

struct sc_source *open_source(const struct sc_source_options *options)
{
  struct sc_source *source = NULL;
  struct sc_message message = {""};
  enum sc_error error = sc_source_open(options, &source, &message);
  ck_assert_msg(error == SC_OK, "%s: %s", sc_error_name(error), message.text);
  return source;
}

void refused(const struct sc_source_options *options, enum sc_error code, const char *part)
{
  struct sc_source *source = NULL;
  struct sc_message message = {""};
  enum sc_error error = sc_source_open(options, &source, &message);
  ck_assert_msg(error == code, "%s, not %s: %s", sc_error_name(error), sc_error_name(code),
                message.text);
  ck_assert_ptr_null(source);
  check_line(message.text);
  ck_assert_msg(strstr(message.text, part) != NULL, "no '%s' in: %s", part, message.text);
}

struct sc_block read_block(struct sc_source *source, size_t frames)
{
  struct sc_block block;
  struct sc_message message = {""};
  enum sc_error error = sc_source_read(source, frames, &block, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  ck_assert_uint_le(block.frames, frames);
  return block;
}

/* Reads to the end; returns the frames. */
uint64_t drain(struct sc_source *source)
{
  uint64_t frames = 0;
  for (struct sc_block block; (block = read_block(source, 10007)).frames > 0;)
    frames += block.frames;
  return frames;
}

bool noticed(const struct sc_source *source, const char *part)
{
  struct sc_notices notices;
  sc_source_notices(source, &notices);
  for (size_t i = 0; i < notices.count; i++) {
    check_line(notices.text[i]);
    if (strstr(notices.text[i], part) != NULL)
      return true;
  }
  return false;
}

void write_samples(const struct capture_write_settings *settings, const double *samples,
                   size_t frames)
{
  struct capture_writer *writer;
  struct sc_message message = {""};
  enum sc_error error = capture_writer_create(settings, &writer, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  ck_assert_int_eq(capture_writer_feed(writer, samples, frames, &message), SC_OK);
  ck_assert_int_eq(capture_writer_finish(writer, &message), SC_OK);
}
