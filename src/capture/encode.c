/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Floats back to bytes, for the files that tests and the shipped sample are made of. The
 * inverse of decode.c: the same full scale and the same zero. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "capture/decode.h"

/* The code of `value`, rounded to nearest and kept within the range. */
static int64_t quantise(double value, double dither, double scale, double zero, int64_t lowest,
                        int64_t highest)
{
  double code = isnan(value) ? rint(zero) : rint(value * scale + zero + dither);
  if (code <= (double)lowest)
    return lowest;
  return code >= (double)highest ? highest : (int64_t)code;
}

static void store(uint64_t code, unsigned char *bytes, unsigned width, bool big)
{
  for (unsigned i = 0; i < width; i++)
    bytes[big ? width - 1 - i : i] = (unsigned char)(code >> (8 * i));
}

#define INTEGER_ENCODER(name, width, big, scale, zero, lowest, highest)                            \
  void capture_encode_##name(const double *samples, const double *dither, unsigned char *bytes,    \
                             size_t count)                                                         \
  {                                                                                                \
    for (size_t i = 0; i < count; i++)                                                             \
      store((uint64_t)quantise(samples[i], dither == NULL ? 0 : dither[i], scale, zero, lowest,    \
                               highest),                                                           \
            bytes + i * (width), width, big);                                                      \
  }

INTEGER_ENCODER(u8, 1, false, 0x1p7, 127.5, 0, UINT8_MAX)
INTEGER_ENCODER(i8, 1, false, 0x1p7, 0, INT8_MIN, INT8_MAX)
INTEGER_ENCODER(u16_le, 2, false, 0x1p15, 32767.5, 0, UINT16_MAX)
INTEGER_ENCODER(u16_be, 2, true, 0x1p15, 32767.5, 0, UINT16_MAX)
INTEGER_ENCODER(i16_le, 2, false, 0x1p15, 0, INT16_MIN, INT16_MAX)
INTEGER_ENCODER(i16_be, 2, true, 0x1p15, 0, INT16_MIN, INT16_MAX)
INTEGER_ENCODER(u32_le, 4, false, 0x1p31, 0x1p31, 0, UINT32_MAX)
INTEGER_ENCODER(u32_be, 4, true, 0x1p31, 0x1p31, 0, UINT32_MAX)
INTEGER_ENCODER(i32_le, 4, false, 0x1p31, 0, INT32_MIN, INT32_MAX)
INTEGER_ENCODER(i32_be, 4, true, 0x1p31, 0, INT32_MIN, INT32_MAX)

static uint64_t code_f32(double value)
{
  float narrow = (float)value;
  uint32_t code;
  memcpy(&code, &narrow, sizeof code);
  return code;
}

static uint64_t code_f64(double value)
{
  uint64_t code;
  memcpy(&code, &value, sizeof code);
  return code;
}

#define FLOAT_ENCODER(name, width, big, convert)                                                   \
  void capture_encode_##name(const double *samples, const double *dither, unsigned char *bytes,    \
                             size_t count)                                                         \
  {                                                                                                \
    (void)dither;                                                                                  \
    for (size_t i = 0; i < count; i++)                                                             \
      store(convert(samples[i]), bytes + i * (width), width, big);                                 \
  }

FLOAT_ENCODER(f32_le, 4, false, code_f32)
FLOAT_ENCODER(f32_be, 4, true, code_f32)
FLOAT_ENCODER(f64_le, 8, false, code_f64)
FLOAT_ENCODER(f64_be, 8, true, code_f64)
