/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Conversion kernels behind the table of types: one pair for each component format. */
#ifndef SIDECOMB_CAPTURE_DECODE_H
#define SIDECOMB_CAPTURE_DECODE_H

#include "capture/types.h"

/* name, C type of a code, bits (0: float), big-endian, decoded low end, decoded high end */
#define CAPTURE_FORMATS(entry)                                                                     \
  entry(u8) entry(i8) entry(u16_le) entry(u16_be) entry(i16_le) entry(i16_be) entry(u32_le)        \
      entry(u32_be) entry(i32_le) entry(i32_be) entry(f32_le) entry(f32_be) entry(f64_le)          \
          entry(f64_be)

#define CAPTURE_DECLARE(name)                                                                      \
  capture_decode capture_decode_##name;                                                            \
  capture_encode capture_encode_##name;
CAPTURE_FORMATS(CAPTURE_DECLARE)
#undef CAPTURE_DECLARE

#endif
