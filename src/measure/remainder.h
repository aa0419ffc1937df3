/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What an ideal limiter takes away from an FM signal: what is not its modulation.
 *
 * Of a channel x it is y = 2 (1 - A / |x|) x, with A the envelope's mean over about a millisecond.
 * FM leaves the envelope alone, so of the modulation nothing remains, however many lines it makes
 * on air. Beside a carrier A exp(j phi) a weak line a exp(j w t) changes the envelope by the part
 * that is in phase with the carrier, so that
 *
 *     y = a exp(j w t) + conj(a) exp(j (2 phi - w t)) + terms of a^2 / A:
 *
 * the line as it is, and its ghost: mirrored, and spread by twice the modulation. White noise of
 * the density N0 has 2 N0 (half of it is in phase, at twice the amplitude). Amplitude modulation is
 * twice what it was; below about 300 Hz the mean follows it, and takes it away (by 26 dB at 100
 * Hz). Lines so near to the carrier are lost as well. Derived here, from the decomposition into
 * parts in phase and in quadrature (S. O. Rice, Bell Syst. Tech. J. 27, 1948, from memory). What
 * the mean follows it also mirrors: means of T, with straight lines between them, make of a sine at
 * f one at every k / T +- f, sinc(f T) sinc^2(k +- f T) of it (images of a linear interpolation).
 *
 * Input: the filtered channel (complex floats), any block length. Memory below 40 kB; allocates in
 * create only. */
#ifndef SIDECOMB_MEASURE_REMAINDER_H
#define SIDECOMB_MEASURE_REMAINDER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

/* Between the means, of a channel at this rate. */
double measure_remainder_mean_s(double rate_hz);

struct measure_remainder;
/* 80 kS/s to 2 MS/s, or SC_BAD_ARGUMENT; SC_NO_MEMORY. */
SC_MUST_USE enum sc_error measure_remainder_create(double rate_hz,
                                                   struct measure_remainder **remainder);
/* Of `frames` frames at most this many come out: those of the last mean that are still held, too.
 */
size_t measure_remainder_room(const struct measure_remainder *remainder, size_t frames);
/* Frames until the cell that is filled is whole. */
size_t measure_remainder_left(const struct measure_remainder *remainder);
/* Returns how many frames were written to `out`. What comes after a discontinuity starts afresh:
 * half a millisecond before and behind it is lost. */
size_t measure_remainder_feed(struct measure_remainder *remainder, const float *channel,
                              size_t frames, bool discontinuity, float *out);
void measure_remainder_destroy(struct measure_remainder *remainder);

#endif
