/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectrum with a resolution bandwidth that the user sets, and a real zoom.
 *
 * Welch's method (P. D. Welch, IEEE Trans. Audio Electroacoust. AU-15, 1967): windowed,
 * overlapping records, transformed, their powers averaged. A span narrower than the
 * sample rate allows is mixed to zero, filtered and decimated first, so the records grow
 * longer and the resolution bandwidth falls with the span.
 *
 * Input: complex (I, Q interleaved) or real floats, full scale 1. Any block length.
 * Output: power in each bin relative to a full-scale complex exponential (complex input)
 * or a full-scale sine (real input), so that a tone's bin reads its power: |X|^2/(sum w)^2.
 * Power density is that divided by `rbw_hz`, the window's noise bandwidth. Real input, whole
 * span: the points at 0 Hz and half the rate, which have no mirror image, count once.
 * Within a zoomed span the level is flat within 0.001 dB and aliases are 100 dB down.
 * Memory: 48 bytes per point of the transform (at most 2^20) and less; allocates in create
 * only. One thread at a time may use a spectrum; different ones need no lock.
 */
#ifndef SIDECOMB_SPECTRUM_H
#define SIDECOMB_SPECTRUM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

enum sc_window {
  SC_WINDOW_RECTANGULAR,
  SC_WINDOW_HANN,
  SC_WINDOW_BLACKMAN_HARRIS, /* 4 terms, side lobes -92 dB (Harris 1978) */
  SC_WINDOW_FLAT_TOP,        /* HFT144D, side lobes -144 dB (Heinzel, Ruediger, Schilling 2002) */
  SC_WINDOW_KAISER,          /* parameter beta; side lobes fall with it */
  SC_WINDOW_COUNT
};
SC_API const char *sc_window_name(enum sc_window window);

struct sc_window_figures {
  double coherent_gain; /* mean of the window, peak 1 */
  double noise_bandwidth_bins;
  double scalloping_db; /* worst loss of a tone between two bins, positive */
  double width_3db_bins;
  double main_lobe_bins;      /* half width of the main lobe */
  double top_side_lobe_db;    /* negative */
  double recommended_overlap; /* 0 to 1 */
};
/* Figures of a long window, computed once from its coefficients. */
SC_API struct sc_window_figures sc_window_figures(enum sc_window window, double parameter);

struct sc_spectrum_settings {
  double sample_rate_hz;
  bool complex_input;
  double centre_hz; /* of the span, in the input's own frequencies (0: the middle of what
                       the input holds: 0, or for real input a quarter of the rate) */
  double span_hz;   /* 0: all that the rate holds; cut to that */
  double rbw_hz;    /* wanted; 0: the span's 800th part */
  enum sc_window window;
  double window_parameter;  /* Kaiser's beta, 0 to 100; ignored by the others */
  double overlap;           /* 0 to 0.95; negative: the window's recommended overlap */
  uint64_t expected_frames; /* length of what will be fed; limits the rbw; 0: unknown */
  double memory_s;          /* > 0: exponential average with this time constant */
  /* > 0: so many records are enough. Where the expected frames hold as many without overlap, none
   * do overlap, and of more, up to 15 of 16 are left out, evenly spread. */
  uint64_t records_enough;
};

/* One measured spectrum. The arrays belong to the spectrum that filled it and stay valid
 * until the next call on it. */
struct sc_trace {
  double start_hz, step_hz; /* frequency of points[i] is start_hz + i * step_hz */
  size_t points;            /* 0: nothing measured yet */
  const float *mean;        /* averaged power */
  const float *max_hold;    /* largest power of a single record */
  const float *min_hold;
  double rbw_hz;              /* noise bandwidth that was reached */
  double record_s;            /* length of one record */
  uint64_t records;           /* in the average */
  double independent_records; /* what they are worth, overlap accounted for */
  double coverage;            /* share of what is fed that records are made of; 1: all of it */
  enum sc_window window;
  double window_parameter;
  bool rbw_limited; /* the capture's length, or the longest transform, did not allow the
                       wanted rbw */
};

struct sc_spectrum;
/* SC_BAD_ARGUMENT: a setting outside its range, such as a centre beyond half the rate;
 * SC_NO_MEMORY. The rbw reached is at most the wanted one unless the trace says it is limited. */
SC_API SC_MUST_USE enum sc_error sc_spectrum_create(const struct sc_spectrum_settings *settings,
                                                    struct sc_spectrum **spectrum);
/* `samples`: frames * (complex ? 2 : 1) floats, finite; may be NULL for no frames.
 * `discontinuity`: something is missing before them; records never straddle it. */
SC_API void sc_spectrum_feed(struct sc_spectrum *spectrum, const float *samples, size_t frames,
                             bool discontinuity);
SC_API void sc_spectrum_result(struct sc_spectrum *spectrum, struct sc_trace *trace);
/* Forgets averages and holds, keeps plans and settings. */
SC_API void sc_spectrum_reset(struct sc_spectrum *spectrum);
/* Accepts NULL. */
SC_API void sc_spectrum_destroy(struct sc_spectrum *spectrum);

#endif
