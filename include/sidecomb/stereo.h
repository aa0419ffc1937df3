/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sum and difference, left and right, and what mode the transmitter is in.
 *
 * Definitions (ITU-R BS.450-3, 2.1; 47 CFR 73.322(a)): the composite is M + S sin(2 w t) + pilot
 * sin(w t), M = (L + R) / 2, S = (L - R) / 2. Sum: M up to 15 kHz, less its mean. Difference: S as
 * decoded by twice the pilot's phase, so that rms and peak of sum and difference compare; its two
 * side bands together deviate the carrier by S. Left = M + S, right = M - S, both as sent, with
 * pre-emphasis.
 * - Phase error: of the subcarrier against twice the pilot's phase, positive when the subcarrier
 *   leads; the direction in which the decoded difference varies most (its noise is the same in all
 *   directions), so a residual carrier of any phase does not move it. In mode stereo only. Its
 *   uncertainty holds the noise of the difference, also with itself, and that of the pilot's phase.
 * - Residual: what is left of the 38 kHz carrier, peak, in percent of 75 kHz (47 CFR 73.322(a)(5):
 *   less than 1 %). Its uncertainty follows from the noise that is measured within 23 Hz of
 *   38 kHz and from the receiver's image where that falls on the signal; where a programme reaches
 *   as close as that, from its part in the same direction, a few 1 / T (T: the record) from 38 kHz.
 *   There the value is only stated when it is claimed, and else it stays open. `residual_present`
 *   is SC_YES when noise passes the value less than once in 1e6 captures (5.26 sigma of an
 *   amplitude), given that a programme rises no steeper towards 38 kHz than pink noise does down to
 *   2 Hz. One about as weak as the noise is not always told from it and passes once in 1e4.
 * - Separation: level of a steady tone in the channel where it is strong over that in the other
 *   (47 CFR 73.310). That the tone was meant for one channel only is an assumption that a capture
 *   cannot prove; it is made for tones that stand 10 dB apart, else nothing is claimed. Where the
 *   other channel shows nothing of it, a bound is given that chance breaks once in 700 captures.
 * - Balance: left rms over right rms. Correlation: of left with right, -1 to 1.
 * - Noise is taken off powers: that of the difference is what stands in quadrature to it.
 *
 * Input: composite as real floats, 112 kS/s or more (else nothing but why), any block length.
 * Memory about 1.5 MB, constant; allocates in create only.
 */
#ifndef SIDECOMB_STEREO_H
#define SIDECOMB_STEREO_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/composite.h>
#include <sidecomb/error.h>
#include <sidecomb/pilot.h>
#include <sidecomb/quantity.h>

enum sc_stereo_mode {
  SC_MODE_UNKNOWN,
  SC_MODE_NONE,        /* there is no composite */
  SC_MODE_UNMODULATED, /* nothing of pilot, sum and difference */
  SC_MODE_PILOT_ONLY,
  SC_MODE_MONO,   /* sum, with or without pilot, no difference */
  SC_MODE_STEREO, /* pilot and difference */
  SC_MODE_DIFFERENCE_WITHOUT_PILOT
};
/* "pilot_only" and so on; NULL for SC_MODE_UNKNOWN. */
SC_API const char *sc_stereo_mode_name(enum sc_stereo_mode mode);

enum { SC_STEREO_EVIDENCE_LENGTH = 260 };

