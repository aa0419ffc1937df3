/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Peaks of an averaged power spectrum that stand over the local floor, with a stated number of
 * false ones.
 *
 * The floor is the 40 % quantile over a wide surrounding, corrected for the looks averaged, and
 * the threshold allows for the floor's own scatter. A peak must also stand over the higher of
 * the two floors close by on either side, so that the skirt of a strong line or the edge of a
 * band makes none, and over the leakage of all stronger peaks. (Ordered-statistic and
 * greatest-of detectors: H. Rohling, IEEE Trans. Aerosp. Electron. Syst. AES-19, 1983.)
 */
#ifndef SIDECOMB_DSP_PEAKS_H
#define SIDECOMB_DSP_PEAKS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct dsp_peaks_settings {
  size_t n;           /* bins */
  bool circular;      /* the last bin neighbours the first */
  size_t capacity;    /* strongest kept */
  const double *lobe; /* power of a tone 0, 1, ... lobe_count - 1 bins away; copied */
  size_t lobe_count;
  double far;             /* and farther */
  double correlated_bins; /* how many neighbouring bins count as one observation */
  /* Which bins a peak is wanted in; NULL: in all. */
  bool (*wanted)(const void *context, size_t bin);
  const void *context;
};

struct dsp_peak {
  size_t index;
  double power;
  double floor; /* mean noise power here */
};

struct dsp_peaks;
enum sc_error dsp_peaks_create(const struct dsp_peaks_settings *settings, struct dsp_peaks **peaks);
/* Peaks of power[0 ... n - 1], averages of `looks` exponential looks, of which noise alone makes
 * `expected` on average, or fewer; none at or below `lowest`. Strongest first, valid until the
 * next call. */
const struct dsp_peak *dsp_peaks_find(struct dsp_peaks *peaks, const float *power, double looks,
                                      double expected, double lowest, size_t *count);
/* The last search found more than it has room for. */
bool dsp_peaks_crowded(const struct dsp_peaks *peaks);
/* What noise in one bin passes with chance `chance`, over the floor, as an average of `tested`
 * looks where the floor was taken from `looks`. */
double dsp_peaks_threshold(const struct dsp_peaks *peaks, double tested, double looks,
                           double chance);
void dsp_peaks_destroy(struct dsp_peaks *peaks);

#endif
