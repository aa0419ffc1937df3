/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that is measured of a real signal: the composite, or one channel of audio. */
#ifndef SIDECOMB_ANALYSIS_BASEBAND_H
#define SIDECOMB_ANALYSIS_BASEBAND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/composite.h>
#include <sidecomb/error.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

#include "measure/lines_apart.h"

struct analysis_baseband_settings {
  double rate_hz;
  double top_hz;  /* looked at up to here */
  bool composite; /* else audio: no pilot */
  bool absolute;  /* samples are kHz of deviation */
  bool lines;
  double deemphasis_us;
  const char *audio_path; /* NULL: decoded audio is not written */
  bool audio_keep;
  double clock_relative_uncertainty;
  double false_alarm;
  uint64_t expected_frames; /* 0: unknown */
  double start_s;           /* of the capture before the first frame fed */
  enum sc_rds_region rds_region;
  size_t rds_groups;                 /* to list */
  const struct measure_apart *apart; /* looks at records for lines; NULL: the caller does */
};

enum { ANALYSIS_RECORD_MAX = 1 << 19 }; /* frames that a search for lines looks at in one */

struct analysis_baseband;
enum sc_error analysis_baseband_create(const struct analysis_baseband_settings *settings,
                                       struct analysis_baseband **baseband);
void analysis_baseband_feed(struct analysis_baseband *baseband, const float *samples, size_t frames,
                            bool discontinuity);
/* So many frames of expected_frames are not fed. */
void analysis_baseband_leave_out(struct analysis_baseband *baseband, size_t frames);
/* Fills all that is measured of the composite, and the lines, of `result`. SC_NO_MEMORY.
 * `image`: see struct sc_stereo_context. */
enum sc_error analysis_baseband_result(struct analysis_baseband *baseband,
                                       const struct sc_composite_noise *noise, double image,
                                       struct sc_result *result);
/* Completes the file of decoded audio, where one is wanted. */
enum sc_error analysis_baseband_save_audio(struct analysis_baseband *baseband,
                                           struct sc_message *message);
void analysis_baseband_trace(struct analysis_baseband *baseband, struct sc_trace *trace);
void analysis_baseband_destroy(struct analysis_baseband *baseband);

#endif
