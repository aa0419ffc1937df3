/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Discrete lines of a spectrum: found at a stated false-alarm rate, measured between bins.
 *
 * Records of up to SC_LINES_RECORD_MAX frames are transformed coherently in double
 * precision. Detection: averaged power against a local noise floor from order statistics.
 * Estimation: joint least squares over neighbouring lines in a lightly tapered record,
 * near the Cramer-Rao bound (Rife and Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974).
 *
 * Real input is treated as complex with zero imaginary part and only positive frequencies
 * are reported; a real tone A cos(...) then has power A^2/2.
 */
#ifndef SIDECOMB_LINES_H
#define SIDECOMB_LINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

enum { SC_LINES_RECORD_MAX = 1 << 20, SC_LINES_MAX = 256 };

struct sc_lines_settings {
  double sample_rate_hz;
  bool complex_input;
  double lower_hz, upper_hz; /* searched part, in the input's own frequencies */
  double false_alarm;        /* chance of one false line in a whole result; 0: 1e-3 */
  uint64_t expected_frames;  /* 0: unknown */
  size_t lines_max;          /* strongest kept; 0 or more than SC_LINES_MAX: SC_LINES_MAX */
};

/* One measured line, no meaning attached. Uncertainties k = 1. */
struct sc_tone {
  struct sc_quantity frequency_hz; /* in the input's own frequencies */
  struct sc_quantity level_db;     /* power re full scale 1 (complex), re A = 1 as A^2/2 (real) */
  double amplitude;                /* |A|: complex exponential's, or the real tone's peak */
  double amplitude_uncertainty;
  double phase_rad;                /* of the complex exponential (cosine phase of a real tone)
                                      at the first frame of the last record */
  double phase_uncertainty_rad;
  double snr_db;                   /* E = power * record length / noise density, in dB */
  double noise_density;            /* power per hertz around it (two-sided for real input) */
  double coherence;                /* 0 to 1: steadiness of the complex amplitude over records */
};

struct sc_lines_result {
  const struct sc_tone *tones; /* by frequency; valid until the next call */
  size_t count;
  double record_s;             /* length of one coherent record */
  uint64_t records;
  double coverage;             /* share of the fed frames that went into records */
  double threshold_db;         /* peak over floor that a line needed, for the stated rate */
  double false_alarm;
  double resolution_hz;
  bool full;                   /* more lines were found than lines_max */
};

struct sc_lines;
SC_API SC_MUST_USE enum sc_error sc_lines_create(const struct sc_lines_settings *settings,
                                                 struct sc_lines **lines);
SC_API void sc_lines_feed(struct sc_lines *lines, const float *samples, size_t frames,
                          bool discontinuity);
/* The same in double precision, for signals whose small lines a float would hide. */
SC_API void sc_lines_feed_double(struct sc_lines *lines, const double *samples, size_t frames,
                                 bool discontinuity);
SC_API void sc_lines_result(struct sc_lines *lines, struct sc_lines_result *result);
SC_API void sc_lines_reset(struct sc_lines *lines);
SC_API void sc_lines_destroy(struct sc_lines *lines);

#endif
