/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Most formats are those of files; 24 bits come in three bytes, or in the lower three of four. */
#include <config.h>

#include "capture/sound_format.h"

#include "capture/decode.h"

static float from_24(uint32_t low, uint32_t middle, uint32_t high)
{
  /* In the upper three bytes, so that the sign is in its place. */
  uint32_t code = low << 8 | middle << 16 | high << 24;
  return (float)(int32_t)code * 0x1p-31f;
}

static void decode_three_bytes(const unsigned char *bytes, float *samples, size_t count)
{
  for (size_t i = 0; i < count; i++)
    samples[i] = from_24(bytes[3 * i], bytes[3 * i + 1], bytes[3 * i + 2]);
}

/* What the fourth byte holds is left to the driver. */
static void decode_three_of_four(const unsigned char *bytes, float *samples, size_t count)
{
  for (size_t i = 0; i < count; i++)
    samples[i] = from_24(bytes[4 * i], bytes[4 * i + 1], bytes[4 * i + 2]);
}

const struct capture_sound_format capture_sound_formats[] = {
    {SND_PCM_FORMAT_S32_LE, SC_SOUND_FORMAT_S32, "s32", 4, 32, capture_decode_i32_le},
    {SND_PCM_FORMAT_S24_LE, SC_SOUND_FORMAT_S24, "s24", 4, 24, decode_three_of_four},
    {SND_PCM_FORMAT_S24_3LE, SC_SOUND_FORMAT_S24, "s24", 3, 24, decode_three_bytes},
    {SND_PCM_FORMAT_S16_LE, SC_SOUND_FORMAT_S16, "s16", 2, 16, capture_decode_i16_le},
    {SND_PCM_FORMAT_FLOAT_LE, SC_SOUND_FORMAT_FLOAT, "float", 4, 0, capture_decode_f32_le},
    {.name = NULL},
};
