/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference signals sent through the whole chain. */
#ifndef SIDECOMB_TESTS_ANALYSIS_CHAIN_H
#define SIDECOMB_TESTS_ANALYSIS_CHAIN_H

#include <check.h>

#include <sidecomb/analysis.h>
#include <sidecomb/signal.h>

/* How a signal goes through the chain; the fields that stay 0 have the usual value. */
struct chain {
  struct sc_signal_settings signal;
  enum sc_kind kind;      /* SC_KIND_UNDECIDED: iq */
  double seconds;         /* 0: 1 */
  uint64_t stated_frames; /* what the description says; 0: what there is */
  bool unstated;          /* it does not say how many frames there are */
  double quiet_s;         /* noise without carrier before the signal comes on */
  unsigned times;         /* that both come; 0: once */
  size_t block;           /* frames in a block; 0: 2^15 */
  uint64_t gap_at;        /* the block that begins at or after this frame follows a gap */
  uint64_t asked_every;   /* frames: a result is asked for on the way; 0: never */
  double clock_relative_uncertainty; /* 0: NAN, unknown */
  double centre_hz;
  struct sc_analysis_settings analysis;
};

/* 500 kS/s, a carrier 60 kHz off the centre, 60 dB over the noise in 200 kHz, no modulation. */
struct chain chain_usual(void);
/* A pilot of 6.75 kHz. */
void chain_add_pilot(struct chain *chain);
/* A tone in left and right; amplitudes in kHz of peak deviation when sent in one alone. */
void chain_add_audio(struct chain *chain, double frequency_hz, double left_khz, double right_khz);

/* What the description says of a capture. */
struct sc_source_info chain_info(const struct chain *chain);
/* Feeds the whole signal. */
void chain_feed(const struct chain *chain, struct sc_analysis *analysis);
/* The result of it all; free with sc_result_clear. */
struct sc_result chain_measure(const struct chain *chain);

/* The line nearest to a frequency, or NULL when none is within 5 Hz. */
const struct sc_line *chain_line(const struct sc_line_list *list, double offset_hz);

#endif
