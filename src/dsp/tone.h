/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Frequencies and complex amplitudes of tones by joint least squares in one tapered record.
 *
 * Each tone is fitted to the 2 DSP_TONE_REACH + 1 bins around it, after what all others leave
 * there has been taken away, in turn until nothing moves any more (relaxation, Gauss-Newton
 * steps). Valid for tones at least 3 bins apart.
 */
#ifndef SIDECOMB_DSP_TONE_H
#define SIDECOMB_DSP_TONE_H

#include <stdbool.h>
#include <stddef.h>

#include "dsp/large.h"
#include "dsp/plateau.h"

enum { DSP_TONES_MAX = 2048, DSP_TONE_REACH = 8, DSP_TONE_SWEEPS_ROUGH = 4, DSP_TONE_SWEEPS = 40 };

/* A transformed tapered record: n complex bins, not normalised, n even; in either precision. */
struct dsp_record {
  const struct dsp_rows *rows; /* NULL: bins */
  const double *bins;
  size_t n;
  bool real_input; /* every tone has its image at the negative frequency */
  const struct dsp_plateau *plateau;
};

struct dsp_tone {
  double found;  /* in: where it was found, within half a bin */
  double noise;  /* in: what one bin of a flat record would hold, |X|^2 / n^2 (the noise's power
                    divided by n); out: raised where the record fits the tone worse than that */
  double seen;   /* out: the same, from what the fit leaves in the bins around it alone */
  bool rough;    /* out: that is so much that the tone is no steady one, or the noise not even */
  bool fixed;    /* the frequency is known, and the tone has no image (direct current) */
  double bin;    /* out: frequency in bins; may leave 0 to n by a little */
  double re, im; /* amplitude at frame n / 2; of the positive-frequency half for real input */
  double bin_variance, level_variance, phase_variance; /* level: of the relative amplitude */
  bool lost; /* it moved away from where it was found: no tone */
};

/* Roughly: at most DSP_TONES_MAX tones and `sweeps` turns; the strongest first needs fewer. */
void dsp_tones_fit(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                   unsigned sweeps);
/* The same from where they stand, none of them lost: some of those that were fitted, once the
 * others are known for noise. */
void dsp_tones_refine(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                      unsigned sweeps);

#endif
