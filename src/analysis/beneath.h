/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A search for lines beneath the modulation: in what a limiter takes away (measure/remainder.h).
 * A running programme hides them from a search of the spectrum, and here it leaves nothing. */
#ifndef SIDECOMB_ANALYSIS_BENEATH_H
#define SIDECOMB_ANALYSIS_BENEATH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>
#include <sidecomb/result.h>

#include "measure/lines_apart.h"

struct analysis_beneath_settings {
  double rate_hz;                    /* of the filtered channel */
  double channel_hz;                 /* its middle, from the capture's centre */
  double half_width_hz;              /* searched to both sides of it */
  double clock_relative_uncertainty; /* NAN: unknown */
  double false_alarm;
  uint64_t expected_frames;          /* of the channel; 0: unknown */
  const struct measure_apart *apart; /* NULL: none */
};

struct analysis_beneath;
enum sc_error analysis_beneath_create(const struct analysis_beneath_settings *settings,
                                      struct analysis_beneath **beneath);
/* `khz`: demodulated, of each frame; not read while it is idle, between two records. */
void analysis_beneath_feed(struct analysis_beneath *beneath, const float *channel, const float *khz,
                           size_t frames);
/* Of so many frames that come next it asks for nothing. */
uint64_t analysis_beneath_idle(const struct analysis_beneath *beneath);
/* There is a gap in the capture. */
void analysis_beneath_break(struct analysis_beneath *beneath);
void analysis_beneath_leave_out(struct analysis_beneath *beneath, size_t frames);
/* Waits until no record is being looked at; while none is gathered, its memory may be had. */
void analysis_beneath_rest(struct analysis_beneath *beneath);
/* What was found, against the carrier, which must have been measured. The lines are the caller's to
 * free; without a whole record there is none. SC_NO_MEMORY. */
enum sc_error analysis_beneath_lines(struct analysis_beneath *beneath,
                                     const struct sc_carrier *carrier, struct sc_line_list *list);
/* Of the channel. */
double analysis_beneath_rate_hz(const struct analysis_beneath *beneath);
/* Between the means of the envelope, of which it looks at the rest. */
double analysis_beneath_mean_s(const struct analysis_beneath *beneath);
/* From which offset on it looks, and what its records need; false: nobody looked, or there is no
 * whole record. After analysis_beneath_lines. */
bool analysis_beneath_search(const struct analysis_beneath *beneath, struct sc_line_search *search);
/* Largest power per hertz in which it looks for lines, `lower_hz` to `upper_hz` from the capture's
 * centre; NAN: it does not. */
double analysis_beneath_floor(const struct analysis_beneath *beneath, double lower_hz,
                              double upper_hz);
void analysis_beneath_destroy(struct analysis_beneath *beneath);

#endif
