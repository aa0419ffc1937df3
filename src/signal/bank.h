/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A bank of steady components, each w exp(2 pi i f t) with a complex weight w, whose phase is
 * exact at any sample index: it is reduced without rounding from the integer index at the start
 * of each block, and carried inside the block by a short recurrence. So nothing drifts, however
 * long the signal, and block boundaries leave no trace above 1e-15.
 */
#ifndef SIDECOMB_SIGNAL_BANK_H
#define SIDECOMB_SIGNAL_BANK_H

#include <complex.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

/* Frames from one renewal of the phases to the next. */
enum { SIGNAL_BLOCK = 256 };

/* CMPLX of C11, which some compilers lack; for finite parts. */
static inline double complex signal_complex(double re, double im)
{
  return re + I * im;
}

struct signal_bank;
enum sc_error signal_bank_create(size_t capacity, double rate_hz, struct signal_bank **bank);
/* A weight of zero is left out. The caller keeps to the capacity. */
void signal_bank_add(struct signal_bank *bank, double frequency_hz, double complex weight);
/* out[i] += sum of the components' real parts at frame first + i; count <= SIGNAL_BLOCK. */
void signal_bank_sum(const struct signal_bank *bank, int64_t first, double *out, size_t count);
/* The same with both parts; out is interleaved, 2 * count doubles. */
void signal_bank_sum_complex(const struct signal_bank *bank, int64_t first, double *out,
                             size_t count);
void signal_bank_destroy(struct signal_bank *bank);

/* Cycles of `frequency_hz` at frame `index`, in (-1, 1), exact to 1e-16 for |index| < 2^53. */
double signal_cycles(double frequency_hz, int64_t index, double rate_hz);

#endif
