/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Small sound files for tests. */
#include <config.h>

#include "capture/sounds.h"

#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "support/files.h"

const struct sounds_kind sounds_kinds[] = {
    {CAPTURE_WRITE_WAV, 8, "a.wav", "WAV, 8-bit unsigned, 2 channels"},
    {CAPTURE_WRITE_WAV, 16, "b.wav", "WAV, 16-bit, 2 channels"},
    {CAPTURE_WRITE_WAV, 24, "c.wav", "WAV, 24-bit, 2 channels"},
    {CAPTURE_WRITE_WAV, 32, "d.wav", "WAV, 32-bit, 2 channels"},
    {CAPTURE_WRITE_WAV, 0, "e.wav", "WAV, 32-bit float, 2 channels"},
    {CAPTURE_WRITE_WAV, 64, "f.wav", "WAV, 64-bit float, 2 channels"},
    {CAPTURE_WRITE_RF64, 16, "g.rf64", "RF64, 16-bit, 2 channels"},
    {CAPTURE_WRITE_RF64, 0, "h.rf64", "RF64, 32-bit float, 2 channels"},
    {CAPTURE_WRITE_W64, 24, "i.w64", "W64, 24-bit, 2 channels"},
    {CAPTURE_WRITE_FLAC, 8, "j.flac", "FLAC, 8-bit, 2 channels"},
    {CAPTURE_WRITE_FLAC, 16, "k.flac", "FLAC, 16-bit, 2 channels"},
    {CAPTURE_WRITE_FLAC, 24, "l.flac", "FLAC, 24-bit, 2 channels"},
    {CAPTURE_WRITE_CAF, 16, "m.caf", "CAF, 16-bit, 2 channels"},
    {CAPTURE_WRITE_CAF, 64, "n.caf", "CAF, 64-bit float, 2 channels"},
    {CAPTURE_WRITE_AIFF, 8, "o.aiff", "AIFF, 8-bit, 2 channels"},
    {CAPTURE_WRITE_AIFF, 24, "p.aiff", "AIFF, 24-bit, 2 channels"},
};
const size_t sounds_kind_count = sizeof sounds_kinds / sizeof sounds_kinds[0];

/* Steps of 1/64 are exact in every width. */
double sounds_value(size_t frame, unsigned channel)
{
  return ((double)((frame * 7 + channel * 31) % 120) - 60) / 64;
}

const char *sounds_write(const struct sounds_kind *kind, size_t frames, double rate_hz)
{
  const char *path = support_file(kind->name);
  struct capture_write_settings settings = {
      .path = path,
      .container = kind->container,
      .bits = kind->bits,
      .channels = 2,
      .rate_hz = rate_hz,
  };
  struct sc_message message = {""};
  struct capture_writer *writer;
  double *samples = malloc(2 * frames * sizeof *samples);
  for (size_t i = 0; i < 2 * frames; i++)
    samples[i] = sounds_value(i / 2, i % 2);
  enum sc_error error = capture_writer_create(&settings, &writer, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  ck_assert_int_eq(capture_writer_feed(writer, samples, frames, &message), SC_OK);
  ck_assert_int_eq(capture_writer_finish(writer, &message), SC_OK);
  free(samples);
  return path;
}

static void put(unsigned char *at, uint32_t value, unsigned bytes)
{
  for (unsigned i = 0; i < bytes; i++)
    at[i] = (unsigned char)(value >> (8 * i));
}

const char *sounds_wav(const char *name, const struct sounds_wav *wav)
{
  unsigned frame_bytes = wav->channels * wav->bits / 8u;
  unsigned char *bytes = calloc(1, 44 + wav->data_bytes);
  memcpy(bytes, "RIFF", 4);
  put(bytes + 4, 36 + wav->claimed_bytes, 4);
  memcpy(bytes + 8, "WAVEfmt ", 8);
  put(bytes + 16, 16, 4);
  put(bytes + 20, 1, 2);
  put(bytes + 22, wav->channels, 2);
  put(bytes + 24, wav->rate, 4);
  put(bytes + 28, wav->rate * frame_bytes, 4);
  put(bytes + 32, frame_bytes, 2);
  put(bytes + 34, wav->bits, 2);
  memcpy(bytes + 36, "data", 4);
  put(bytes + 40, wav->claimed_bytes, 4);
  for (size_t i = 0; i < wav->data_bytes; i++)
    bytes[44 + i] = (unsigned char)i;
  const char *path = support_file_write(name, bytes, 44 + wav->data_bytes);
  free(bytes);
  return path;
}
