/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What rounding made of one record, found by rounding its signal once more.
 *
 * Where hardly any noise covers a converter's steps, its error is a function of the signal (R. M.
 * Gray, Quantization Noise Spectra, IEEE Trans. Inf. Theory 36, 1990, from memory), with lines at
 * sums of many times all frequencies in it; which ones these are nobody can tell by their place, as
 * they are everywhere. But the signal is known: the bins of the channel that stand out of the
 * noise, their envelope made constant as that of FM is, and outside of the channel what is stronger
 * than rounding makes any line. This is rounded to the same steps, and the error is compared with
 * the record, bin by bin. A line that rounding made stands in both with the same phase; one of
 * another source stands in the record alone: only where the error happens to be about as strong as
 * the line could they agree by chance, and there to a half in one case of 150 (the share of one
 * direction among those of five bins). As the signal has less noise than the samples had, its error
 * may be the stronger one.
 *
 * Input: interleaved I and Q of one stretch without a gap, in whole steps of the container. Memory:
 * 6 bytes for each frame, and 17 more while it is made. */
#ifndef SIDECOMB_MEASURE_ROUNDED_H
#define SIDECOMB_MEASURE_ROUNDED_H

#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

enum { MEASURE_ROUNDED_FRAMES = 1 << 19 };

struct measure_rounded_settings {
  double rate_hz;
  unsigned bits;     /* of the container; the steps are those that the samples have */
  double offset;     /* of the samples, in steps of the container: sample = (code + offset) step */
  double carrier_hz; /* from the capture's centre */
  double half_width_hz; /* of the channel */
  double noise_density; /* power per hertz, re full scale */
  double strongest;     /* amplitude that rounding never makes, re full scale */
};

struct measure_rounded;
/* SC_UNSUPPORTED: too few samples, or all the same; SC_NO_MEMORY. */
SC_MUST_USE enum sc_error measure_rounded_create(const struct measure_rounded_settings *settings,
                                                 const int16_t *codes, size_t frames,
                                                 struct measure_rounded **rounded);
/* How much of the power about a frequency, five bins of the record, rounding made, 0 to 1: as far
 * as both agree in phase (the square of the real part of their correlation), and in proportion less
 * where the error is the weaker one. */
double measure_rounded_share(const struct measure_rounded *rounded, double hz);
/* The same of a tone of the composite, by the steps of the phase. */
double measure_rounded_share_of_tone(const struct measure_rounded *rounded, double hz);
void measure_rounded_destroy(struct measure_rounded *rounded);

#endif
