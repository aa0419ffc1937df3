/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Left and right as a radio recovered them: what the test audio (sequence.h) says of the way
 * through transmitter and receiver, and what can be said without it.
 *
 * The first whole sequence in the recording is judged, whatever stands before and after it. Its
 * chirps are found by matched filters; the line-up tone's frequency gives the ratio of the two
 * clocks, and every part is then looked for where the schedule says.
 *
 * Definitions (general ones of the trade; those of IEC 60268-3 could not be read):
 * level: of a sine, re a sine that reaches full scale. THD+N: rms of all but the fundamental from
 * 30 Hz to 15 kHz over the total rms in that band; SINAD is its inverse. Signal to noise: rms of
 * the line-up tone over the rms of the silent part, 30 Hz to 15 kHz unweighted, 20 Hz to 20 kHz
 * with A (IEC 61672-1), or over its mean quasi-peak reading by ITU-R BS.468-4. Separation: level
 * of a tone that was sent in one channel alone, there over in the other channel. Balance and
 * phase: left re right, at the line-up tone. Response: level as received over as sent.
 *
 * Uncertainties (k = 1) come from the noise around the tone, or from the scatter of the blocks of
 * the part. What is lost in noise is not measurable, and the limit says how much would be seen.
 *
 * Input: 32 to 192 kHz, interleaved doubles, full scale 1; one channel (a mono recording) or two.
 * Memory: 16 MB at 48 kHz, in proportion to the rate, whatever the length; allocates in create
 * only.
 */
#ifndef SIDECOMB_AUDIO_H
#define SIDECOMB_AUDIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>
#include <sidecomb/sequence.h>

enum sc_channel_order { SC_ORDER_UNKNOWN, SC_ORDER_NORMAL, SC_ORDER_SWAPPED, SC_ORDER_IDENTICAL };
/* "normal", "swapped", "identical"; NULL when unknown. */
SC_API const char *sc_channel_order_name(enum sc_channel_order order);

struct sc_audio;
/* What was sent in both channels came back in one of them upside down. */
SC_API bool sc_audio_inverted(const struct sc_audio *audio);

/* Of a channel as recorded. With the sequence: the line-up tone, thd_n and sinad of it, and the
 * noise of the silent part. Without: the tone that dominates, and no noise. */
struct sc_audio_channel {
  struct sc_quantity rms_dbfs;     /* of all that was fed, re the rms of a full-scale sine; exact */
  struct sc_quantity peak_dbfs;    /* largest sample of all that was fed; exact */
  struct sc_quantity flat_percent; /* of all samples, within a half percent of peaks that are cut
                                      off flat as no sine and no sum of sines is; exact */
  struct sc_quantity frequency_hz; /* by the recording's clock */
  struct sc_quantity level_dbfs;
  struct sc_quantity thd_n_db, sinad_db;
  struct sc_quantity snr_db, snr_weighted_db /* BS.468-4, quasi-peak */, snr_a_db;
  struct sc_quantity compression_db; /* 6 dB less what the level fell by when 6 dB less was sent */
};

enum { SC_AUDIO_POINTS = 2 * SC_COMB_TONES };
/* A tone of the combs, as measured in its own channel and against the other. */
struct sc_audio_point {
  double frequency_hz;            /* as sent */
  bool right;                     /* sent on the right */
  struct sc_quantity response_db; /* re the comb's level at 1 kHz, interpolated */
  struct sc_quantity separation_db;
};

/* Network that the response follows best, between what was sent and what came back. */
enum sc_audio_law {
  SC_LAW_UNKNOWN,
  SC_LAW_FLAT,
  SC_LAW_DEEMPHASIS_50, /* as if 50 us were taken off that nobody had put on */
  SC_LAW_DEEMPHASIS_75,
  SC_LAW_PREEMPHASIS_50, /* put on, and nobody took it off */
  SC_LAW_PREEMPHASIS_75,
  SC_LAW_50_LESS_75, /* 50 us put on, 75 us taken off */
  SC_LAW_75_LESS_50,
  SC_LAWS
};
/* A few words; NULL when unknown. */
SC_API const char *sc_audio_law_name(enum sc_audio_law law);

