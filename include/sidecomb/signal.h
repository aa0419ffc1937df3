/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact reference signals: the composite, its FM modulation, and what happens on the way.
 *
 * composite(t) [kHz] = sum + difference * sin(2 w t + 2 q) + pilot * sin(w t + q) + tones,
 * w = 2 pi 19 kHz, q = pilot_phase_rad (the form of ITU-R BS.450 and 47 CFR 73.322: the 38 kHz
 * subcarrier crosses zero with positive slope wherever the pilot crosses zero; it follows the
 * pilot's frequency and phase). IQ = level exp(j phase), the phase integrated in closed form,
 * so that no integration error enters; the constant of integration is zero for each part, so a
 * part A sin(2 pi f t + p) adds -(A/f) cos(2 pi f t + p) radians. Double precision throughout,
 * phases exact to 1e-15 turns over hours.
 *
 * The IQ is sampled at rate_hz as it stands: FM lines beyond half the rate fold back, as they
 * do in no receiver. Where that matters choose a higher rate.
 *
 * Memory is constant; nothing is allocated after create. A handle may be moved between threads.
 */
#ifndef SIDECOMB_SIGNAL_H
#define SIDECOMB_SIGNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

enum { SC_SIGNAL_TONES_MAX = 64 };

/* A tone somewhere: amplitude in the unit of its place, sine phase at t = 0. */
struct sc_signal_tone {
  double frequency_hz;
  double amplitude;
  double phase_rad;
};

/* Zero-filled settings with a rate and a cnr_db make an unmodulated carrier; start from
 * sc_signal_settings_init, since a cnr_db of zero means 0 dB. */
struct sc_signal_settings {
  double rate_hz;             /* of the IQ or composite that comes out */
  /* the composite, deviations in kHz (peak) */
  double pilot_khz, pilot_hz, pilot_phase_rad; /* pilot_hz 0: 19000 */
  struct sc_signal_tone left[SC_SIGNAL_TONES_MAX];  /* kHz that the tone makes of the sum plus
                                                       difference when sent in this channel only:
                                                       left A gives sum A/2 and difference A/2 */
  size_t left_count;
  struct sc_signal_tone right[SC_SIGNAL_TONES_MAX];
  size_t right_count;
  struct sc_signal_tone composite[SC_SIGNAL_TONES_MAX]; /* free tones on the composite, kHz */
  size_t composite_count;
  double residual_khz, residual_phase_rad; /* 38 kHz carrier, phase against the subcarrier */
  bool mono;                  /* no difference signal */
  /* on the way */
  double level;               /* amplitude of the carrier, re full scale; 0: 0.5 */
  double carrier_offset_hz;
  struct sc_signal_tone carriers[SC_SIGNAL_TONES_MAX]; /* one-sided carriers: offset from the
                                                          capture's centre, amplitude re carrier,
                                                          exp(j (2 pi f t + phase)) */
  size_t carrier_count;
  bool no_carrier;            /* noise and one-sided carriers only, scaled as if it were there */
  double cnr_db;              /* in cnr_bandwidth_hz, white over the whole rate; NAN: noise-free */
  double cnr_bandwidth_hz;    /* 0: 200 kHz */
  uint64_t seed;              /* of the noise; the same on every machine */
};

/* An unmodulated carrier at 384 kS/s without noise. */
SC_API void sc_signal_settings_init(struct sc_signal_settings *settings);

struct sc_signal;
/* SC_BAD_ARGUMENT: a rate that is not positive, a number that is not finite (cnr_db may be
 * NAN), more tones than there is room for. The settings are copied. */
SC_API SC_MUST_USE enum sc_error sc_signal_create(const struct sc_signal_settings *settings,
                                                  struct sc_signal **signal);
/* Next frames, continuing where the last call ended; the first is t = 0. IQ: frames * 2
 * doubles, full scale 1. How the frames are divided into calls does not change them. */
SC_API void sc_signal_iq(struct sc_signal *signal, double *iq, size_t frames);
/* The composite in kHz: frames doubles. Use either this or sc_signal_iq on one handle. */
SC_API void sc_signal_composite(struct sc_signal *signal, double *khz, size_t frames);
/* Accepts NULL. */
SC_API void sc_signal_destroy(struct sc_signal *signal);

#endif
