/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Changing the rate by whole factors in double precision, without any shift in time.
 *
 * The slow parts of a composite are made at an audio rate and raised to the rate of the FM
 * modulation; the modulated carrier is then band-limited and lowered to the capture's rate.
 * Images and aliases are below -130 dB. A filter looks ahead by half its length, so its user
 * feeds it from that much before the first output on: then output n is the input at time n.
 */
#ifndef SIDECOMB_SIGNAL_RATE_H
#define SIDECOMB_SIGNAL_RATE_H

#include <stddef.h>

#include <sidecomb/error.h>

/* Slow frames that are raised in one go. */
enum { SIGNAL_SLOW = 16 };

/* The taps of an interpolation, shared by all streams of one rate. */
struct signal_raise {
  size_t factor;
  size_t length; /* slow samples that enter one output */
  size_t ahead;  /* slow samples of look-ahead */
  size_t stride; /* of the table's rows */
  double *table; /* length rows of factor taps and zeros, newest sample's row first */
};
/* Flat from 0 to pass_hz, images of that band removed. */
enum sc_error signal_raise_create(size_t factor, double pass_hz, double slow_rate_hz,
                                  struct signal_raise **raise);
void signal_raise_destroy(struct signal_raise *raise);

struct signal_stream;
enum sc_error signal_stream_create(const struct signal_raise *raise, struct signal_stream **stream);
/* Before the first run, length - 1 times: a sample that only fills the past. */
void signal_stream_prime(struct signal_stream *stream, double value);
/* SIGNAL_SLOW samples in, SIGNAL_SLOW * factor out. */
void signal_stream_run(struct signal_stream *stream, const double *slow, double *fast);
void signal_stream_destroy(struct signal_stream *stream);

/* Complex frames of a fast rate to rate / factor, flat to 0.44 of the slow rate and down by
 * 130 dB from half the slow rate on. A factor of 1 passes everything. */
struct signal_lower;
enum sc_error signal_lower_create(size_t factor, struct signal_lower **lower);
/* Fast frames of look-ahead: the first output stands where the input with this index stood. */
size_t signal_lower_ahead(const struct signal_lower *lower);
/* Leaves out that many fast frames to come, so that the feeding may begin earlier. */
void signal_lower_skip(struct signal_lower *lower, size_t frames);
/* Frames in any number up to SIGNAL_LOWER_MAX; returns the number of frames written. */
enum { SIGNAL_LOWER_MAX = 4096 };
size_t signal_lower_run(struct signal_lower *lower, const double *fast, size_t frames,
                        double *slow);
void signal_lower_destroy(struct signal_lower *lower);

#endif
