/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From IQ to the composite: channel filter, FM discriminator, equaliser.
 *
 * The channel is mixed to zero, filtered to +/-175 kHz where the capture allows, resampled
 * to a working rate of 384 kS/s to 800 kS/s (captures below 384 kS/s are interpolated by 2),
 * and demodulated by the phase difference of successive samples, whose sin(x)/x droop is
 * equalised: response within 1e-4 and 0.01 degrees from 0 to 100 kHz.
 *
 * Output: deviation in kHz, real floats at `rate_hz`, carrier offset left in (as a constant).
 */
#ifndef SIDECOMB_COMPOSITE_H
#define SIDECOMB_COMPOSITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

struct sc_demodulator_settings {
  double sample_rate_hz;
  double channel_hz;      /* where the channel's middle is in the input's frequencies */
};

struct sc_demodulator_info {
  double rate_hz;          /* of the composite */
  double half_width_hz;    /* flat half width of the channel filter that was possible */
  double top_hz;           /* composite frequency up to which the response is equalised */
  bool truncated;          /* half_width_hz is below 175 kHz */
  unsigned interpolation, decimation;
  double delay_s;          /* of the composite behind the input */
  size_t out_frames_max;   /* for one feed of 2^16 frames */
};

struct sc_demodulator;
SC_API SC_MUST_USE enum sc_error
sc_demodulator_create(const struct sc_demodulator_settings *settings,
                      struct sc_demodulator **demodulator);
SC_API struct sc_demodulator_info sc_demodulator_info(const struct sc_demodulator *demodulator);
/* Feeds frames <= 2^16 complex samples. *deviation_khz and *channel (complex, at rate_hz,
 * the filtered channel mixed to zero, aligned with the composite) point into the handle and
 * stay valid until the next call. Returns the number of output frames. After a discontinuity
 * the filters start afresh and their transients are dropped. `channel` may be NULL. */
SC_API size_t sc_demodulator_feed(struct sc_demodulator *demodulator, const float *iq,
                                  size_t frames, bool discontinuity,
                                  const float **deviation_khz, const float **channel);
SC_API void sc_demodulator_destroy(struct sc_demodulator *demodulator);

#endif
