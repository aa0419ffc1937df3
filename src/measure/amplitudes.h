/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How often a stream takes each value, and where its values end without the noise on them. */
#ifndef SIDECOMB_MEASURE_AMPLITUDES_H
#define SIDECOMB_MEASURE_AMPLITUDES_H

#include <stddef.h>
#include <stdint.h>

enum { MEASURE_AMPLITUDE_BINS = 8192 };
#define MEASURE_AMPLITUDE_BIN_KHZ 0.05 /* the bins reach to +/-204.8 kHz */

struct measure_amplitudes {
  uint64_t bin[MEASURE_AMPLITUDE_BINS];
};

void measure_amplitudes_add(struct measure_amplitudes *amplitudes, const float *khz, size_t frames);
/* Share of the frames with a magnitude above limit_khz from mean_khz. */
double measure_amplitudes_beyond(const struct measure_amplitudes *amplitudes, double mean_khz,
                                 double limit_khz);
/* How far the extreme of all frames lies beyond the end that the values have without the Gaussian
 * noise of rms noise_khz on them, in units of that noise. sign 1: above, -1: below. per_sample:
 * independent draws of the noise in one frame. */
struct measure_excess {
  double value, uncertainty;
};
void measure_amplitudes_excess(const struct measure_amplitudes *amplitudes, double extreme_khz,
                               double sign, double noise_khz, double per_sample,
                               struct measure_excess *excess);

#endif
