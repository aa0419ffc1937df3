/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the envelope's mean, which is taken away, makes of slow amplitude modulation.
 *
 * Means over T with straight lines between them follow a sine at f by sinc(f T) sinc^2(f T), and
 * mirror it to every k / T +- f, by sinc(f T) sinc^2(k +- f T): the transform of a mean, and that
 * of a triangle, for samples at 1 / T (derived here). */
#ifndef SIDECOMB_ACCOUNT_MEAN_H
#define SIDECOMB_ACCOUNT_MEAN_H

/* The n-th mirrored frequency, n from 0 on; *share: how much of the sine stands there. */
double account_mirrored_by_mean(double mean_s, double am_hz, unsigned n, double *share);

#endif
