/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stereo pilot: presence, frequency, deviation.
 *
 * Nominal 19 kHz +/-2 Hz, 8 to 10 % of 75 kHz (ITU-R BS.450; 47 CFR 73.322(a)). Searched
 * within +/-20 Hz, the band that 73.322(a) keeps free for it. Claimed only for a steady
 * line: one coherent tone, well above the noise around it.
 *
 * Input: composite as real floats (kHz of deviation, or full scale of a sound card), 44 kS/s or
 * more, any block length. The band around 19 kHz is mixed to zero and decimated to a series of
 * 200 to 240 frames a second, of which 4096 samples are kept: when they are full they are turned
 * back by the frequency known by then and added in pairs. The tone is the maximum of the
 * likelihood over the whole record, less the 0.1 s that the filters take to start.
 *
 * Frequency and amplitude reach the Cramer-Rao bound in the discriminator's noise (frequency:
 * sqrt(3 G / (pi^2 a^2 T^3)), G the noise density at 19 kHz, a the deviation; Rife and Boorstyn
 * 1974) apart from those 0.1 s: 1.1 times the bound for a record of 2 s. Their uncertainties use
 * the noise density that is measured around the tone, and widen when the tone wanders.
 *
 * Presence: SC_YES for a line of E >= 16 dB that noise passes in less than 1e-6 of all results,
 * of 1 % of 75 kHz or more (without absolute scale, of the composite's rms), coherent within
 * -17 dB: modulation, jitter or fading of more than that is SC_NO. SC_UNKNOWN: a record below
 * 0.4 s, or a line below 1 %. A gap breaks the coherence: stretches are combined by their weights.
 * So does a jump of the phase between stretches of steady tone of one frequency, as samples that a
 * receiver lost unmarked make it (by 0.3 radians or more, none within a third of a second of
 * another).
 *
 * Memory: about 0.6 MB, constant; allocates in create only.
 */
#ifndef SIDECOMB_PILOT_H
#define SIDECOMB_PILOT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

#define SC_PILOT_NOMINAL_HZ 19000.0
#define SC_PILOT_TOLERANCE_HZ 2.0
#define SC_PILOT_SEARCH_HZ 20.0

struct sc_pilot {
  enum sc_truth present;
  const char *why;                    /* evidence, or why not */
  struct sc_quantity frequency_hz;
  struct sc_quantity frequency_error_hz; /* from 19 kHz */
  enum sc_truth within_tolerance;     /* +/-2 Hz; SC_UNKNOWN when the clock cannot tell */
  struct sc_quantity deviation_khz;   /* not measured without an absolute scale */
  struct sc_quantity amplitude;       /* in the input's unit (kHz, or full scale) */
  struct sc_quantity injection_percent; /* of 75 kHz */
  double phase_rad;                   /* sine phase at the first frame fed; NAN after a gap
                                         when the stretch before it showed no pilot */
  double steadiness_db;               /* power off the tone within +/-20 Hz, re the tone */
  size_t jumps;                       /* of the phase: moments where samples are missing */
  double snr_db;                      /* E = power * time / noise density, in dB */
};

struct sc_pilot_settings {
  double rate_hz;
  bool absolute;       /* input is kHz of deviation */
  double clock_relative_uncertainty; /* NAN: unknown */
};
struct sc_pilot_meter;
SC_API SC_MUST_USE enum sc_error sc_pilot_create(const struct sc_pilot_settings *settings,
                                                 struct sc_pilot_meter **meter);
SC_API void sc_pilot_feed(struct sc_pilot_meter *meter, const float *composite, size_t frames,
                          bool discontinuity);
SC_API void sc_pilot_result(const struct sc_pilot_meter *meter, struct sc_pilot *pilot);
SC_API void sc_pilot_reset(struct sc_pilot_meter *meter);
SC_API void sc_pilot_destroy(struct sc_pilot_meter *meter);

#endif
