/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum on air that the measured composite makes.
 *
 * Definition (of this project): a carrier as strong as the channel, modulated in frequency by the
 * composite that was measured in it, and transformed in the same way as the capture. That is exact
 * for tones, programme and data alike, so what the air has beyond it is no modulation: other
 * carriers, amplitude modulation, images, and the receiver's noise. The demodulator lets half of
 * the noise about the carrier into the composite, as phase; the other half, and all of it beyond
 * the composite's top, is added where its density is known.
 *
 * Input: the composite in kHz and the filtered channel, as sc_demodulator_feed gives them.
 * Memory: that of a spectrum, and 0.3 MB; allocates in create, and in a result that
 * is longer than any before.
 */
#ifndef SIDECOMB_EXPECTED_H
#define SIDECOMB_EXPECTED_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/composite.h>
#include <sidecomb/error.h>
#include <sidecomb/spectrum.h>

struct sc_expected_settings {
  struct sc_spectrum_settings spectrum; /* of the capture's spectrum that it is to stand beside */
  struct sc_demodulator_info demodulator;
  double channel_hz; /* middle of the channel in the capture's frequencies */
};

struct sc_expected;
/* SC_UNSUPPORTED: the span shows nothing of the channel. */
SC_API SC_MUST_USE enum sc_error sc_expected_create(const struct sc_expected_settings *settings,
                                                    struct sc_expected **expected);
/* frames <= out_frames_max of the demodulator. */
SC_API void sc_expected_feed(struct sc_expected *expected, const float *deviation_khz,
                             const float *channel, size_t frames, bool discontinuity);
/* In the capture's frequencies, power re full scale; only `mean` is filled. noise_dbfs_hz: density
 * of the receiver's noise, NAN: unknown, none is added. Valid until the next call. */
SC_API void sc_expected_result(struct sc_expected *expected, double noise_dbfs_hz,
                               struct sc_trace *trace);
/* Measured over expected in dB at each point of `air`, both averaged by a raised cosine of three
 * resolution bandwidths to either side; against the nearest value that is expected within half a
 * bandwidth, since the traces' points need not coincide. NAN where nothing is expected. */
SC_API void sc_expected_difference(const struct sc_trace *air, const struct sc_trace *expected,
                                   float *difference_db);
/* The same at one frequency, averaged to `half_hz` on either side, of any two traces. */
SC_API double sc_expected_difference_at(const struct sc_trace *air, const struct sc_trace *expected,
                                        double hz, double half_hz);
SC_API void sc_expected_reset(struct sc_expected *expected);
SC_API void sc_expected_destroy(struct sc_expected *expected);

#endif
