/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From IQ to the composite: channel filter, FM discriminator, equaliser.
 *
 * The channel is mixed to zero, decimated to a working rate of 384 kS/s to 800 kS/s (captures
 * below 384 kS/s are interpolated by 2), filtered to +/-175 kHz where the capture allows (flat
 * within 1e-4, down by 100 dB from 225 kHz or the capture's edge on), and demodulated by the
 * phase difference of successive samples, whose sin(x)/x droop is equalised: response within 1e-4
 * and 0.01 degrees from 0 to 100 kHz, nothing (-95 dB) from 140 kHz on, so that the noise above
 * the highest subcarrier does not count as deviation.
 *
 * Input: IQ as interleaved floats, 192 kS/s to 10 MS/s, any block length up to 2^16 frames.
 * Output: deviation in kHz, real floats at `rate_hz`, carrier offset left in (as a constant).
 * The composite of a channel that the capture cuts to less than +/-175 kHz is not exact: with
 * +/-96 kHz a left-only signal at 90 % shows 35 dB separation and a peak 8 % low (computed).
 * Cost: O(frames); memory O(2^16 frames); allocates in create only.
 */
#ifndef SIDECOMB_COMPOSITE_H
#define SIDECOMB_COMPOSITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

enum { SC_DEMODULATOR_FEED_MAX = 1 << 16 };

struct sc_demodulator_settings {
  double sample_rate_hz;
  double channel_hz; /* where the channel's middle is in the input's frequencies */
};

/* How the channel filter falls: amplitudes at even steps from `pass_hz` to `stop_hz`, to either
 * side of the channel's middle. Within it takes nothing away, beyond all. */
enum { SC_CHANNEL_EDGE_POINTS = 33 };
struct sc_channel_edge {
  double pass_hz, stop_hz;
  double gain[SC_CHANNEL_EDGE_POINTS];
};

struct sc_demodulator_info {
  double rate_hz;       /* of the composite */
  double half_width_hz; /* flat half width of the channel filter that was possible */
  struct sc_channel_edge edge;
  double noise_bandwidth_hz; /* of the channel filter, both sides */
  double noise_integral_hz3; /* of f^2 times the squared response: the composite's noise power in
                                Hz^2 is this times the noise density over the carrier's power */
  double top_hz;             /* composite frequency up to which the response is equalised */
  bool truncated;            /* half_width_hz is below 175 kHz */
  unsigned interpolation, decimation;
  double delay_s;        /* after a start or discontinuity, the first composite frame belongs to
                            this time after the first frame fed */
  size_t out_frames_max; /* for one feed of 2^16 frames */
};

struct sc_demodulator;
/* SC_BAD_ARGUMENT: a rate outside the range. SC_UNSUPPORTED: the channel is so near to the
 * capture's edge that less than +/-40 kHz of it can be had. */
SC_API SC_MUST_USE enum sc_error
sc_demodulator_create(const struct sc_demodulator_settings *settings,
                      struct sc_demodulator **demodulator);
SC_API struct sc_demodulator_info sc_demodulator_info(const struct sc_demodulator *demodulator);
/* Feeds frames <= 2^16 complex samples. *deviation_khz and *channel (complex, at rate_hz,
 * the filtered channel mixed to zero, aligned with the composite) point into the handle and
 * stay valid until the next call. Returns the number of output frames. After a discontinuity
 * the filters start afresh and their transients are dropped. `channel` may be NULL. */
SC_API size_t sc_demodulator_feed(struct sc_demodulator *demodulator, const float *iq,
                                  size_t frames, bool discontinuity, const float **deviation_khz,
                                  const float **channel);
SC_API void sc_demodulator_destroy(struct sc_demodulator *demodulator);

/* What the capture's own noise is on a composite. */
struct sc_composite_noise {
  double rms_khz;              /* of all of it; NAN: unknown */
  double per_hz;               /* N0 / C: the density at f is f^2 times this (one-sided, Hz^2/Hz) */
  double relative_uncertainty; /* of both, as amplitudes */
};
/* noise_dbc_hz: density of the noise in the channel re the carrier's power. */
SC_API struct sc_composite_noise sc_demodulator_noise(const struct sc_demodulator_info *info,
                                                      double noise_dbc_hz, double uncertainty_db);
SC_API struct sc_composite_noise sc_composite_noise_unknown(void);
/* The same, when another estimate of per_hz is smaller: each may have counted as noise what is
 * none. NAN: no other. */
SC_API struct sc_composite_noise sc_composite_noise_at_most(const struct sc_composite_noise *noise,
                                                            double per_hz);

#endif