struct sc_audio {
  const char *basis;      /* which samples were judged; NULL: none */
  enum sc_truth sequence; /* the test audio was found; whole where `why` is NULL */
  const char *why;        /* why it was not, or what of it is missing */
  const char *evidence;   /* `why`, or that all of it was found */
  uint64_t sequences;     /* beginnings that were found */
  struct sc_quantity sequence_start_s;
  struct sc_quantity clock_error_ppm; /* the recording's sample clock re the player's */
  struct sc_quantity slip_us; /* samples that the recording gained (+) or lost: distance of the
                                 chirps less what the clocks explain */
  struct sc_audio_channel channel[2];
  struct sc_quantity correlation; /* of all that was fed: exact */
  enum sc_channel_order order;
  const char *order_why; /* evidence, or why it cannot be known */
  /* Of the marked tones, in the order as sent: tone on the left, level there over on the right.
   * Where the channels are swapped, that is taken back first. */
  struct sc_quantity separation_left_to_right_db, separation_right_to_left_db;
  struct sc_quantity separation_limit_db; /* the largest that the noise would let be seen, or the
                                             rounding: half a step where nothing covers it */
  struct sc_quantity balance_db, phase_deg;
  struct sc_audio_point points[SC_AUDIO_POINTS]; /* by frequency */
  const char *points_why;                        /* not NULL: none, and why */
  enum sc_audio_law law;
  struct sc_quantity law_rms_db; /* what is left when the law is taken off, 40 Hz to 13 kHz */
  /* The same for these laws, whichever is the best. */
  struct sc_quantity flat_db;
  struct sc_quantity deemphasis_50_db, deemphasis_75_db, preemphasis_50_db, preemphasis_75_db;
  struct sc_quantity comb_compression_db; /* like compression_db, mean of the combs' tones */
  /* The walk. Mono: the one channel, or half the sum of the two. Its level is fitted by
   * |p exp(j phi/2) + q exp(-j phi/2)|; p = q gives |cos(phi/2)|. */
  struct sc_quantity walk_null_db;       /* highest over lowest level of that fit */
  struct sc_quantity walk_null_limit_db; /* the deepest null that the noise would let be seen */
  struct sc_quantity walk_null_deg;      /* phase at which it is lowest; 180 by the law */
  struct sc_quantity walk_law_db;    /* largest departure of the mono level from |cos(phi/2)|, where
                                        that is above 0.1; exact */
  struct sc_quantity walk_ripple_db; /* highest over lowest level of the less steady channel by the
                                        same fit; 0 by the law of stereo */
  struct sc_quantity
      walk_phase_deg; /* largest departure of the phase between the channels; exact */
};

struct sc_audio_settings {
  double rate_hz;
  unsigned channels; /* 1 or 2 */
  double step;       /* of the samples' rounding, full scale 1; 0: not known */
};

struct sc_audio_meter;
/* SC_BAD_ARGUMENT: a rate or a number of channels outside the range. */
SC_API SC_MUST_USE enum sc_error sc_audio_create(const struct sc_audio_settings *settings,
                                                 struct sc_audio_meter **meter);
/* Any number of frames; what is not finite counts as 0. A discontinuity inside a sequence ends its
 * judgement; a later one is then taken. */
SC_API void sc_audio_feed(struct sc_audio_meter *meter, const double *samples, size_t frames,
                          bool discontinuity);
/* May be asked at any time. */
SC_API void sc_audio_result(struct sc_audio_meter *meter, struct sc_audio *audio);
/* Everything not measured, for one reason. */
SC_API void sc_audio_refuse(struct sc_audio *audio, const char *why);
SC_API void sc_audio_reset(struct sc_audio_meter *meter);
SC_API void sc_audio_destroy(struct sc_audio_meter *meter);

#endif
