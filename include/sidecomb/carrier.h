/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Carrier: presence, offset, level and carrier-to-noise ratio of one FM channel.
 *
 * Input: the filtered channel (complex floats, I and Q interleaved) and the composite (kHz), both
 * at rate_hz and aligned, as the demodulator gives them; any block length.
 *
 * Presence: FM has a constant envelope, noise has not. With carrier power C and complex Gaussian
 * noise of power N the channel's power has the mean C + N and the variance 2 C N + N^2. SC_YES
 * when mean^2 - variance is 6 standard deviations above what noise alone makes of it, otherwise
 * SC_NO: in 2 s of a 400 kHz channel that is a carrier below about -9 dB.
 *
 * Level: power of the channel less its noise, which is the unmodulated carrier's power (dBc refers
 * to it). Noise density: from the emptiest part of the spectrum where the capture has room beyond
 * +/-150 kHz, otherwise from the moments above; then all that changes the envelope counts as
 * noise, and the carrier-to-noise ratio is what the capture shows at least. Carrier-to-noise ratio:
 * in 200 kHz.
 *
 * Offset: mean instantaneous frequency under a taper (1 - u^2)^p over the record, p = 1 to 4. The
 * first is the best linear estimate for an unmodulated carrier (S. A. Tretter, IEEE Trans. Inf.
 * Theory IT-31, 1985): it reaches the Cramer-Rao bound sqrt(6 N0 / (C T^3)) / (2 pi). The last lets
 * least of the modulation through, at 1.71 times that bound. The first that agrees with the last
 * is taken. Its uncertainty: noise, the scatter of the record's parts beyond noise, which
 * modulation below 20 Hz and a wandering carrier show, and how far the mean of the parts is from
 * the whole record's, which a programme that sets in or ends shows. Not measured below the FM
 * threshold (10 dB in the channel's noise bandwidth), where a discriminator clicks. A gap breaks
 * the record: stretches are weighted with the cube of their lengths.
 *
 * Drift: slope of the line that fits the instantaneous frequency best (weighted least squares,
 * textbook) under the taper p = 3 over the longest stretch without a gap. Its uncertainty: noise,
 * and what the means of 5 to 11 equal parts scatter beyond it about a line, which modulation and a
 * drift of no constant rate enlarge, as if the power of that went with 1 / f, as of pink noise.
 * `drifts` is SC_YES where chance makes such a slope less than once in 1e5 records (Student's t);
 * else the drift is told as a bound, the slope's size and two uncertainties. What comes from the
 * transmitter and what from the receiver's clock nobody can tell here.
 *
 * Wander: the course of the frequency over the longest stretch without a gap, seen through sliding
 * windows of 0.35 s (weighted parabolas), or longer ones beneath a programme and shorter ones where
 * nothing hides a faster movement. `wanders` is SC_YES where that course is smooth, as it is of an
 * oscillator and not of modulation (von Neumann's ratio; src/measure/wander.h), and departs from a
 * straight line by 0.2 Hz rms, which blurs lines; how much is told only then. Movements faster than
 * about 3 Hz are of the modulation. Uncertainties come from third differences of the course.
 *
 * Memory: about 150 kB, constant; allocates in create only.
 */
#ifndef SIDECOMB_CARRIER_H
#define SIDECOMB_CARRIER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

/* Less without a gap tells nothing: common practice, no source. */
#define SC_CARRIER_SHORTEST_S 0.01

struct sc_carrier {
  enum sc_truth present;
  const char *why;              /* evidence, or why it cannot be told */
  struct sc_quantity offset_hz; /* from the capture's centre */
  struct sc_quantity level_dbfs;
  struct sc_quantity cnr_db; /* in cnr_bandwidth_hz */
  struct sc_quantity cnr_bandwidth_hz;
  struct sc_quantity noise_density_dbfs_hz;
  enum sc_truth above_threshold;         /* the FM threshold: below it no composite is measured;
                                            SC_UNKNOWN without a carrier */
  struct sc_quantity drift_hz_s;         /* the slope, sure or not */
  struct sc_quantity told_drift_hz_s;    /* where it is sure */
  struct sc_quantity drift_at_most_hz_s; /* where it is not */
  enum sc_truth drifts;                  /* surely; SC_UNKNOWN where drift_hz_s was not measured */
  enum sc_truth wanders;                 /* surely; SC_UNKNOWN where it is too short to be seen */
  struct sc_quantity wander_rms_hz;      /* about the straight line that fits its course best */
  struct sc_quantity wander_span_hz;     /* from the lowest to the highest */
  struct sc_quantity wander_period_s;    /* where it goes to and fro as a sine does */
};

/* Finds the channel in a spectrum of the whole capture: the 200 kHz with most power above the
 * noise floor (25 % quantile), centred on its centre of gravity, which for FM is its mean
 * frequency. Coarse, within a few kilohertz. A line at zero, where receivers put one of their own,
 * is taken only when nothing else comes within 20 dB of it, or when what is beside it has more than
 * a hundredth of its power and the strongest other channel has less. SC_NO: no line passes the
 * threshold that noise passes once in 1e6, and no 200 kHz are 1 dB above the floor. SC_UNKNOWN: no
 * trace. */
struct sc_channel_guess {
  enum sc_truth present;
  double offset_hz;
  double width_hz;
  double level_dbfs;
  double noise_density; /* power per hertz, median of the emptier parts */
};
SC_API struct sc_channel_guess sc_channel_find(const struct sc_trace *whole, double sample_rate_hz);

struct sc_carrier_settings {
  double rate_hz;                    /* of channel and composite, from the demodulator */
  double channel_hz;                 /* the demodulator's */
  double half_width_hz;              /* the demodulator's */
  double noise_bandwidth_hz;         /* the demodulator's; 0: guessed from half_width_hz */
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
