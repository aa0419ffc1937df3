/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Quasi-peak detector of ITU-R BS.468-4, section 2: reads a steady sine as its rms value, and
 * single and repeated bursts of 5 kHz within the limits of its tables 2 and 3 (tables from
 * memory). Two unequal peak rectifiers in series; their time constants were fitted to the middle
 * of those tables.
 */
#ifndef SIDECOMB_DSP_QUASI_PEAK_H
#define SIDECOMB_DSP_QUASI_PEAK_H

#include <stddef.h>

struct dsp_quasi_peak {
  double rise[2], fall[2]; /* shares per frame */
  double held[2];
  double scale; /* of a rectified sine to its rms */
};

/* rate_hz: 32 to 192 kHz. */
void dsp_quasi_peak_start(struct dsp_quasi_peak *detector, double rate_hz);
/* Returns the reading after one more sample. */
double dsp_quasi_peak_run(struct dsp_quasi_peak *detector, double sample);

#endif
