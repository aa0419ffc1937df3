/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One tone in a complex series, estimated coherently over a record of any length in constant
 * memory.
 *
 * When the memory is full, the series is turned back by the tone's frequency as it is known then,
 * and neighbouring samples are added in pairs, so that the sums stay sufficient for the tone.
 * The estimate is the maximum of the likelihood in white noise; its uncertainty is the
 * Cramer-Rao bound (Rife and Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974) with the noise density
 * found around the tone in what the tone leaves. */
#ifndef SIDECOMB_DSP_COHERENT_H
#define SIDECOMB_DSP_COHERENT_H

#include <stddef.h>

#include <sidecomb/error.h>

enum { DSP_COHERENT_MEMORY = 4096, DSP_COHERENT_SHORTEST = 16 };

struct dsp_coherent_fit {
  double record_s;
  double frequency_hz, frequency_uncertainty_hz;
  double amplitude, amplitude_uncertainty;
  double phase_rad;     /* at the first frame, cosine phase */
  double noise_density; /* complex power per hertz around the tone, without it */
  double near_density;  /* the same within a few 1 / record_s: larger when the tone wanders */
  double noise_cells;   /* how many independent cells `noise_density` is the mean of */
  double energy;        /* E = amplitude^2 record_s / noise_density */
};

struct dsp_coherent;
/* `search_hz`: where tones are looked for, on either side of zero. `noise_hz`: within this
 * distance of the tone the noise is taken to be white. */
enum sc_error dsp_coherent_create(double rate_hz, double search_hz, double noise_hz,
                                  struct dsp_coherent **coherent);
void dsp_coherent_feed(struct dsp_coherent *coherent, const float *in, size_t frames);
/* SC_UNSUPPORTED: fewer than DSP_COHERENT_SHORTEST frames so far. */
enum sc_error dsp_coherent_result(struct dsp_coherent *coherent, struct dsp_coherent_fit *fit);
/* Takes back the last frames that were fed, and a few before them where they are held as sums. */
void dsp_coherent_drop(struct dsp_coherent *coherent, size_t frames);
void dsp_coherent_reset(struct dsp_coherent *coherent);
void dsp_coherent_destroy(struct dsp_coherent *coherent);

#endif
