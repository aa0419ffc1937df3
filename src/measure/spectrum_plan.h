/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From the settings of a spectrum to its rates and lengths: arithmetic without state. */
#ifndef SIDECOMB_MEASURE_SPECTRUM_PLAN_H
#define SIDECOMB_MEASURE_SPECTRUM_PLAN_H

#include <sidecomb/spectrum.h>

/* Longest transform, and largest decimation. */
enum { MEASURE_RECORD_MAX = 1 << 20, MEASURE_DECIMATION_MAX = 1 << 16 };

/* The band to be shown and the rate at which it is transformed. Decimation 1: the input's own
 * samples, nothing mixed; else complex samples around mix_hz. */
struct measure_band {
  double low_hz, high_hz; /* the span, cut to what the input holds */
  double mix_hz;
  double clean_hz; /* what the filter keeps flat and clean of aliases to either side of mix_hz */
  unsigned decimation;
  double rate_hz;
  bool half; /* real samples, so half a spectrum */
};

/* Records, and the bins of their transform that are shown: first to last, counted from mix_hz. */
struct measure_records {
  size_t length, hop;
  size_t apart; /* frames left out behind a hop; hop is the length then */
  long first, last;
  double step_hz;
  bool limited;
};

enum sc_error measure_plan_band(const struct sc_spectrum_settings *settings,
                                struct measure_band *band);
/* `transient`: frames at the band's rate that the decimation filter spoils at the start. */
struct measure_records measure_plan_records(const struct sc_spectrum_settings *settings,
                                            const struct measure_band *band, size_t transient);

#endif