struct sc_stereo {
  enum sc_stereo_mode mode;
  char evidence[SC_STEREO_EVIDENCE_LENGTH];     /* for the mode, or why it cannot be told */
  struct sc_quantity sum_rms_khz, sum_peak_khz; /* peaks are held, raw */
  struct sc_quantity sum_level_db75, sum_level_db_pilot; /* of a sine of the same rms */
  struct sc_quantity difference_rms_khz, difference_peak_khz;
  struct sc_quantity difference_level_db75, difference_level_db_pilot;
  struct sc_quantity phase_error_deg;
  struct sc_quantity residual_percent;
  struct sc_quantity residual_level_db_pilot;
  struct sc_quantity residual_limit_percent; /* exact: a residual of so much is seen in 95 % of
                                                such captures */
  enum sc_truth residual_present;
  struct sc_quantity left_rms_khz, right_rms_khz;
  struct sc_quantity separation_left_to_right_db, separation_right_to_left_db;
  /* Where nothing of the tone stands above the noise in the other channel: the bound, exact. */
  struct sc_quantity separation_left_to_right_at_least_db, separation_right_to_left_at_least_db;
  struct sc_quantity separation_left_hz, separation_right_hz; /* of the tones */
  struct sc_quantity balance_db;
  struct sc_quantity correlation;
  struct sc_quantity
      interchannel_phase_deg; /* left ahead of right, of the strongest tone in both */
  struct sc_quantity interchannel_hz;
  struct sc_quantity crosstalk_sum_to_difference_db; /* where only the sum carries programme */
  struct sc_quantity crosstalk_difference_to_sum_db;
  struct sc_quantity hum_db; /* see noise.h; in silence only */
  struct sc_quantity hum_limit_db;
  /* Where nothing stands above the capture's noise: it is no more; exact. */
  struct sc_quantity crosstalk_sum_to_difference_at_most_db;
  struct sc_quantity crosstalk_difference_to_sum_at_most_db;
  struct sc_quantity hum_at_most_db;
  double noise_per_hz; /* N0 / C of a discriminator by the noise in quadrature to the difference,
                          which distortion enlarges; NAN: unknown */
  struct sc_quantity crosstalk_limit_db; /* what the capture's noise lets be seen of either */
};

struct sc_stereo_settings {
  double rate_hz;
  bool absolute;        /* input is kHz of deviation */
  double deemphasis_us; /* of the hum and noise, and of the decoded audio; 0: none */
};

/* What is known from elsewhere when a result is asked for. */
struct sc_stereo_context {
  const struct sc_pilot *pilot;
  const struct sc_composite_noise *noise;
  double image;    /* amplitude of the receiver's image on the signal, re the signal; 0: none there;
                      NAN: it falls onto the signal and cannot be measured */
  double hum_khz2; /* mean square of what in the sum is known to be mains hum: it is no programme,
                      where nothing else worth a tenth of it is there */
};

/* One stretch of decoded audio, left and right interleaved, in the input's unit. */
struct sc_stereo_audio {
  const float *sent;  /* with the transmitter's pre-emphasis */
  const float *heard; /* behind de-emphasis */
  size_t frames;
};

struct sc_stereo_meter;
SC_API SC_MUST_USE enum sc_error sc_stereo_create(const struct sc_stereo_settings *settings,
                                                  struct sc_stereo_meter **meter);
/* Rate of the decoded audio; 0: the input is too slow for a stereo decoder. */
SC_API double sc_stereo_audio_rate(const struct sc_stereo_meter *meter);
/* Feeds frames <= SC_STEREO_FEED_MAX; what could be decoded by now is returned, valid until the
 * next call. Without a pilot left and right are both the sum. */
enum { SC_STEREO_FEED_MAX = 1 << 14 };
SC_API struct sc_stereo_audio sc_stereo_feed(struct sc_stereo_meter *meter, const float *composite,
                                             size_t frames, bool discontinuity);
SC_API void sc_stereo_result(const struct sc_stereo_meter *meter,
                             const struct sc_stereo_context *context, struct sc_stereo *stereo);
SC_API void sc_stereo_reset(struct sc_stereo_meter *meter);
SC_API void sc_stereo_destroy(struct sc_stereo_meter *meter);
/* Everything not measured, for one reason. */
SC_API void sc_stereo_refuse(struct sc_stereo *stereo, enum sc_stereo_mode mode, const char *why);

#endif
