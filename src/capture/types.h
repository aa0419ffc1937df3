/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of raw sample types, under the names that the SigMF standard gives them.
 *
 * Full scale is 1. Signed integers of n bits are divided by 2^(n-1). Unsigned integers are
 * offset binary; their zero is taken halfway between the ends of the range, (2^n - 1) / 2, and
 * they are divided by 2^(n-1) too. Reason: the converters that deliver 8-bit unsigned samples
 * toggle between codes 127 and 128 when nothing is at their input, so a zero at 128 would put
 * a line of -48 dBFS in I and in Q at the very place where a carrier is tuned to. A file that
 * was made with its zero at 128 reads half a step (+1/256) high instead. At 32 bits the half
 * step is below what a float resolves and is left out.
 */
#ifndef SIDECOMB_CAPTURE_TYPES_H
#define SIDECOMB_CAPTURE_TYPES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

/* `count` components (not frames) from bytes to floats. No alignment is asked of `bytes`. */
typedef void capture_decode(const unsigned char *bytes, float *samples, size_t count);
/* The way back: rounds to nearest, saturates at the ends, NaN becomes 0. `dither`: NULL, or
 * `count` numbers in steps of the type that are added before rounding (ignored by floats). */
typedef void capture_encode(const double *samples, const double *dither, unsigned char *bytes,
                            size_t count);

struct capture_type {
  const char *name;  /* as in SigMF's core:datatype */
  const char *words; /* for help and messages */
  bool is_complex;   /* a frame is I, then Q */
  unsigned bytes;    /* of one component */
  unsigned bits;     /* 0 for floats */
  float low, high;   /* decoded value of either end of the range; floats: -1 and 1 */
  capture_decode *decode;
  capture_encode *encode;
};

/* All types; ends with an entry whose name is NULL. */
extern const struct capture_type capture_types[];

/* NULL when the table has no such name. */
const struct capture_type *capture_type_find(const char *name);
/* Fills `message` with a line on what to say instead of `name`, and returns
 * SC_BAD_ARGUMENT. `where` is what named it: "--type" or a file's name. */
enum sc_error capture_type_refuse(const char *where, const char *name, struct sc_message *message);

#endif
