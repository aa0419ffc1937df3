/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stereo decoder: sum and difference of a composite, the difference coherent with the pilot.
 *
 * composite = M + S sin(2 w t + 2 q + e) + pilot sin(w t + q) + ... (ITU-R BS.450; 47 CFR 73.322).
 * Both signals pass the same filters: flat within 1e-4 to 15 kHz, down by 90 dB from 16.6 kHz on,
 * where RDS (57 kHz - 2.4 kHz) begins beside the difference. The pilot's phase is taken from the
 * 40 Hz around it, between frames by interpolation; the signals wait until it is known. */
#ifndef SIDECOMB_MEASURE_DECODER_H
#define SIDECOMB_MEASURE_DECODER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum { MEASURE_DECODER_FEED_MAX = 1 << 14 };

struct measure_decoded {
  size_t frames;           /* at the audio rate */
  const float *sum;        /* M, with the composite's mean */
  const float *difference; /* complex S exp(j e); a real S in phase when the transmitter is right */
  const float *unlocked;   /* the same against a fixed 38 kHz, for composites without pilot */
  double pilot;            /* amplitude of what is at 19 kHz, mean over these frames */
};

struct measure_decoder;
/* SC_UNSUPPORTED: a rate that does not reach to 53 kHz. */
enum sc_error measure_decoder_create(double rate_hz, struct measure_decoder **decoder);
double measure_decoder_rate(const struct measure_decoder *decoder);
/* frames <= MEASURE_DECODER_FEED_MAX. The arrays stay valid until the next call. */
struct measure_decoded measure_decoder_feed(struct measure_decoder *decoder, const float *composite,
                                            size_t frames);
/* After a gap: what waits is dropped. */
void measure_decoder_reset(struct measure_decoder *decoder);
void measure_decoder_destroy(struct measure_decoder *decoder);

#endif
