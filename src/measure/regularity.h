/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How regular complex samples are: whether they are a signal, or what a wrong sample type makes of
 * one. */
#ifndef SIDECOMB_MEASURE_REGULARITY_H
#define SIDECOMB_MEASURE_REGULARITY_H

#include <stddef.h>

#include <sidecomb/error.h>

enum { MEASURE_REGULARITY_LEAST = 2304 }; /* frames: eight records */

struct measure_regularity {
  /* Power over the error of the best linear prediction from all samples before: by Kolmogorov's
   * formula (1941, from memory; "spectral flatness" in speech coding) the arithmetic over the
   * geometric mean of the power spectrum, here in 512 bins without the mean of the samples. White
   * noise has 0 dB, a carrier its signal to noise ratio in the whole bandwidth or nearly so; at
   * most 120. Averaged over so few records noise adds some tenths. 0 where nothing moves. */
  double gain_db;
  /* Greatest |E z(n) z(n + k)| over the power, k = 0 to 3: 0 of a modulated carrier that is off the
   * centre, near 1 where I and Q are neighbouring samples of one real sequence (P. J. Schreier and
   * L. L. Scharf, Statistical Signal Processing of Complex-Valued Data, 2010, from memory: such
   * samples are improper). */
  double improper;
};

/* `frames`, at least MEASURE_REGULARITY_LEAST, of finite I and Q. Fails with SC_BAD_ARGUMENT and
 * SC_NO_MEMORY. */
enum sc_error measure_regularity(const float *iq, size_t frames,
                                 struct measure_regularity *regularity);

#endif
