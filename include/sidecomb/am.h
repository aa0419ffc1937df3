/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Amplitude modulation of an FM carrier, wanted by nobody.
 *
 * Definition (common practice; the method of 47 CFR 73.1570 does not cover it): rms of the
 * envelope from 30 Hz to 15 kHz, in dB below the rms that a sine of 100 % amplitude modulation has,
 * that is 20 log10(sqrt(2) rms / mean). Without programme it is AM noise, under programme
 * synchronous AM: whatever makes amplitude of frequency, filters of the transmitter, the air or
 * the receiver. A tone at 30 Hz is read 0.013 dB low, which its uncertainty holds; at 50 Hz 0.002.
 * The capture's white noise is taken off, through a filter that falls from 15 to 18 kHz; `limit_db`
 * is what it would read. After ten seconds one of four is looked at.
 *
 * The receiver's image: x + K conj(x) has an envelope that follows Re(K exp(-2 j phase)); K is
 * found by regression on the received phase itself, with its uncertainty by what the envelope
 * leaves. A transmitter's own AM may pass for a part of it.
 *
 * Input: the filtered channel (complex floats), 80 kS/s or more, any block length. Memory about
 * 0.2 MB, constant; allocates in create only.
 */
#ifndef SIDECOMB_AM_H
#define SIDECOMB_AM_H

#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

struct sc_am {
  struct sc_quantity depth_db;         /* re 100 % AM, without the capture's noise */
  struct sc_quantity limit_db;         /* the capture's noise alone */
  struct sc_quantity at_most_db;       /* where depth_db does not stand above it: all that is there,
                                          the capture's noise included, and three standard
                                          uncertainties; exact */
  struct sc_quantity image;            /* |K|, re the signal */
  struct sc_quantity envelope_percent; /* rms of the whole envelope re its mean, without the
                                          capture's noise */
  double ripple;                       /* rms of the whole envelope re its mean, noise included */
};

struct sc_am_settings {
  double rate_hz;
  double noise_bandwidth_hz; /* of the channel filter, both sides */
};

struct sc_am_meter;
/* SC_BAD_ARGUMENT: a rate below 80 kS/s. */
SC_API SC_MUST_USE enum sc_error sc_am_create(const struct sc_am_settings *settings,
                                              struct sc_am_meter **meter);
SC_API void sc_am_feed(struct sc_am_meter *meter, const float *channel, size_t frames);
/* noise_per_hz: density of the noise over the carrier's power (N0 / C), at most; NAN: unknown. */
SC_API void sc_am_result(const struct sc_am_meter *meter, double noise_per_hz, struct sc_am *am);
SC_API void sc_am_reset(struct sc_am_meter *meter);
SC_API void sc_am_destroy(struct sc_am_meter *meter);
SC_API void sc_am_refuse(struct sc_am *am, const char *why);

#endif
