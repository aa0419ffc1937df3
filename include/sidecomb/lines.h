/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Discrete lines of a spectrum: found at a stated false-alarm rate, measured between bins.
 *
 * Records of up to SC_LINES_RECORD_MAX frames are transformed coherently, in the precision of the
 * samples; a capture that is shorter makes one record, of a longer one several are taken, spread
 * over it.
 * Finding: averaged power through a window with side lobes at -139 dB, against a local floor from
 * order statistics, and then the fit itself. Fitting: joint least squares over neighbouring lines
 * in a lightly tapered record, near the Cramer-Rao bound (Rife and Boorstyn, IEEE Trans. Inf.
 * Theory IT-20, 1974). A line is a tone that is steady over a record; what drifts by several bins
 * is none, nor is a bump in the skirt of a strong line. Lines closer than four bins make one.
 *
 * E is the power of a line times the length of one record over the noise density (one-sided for
 * real input): the standard uncertainty of a level is 8.686 / sqrt(2 E) dB for each record.
 *
 * Real input is treated as complex with zero imaginary part and only positive frequencies
 * are reported, from 4 bins above zero to 4 below half the rate; a real tone A cos(...) then has
 * power A^2/2. Direct current of complex input is a line like others.
 *
 * Input: interleaved I and Q or real samples of any scale, any block length. Memory: 38 MB for
 * records of SC_LINES_RECORD_MAX complex frames in double precision, 17 MB in single precision, in
 * proportion for shorter ones, and 2 MB, and 3 kB for each line that is followed; allocates in
 * create, in a result that is asked for before one whole record has come, and when the carrier of
 * an FM channel is first seen to drift, which makes it look at each record twice.
 */
#ifndef SIDECOMB_LINES_H
#define SIDECOMB_LINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

enum { SC_LINES_RECORD_MAX = 1 << 20, SC_LINES_MAX = 2048, SC_LINES_MOMENTS_MAX = 32 };

struct sc_lines_settings {
  double sample_rate_hz;
  bool complex_input;
  bool single_precision;     /* samples are kept, and transformed, as floats: half the memory and
                                time; feed_double then rounds */
  double lower_hz, upper_hz; /* searched part, in the input's own frequencies; both 0: all */
  double without_lower_hz, without_upper_hz; /* left out of it; both 0: nothing */
  double false_alarm;       /* chance of one false line in a whole result; 0: 1e-3. What pure
                               noise shows is a fifth to two thirds of it; in bands of noise
                               with steep edges a result in fifty has one (measured) */
  uint64_t expected_frames; /* of the whole capture; 0: unknown */
  unsigned records;         /* spread over a long capture of expected_frames: 2 to 32; 0: 8 */
  size_t record_max;        /* frames of a record; 0 or more than it: SC_LINES_RECORD_MAX */
  size_t lines_max;         /* strongest kept; 0 or more than SC_LINES_MAX: SC_LINES_MAX */
};

/* What one record says of a line. */
struct sc_moment {
  double middle_s; /* of the record, from the first frame fed */
  float amplitude; /* as sc_tone.amplitude */
  float phase_rad; /* in the middle of the record, where errors of frequency turn it least */
  float relative_uncertainty, phase_uncertainty_rad;
};

/* One measured line, no meaning attached. Uncertainties k = 1. */
struct sc_tone {
  struct sc_quantity frequency_hz; /* in the input's own frequencies */
  struct sc_quantity level_db;     /* power re full scale 1 (complex), re A = 1 as A^2/2 (real) */
  double amplitude;                /* |A|: complex exponential's, or the real tone's peak */
  double amplitude_uncertainty;
  double phase_rad; /* of the complex exponential (cosine phase of a real tone)
                       at the first frame of the last record */
  double phase_uncertainty_rad;
  double snr_db;        /* E in dB; where the record fits a steady tone worse than the
                           noise around explains, that counts as noise */
  double noise_density; /* power per hertz around it (one-sided for real input) */
  double coherence;     /* 0 to 1: steadiness of the complex amplitude over records, 1
                           if there is only one */
  struct sc_moment moments[SC_LINES_MOMENTS_MAX]; /* by time; lines of one search that were seen
                                                     in one record have the same middle_s */
  size_t moment_count;
  bool still; /* of a search that follows a carrier: the line does not go with it */
};

struct sc_lines_result {
  const struct sc_tone *tones; /* by frequency; valid until the next call */
  size_t count;
  double record_s;     /* length of one coherent record */
  double phase_time_s; /* of the frame that the phases belong to, from the first frame fed */
  uint64_t records;    /* measured; 0: too little was fed, or no memory */
  double coverage;     /* share of the fed frames that went into records */
  double threshold_db; /* E that a line needed, for the stated rate */
  double false_alarm;
  double resolution_hz; /* lines closer than this are not told apart */
  bool full;            /* more were found than lines_max, or than can be followed, and the
                           weakest were left out */
  uint64_t turned; /* records, overlapping ones too, in which the carrier's drift was turned back:
                      then lines that go with it are stated as they stood in the first record, when
                      it was at carrier_hz, and those that are `still` as they are; 0: no drift */
  struct sc_quantity carrier_hz;
  bool jumped; /* the carrier; lines are then of one stretch between its jumps, the first that has
                  about as much of the capture as is left behind it, where it was at carrier_hz */
};

struct sc_lines;
SC_API SC_MUST_USE enum sc_error sc_lines_create(const struct sc_lines_settings *settings,
                                                 struct sc_lines **lines);
SC_API void sc_lines_feed(struct sc_lines *lines, const float *samples, size_t frames,
                          bool discontinuity);
/* The same in double precision, for signals whose small lines a float would hide. */
SC_API void sc_lines_feed_double(struct sc_lines *lines, const double *samples, size_t frames,
                                 bool discontinuity);
/* So many frames of expected_frames are not fed, between those that were and those that will be:
 * records are spread over what is fed, as far as can be told by its share so far. */
SC_API void sc_lines_leave_out(struct sc_lines *lines, uint64_t frames);
SC_API void sc_lines_result(struct sc_lines *lines, struct sc_lines_result *result);
/* Largest power per hertz (one-sided for real input) in which lines are looked for between two of
 * the input's frequencies: of windows of 512 bins the largest median, by which noise is known
 * within a twentieth and single lines count for nothing. NAN: there is no whole record, or no such
 * window. */
SC_API double sc_lines_floor(struct sc_lines *lines, double lower_hz, double upper_hz);
SC_API void sc_lines_reset(struct sc_lines *lines);
SC_API void sc_lines_destroy(struct sc_lines *lines);

#endif
