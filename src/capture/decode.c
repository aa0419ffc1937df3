/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes to floats at the speed of memory. Each kernel is a plain loop over loads that the
 * compiler turns into vector code; byte order is settled by one conditional swap that is a
 * constant in each of them. */
#include <config.h>

#include "capture/decode.h"

#include <string.h>

#include "common/kernel.h"

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
#define SWAP_LE true
#else
#define SWAP_LE false
#endif
#define SWAP_BE (!SWAP_LE)

static inline uint16_t load16(const unsigned char *bytes, bool swap)
{
  uint16_t code;
  memcpy(&code, bytes, sizeof code);
  return swap ? __builtin_bswap16(code) : code;
}

static inline uint32_t load32(const unsigned char *bytes, bool swap)
{
  uint32_t code;
  memcpy(&code, bytes, sizeof code);
  return swap ? __builtin_bswap32(code) : code;
}

static inline uint64_t load64(const unsigned char *bytes, bool swap)
{
  uint64_t code;
  memcpy(&code, bytes, sizeof code);
  return swap ? __builtin_bswap64(code) : code;
}

static inline float from_u16(uint16_t code)
{
  return ((float)code - 32767.5f) * 0x1p-15f;
}

static inline float from_i16(uint16_t code)
{
  return (float)(int16_t)code * 0x1p-15f;
}

static inline float from_u32(uint32_t code)
{
  return (float)(int32_t)(code ^ 0x80000000u) * 0x1p-31f;
}

static inline float from_i32(uint32_t code)
{
  return (float)(int32_t)code * 0x1p-31f;
}

static inline float from_f32(uint32_t code)
{
  float value;
  memcpy(&value, &code, sizeof value);
  return value;
}

static inline float from_f64(uint64_t code)
{
  double value;
  memcpy(&value, &code, sizeof value);
  return (float)value;
}

SC_KERNEL void capture_decode_u8(const unsigned char *bytes, float *samples, size_t count)
{
  for (size_t i = 0; i < count; i++)
    samples[i] = ((float)bytes[i] - 127.5f) * 0x1p-7f;
}

SC_KERNEL void capture_decode_i8(const unsigned char *bytes, float *samples, size_t count)
{
  for (size_t i = 0; i < count; i++)
    samples[i] = (float)(signed char)bytes[i] * 0x1p-7f;
}

#define DECODER(name, width, swap, convert)                                                        \
  SC_KERNEL void capture_decode_##name(const unsigned char *bytes, float *samples, size_t count)   \
  {                                                                                                \
    for (size_t i = 0; i < count; i++)                                                             \
      samples[i] = convert(load##width(bytes + i * (width / 8), swap));                            \
  }

DECODER(u16_le, 16, SWAP_LE, from_u16)
DECODER(u16_be, 16, SWAP_BE, from_u16)
DECODER(i16_le, 16, SWAP_LE, from_i16)
DECODER(i16_be, 16, SWAP_BE, from_i16)
DECODER(u32_le, 32, SWAP_LE, from_u32)
DECODER(u32_be, 32, SWAP_BE, from_u32)
DECODER(i32_le, 32, SWAP_LE, from_i32)
DECODER(i32_be, 32, SWAP_BE, from_i32)
DECODER(f32_le, 32, SWAP_LE, from_f32)
DECODER(f32_be, 32, SWAP_BE, from_f32)
DECODER(f64_le, 64, SWAP_LE, from_f64)
DECODER(f64_be, 64, SWAP_BE, from_f64)
