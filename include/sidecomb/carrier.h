/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Carrier: presence, offset, level and carrier-to-noise ratio of one FM channel.
 *
 * Offset: mean instantaneous frequency of the channel, weighted over the record so that
 * modulation does not leak into it, plus the channel's own offset. Level: total power of
 * the FM signal in its channel, which is the unmodulated carrier's power (dBc refers to it).
 * Carrier-to-noise: noise density from the emptiest part of the spectrum where the capture
 * has room beyond +/-150 kHz, otherwise from the envelope's second and fourth moments.
 */
#ifndef SIDECOMB_CARRIER_H
#define SIDECOMB_CARRIER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

struct sc_carrier {
  enum sc_truth present;
  const char *why;                  /* evidence, or why it cannot be told */
  struct sc_quantity offset_hz;     /* from the capture's centre */
  struct sc_quantity level_dbfs;
  struct sc_quantity cnr_db;        /* in cnr_bandwidth_hz */
  struct sc_quantity cnr_bandwidth_hz;
  struct sc_quantity noise_density_dbfs_hz;
  bool above_threshold;             /* the FM threshold: below it no composite is measured */
};

/* Finds the channel in a spectrum of the whole capture: the strongest FM-like hump or line.
 * Coarse, within a few kilohertz; SC_NO in *present for noise only. */
struct sc_channel_guess {
  enum sc_truth present;
  double offset_hz;
  double width_hz;
  double level_dbfs;
  double noise_density; /* power per hertz, median of the emptier parts */
};
SC_API struct sc_channel_guess sc_channel_find(const struct sc_trace *whole, double sample_rate_hz);

struct sc_carrier_settings {
  double rate_hz;        /* of channel and composite, from the demodulator */
  double channel_hz;     /* the demodulator's */
  double half_width_hz;  /* the demodulator's */
  double clock_relative_uncertainty; /* NAN: unknown, then uncertainties are against the clock */
};
struct sc_carrier_meter;
SC_API SC_MUST_USE enum sc_error sc_carrier_create(const struct sc_carrier_settings *settings,
                                                   struct sc_carrier_meter **meter);
SC_API void sc_carrier_feed(struct sc_carrier_meter *meter, const float *channel,
                            const float *deviation_khz, size_t frames, bool discontinuity);
/* `air`: spectrum of the whole capture, may be NULL; gives the noise density where it can. */
SC_API void sc_carrier_result(const struct sc_carrier_meter *meter, const struct sc_trace *air,
                              struct sc_carrier *carrier);
SC_API void sc_carrier_reset(struct sc_carrier_meter *meter);
SC_API void sc_carrier_destroy(struct sc_carrier_meter *meter);

#endif
