/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The neighbourhood of one frequency of a real stream, as a slow complex series. */
#ifndef SIDECOMB_DSP_NARROWBAND_H
#define SIDECOMB_DSP_NARROWBAND_H

#include <stddef.h>

#include <sidecomb/error.h>

/* Flat within 1e-4 to DSP_NARROWBAND_PASS_HZ on either side; what lies beyond
 * DSP_NARROWBAND_STOP_HZ is down by 80 dB and what would fold into the pass band by 100 dB. */
#define DSP_NARROWBAND_PASS_HZ 40.0
#define DSP_NARROWBAND_STOP_HZ 95.0

struct dsp_narrowband;
/* rate_hz of at least 4 kHz. The series has 200 to 240 frames a second. */
enum sc_error dsp_narrowband_create(double centre_hz, double rate_hz,
                                    struct dsp_narrowband **narrowband);
double dsp_narrowband_rate(const struct dsp_narrowband *narrowband);
/* Time of the first frame of the series after create or reset, from the first frame fed. */
double dsp_narrowband_start(const struct dsp_narrowband *narrowband);
/* How many frames `frames` more frames can give. */
size_t dsp_narrowband_room(const struct dsp_narrowband *narrowband, size_t frames);
enum { DSP_NARROWBAND_FEED_MAX = 1 << 14 };
/* Frames <= DSP_NARROWBAND_FEED_MAX. A real tone A sin(w t + p) gives the complex amplitude A and
 * the phase p - pi/2, both at t = 0 of the first frame fed since create. Transients are dropped.
 * Returns the number of complex frames written to out. */
size_t dsp_narrowband_run(struct dsp_narrowband *narrowband, const float *in, size_t frames,
                          float *out);
/* After a gap: filters and oscillator start afresh. */
void dsp_narrowband_reset(struct dsp_narrowband *narrowband);
void dsp_narrowband_destroy(struct dsp_narrowband *narrowband);

#endif
