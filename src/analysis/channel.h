/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that is measured of one FM channel of an IQ capture, once it is known where the
 * channel is: carrier, lines on air, and the composite with all that is measured of it. */
#ifndef SIDECOMB_ANALYSIS_CHANNEL_H
#define SIDECOMB_ANALYSIS_CHANNEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

enum { ANALYSIS_CHANNEL_RUN = 1 << 14 };

struct analysis_channel_settings {
  double sample_rate_hz;
  double channel_hz; /* the channel's middle, from the capture's centre */
  double centre_hz;  /* tuned frequency, 0: unknown */
  bool lines;
  double deemphasis_us;
  const char *audio_path; /* NULL: decoded audio is not written */
  bool audio_keep;
  double clock_relative_uncertainty; /* NAN: unknown */
  double false_alarm;
  uint64_t expected_frames; /* 0: unknown */
  double start_s;           /* of the capture before the first frame fed */
  enum sc_rds_region rds_region;
  size_t rds_groups;
  unsigned threads; /* more than four are of no use */
};

struct analysis_beneath;
struct analysis_channel;
/* Errors of sc_demodulator_create: SC_BAD_ARGUMENT for a rate outside its range, SC_UNSUPPORTED
 * for a channel too near to the capture's edge. */
enum sc_error analysis_channel_create(const struct analysis_channel_settings *settings,
                                      struct analysis_channel **channel);
/* ANALYSIS_CHANNEL_RUN complex samples at most. False: these hold no carrier, as far as can be told
 * by now, and are of no use to others either (see analysis/stretches.h). */
bool analysis_channel_feed(struct analysis_channel *channel, const float *iq, size_t frames,
                           bool discontinuity);
/* A carrier has come; what was measured before it was none. */
bool analysis_channel_begun(const struct analysis_channel *channel);
/* Without a carrier, and so left out. */
double analysis_channel_left_out_s(const struct analysis_channel *channel);
/* With it, after the result, each later by `start_s`. */
void analysis_channel_carried(const struct analysis_channel *channel, double start_s,
                              struct sc_passages *carried);
/* Holes amid the signal, each shorter than a tenth of a second (analysis/holes.h). */
uint64_t analysis_channel_holes(const struct analysis_channel *channel);
/* Fills carrier, composite, pilot and lines of `result`. `air`: spectrum of the whole capture.
 * SC_NO_MEMORY. */
enum sc_error analysis_channel_result(struct analysis_channel *channel, const struct sc_trace *air,
                                      struct sc_result *result);
/* The search beneath the modulation; NULL: lines are not asked for, or there is no channel. */
struct analysis_beneath *analysis_channel_beneath(struct analysis_channel *channel);
/* Amplitude of a receiver's image that falls on the signal itself, by the last result; 0: there is
 * none, it was not to be told, or there is no channel. */
double analysis_channel_image(const struct analysis_channel *channel);
/* What the channel's filter keeps to either side of its middle. */
double analysis_channel_half_width(const struct analysis_channel *channel);
enum sc_error analysis_channel_save_audio(struct analysis_channel *channel,
                                          struct sc_message *message);
/* Spectrum of the composite. */
void analysis_channel_trace(struct analysis_channel *channel, struct sc_trace *trace);
void analysis_channel_destroy(struct analysis_channel *channel);

#endif
