/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The constant is the mean under a taper (1 - u^2)^4 over the record, at 1.35 times the
 * Cramer-Rao bound sqrt(D / (2 T)) of either part (D: noise density), and lets nothing through of
 * audio above a few 1 / T. The noise is the mean density from 5 to 23 Hz on both sides, in blocks
 * of 128 frames at 200 Hz: audio begins at 50 Hz (47 CFR 73.310; common practice: 30 Hz). */
#include "measure/residual.h"

#include "dsp/fft.h"
#include "dsp/resample.h"
#include "dsp/taper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { BLOCK = 128, RUN = 1024, FIRST_BIN = 3, LAST_BIN = 14 };

static const double slow_rate_hz = 200.0;
static const double pass_hz = 40.0;
static const double alias_db = 100.0;

struct measure_residual {
  double rate_hz, slow_rate_hz;
  struct dsp_taper in_phase, quadrature;
  struct dsp_decimator *decimator;
  size_t skip;
  struct dsp_fft64 *fft;
  double window[BLOCK], window_square;
  double block[2 * BLOCK];
  size_t filled;
  double blocks, power; /* sums over blocks: of the mean power of the bins that count */
  float slow[2 * RUN + 2], parts[RUN];
};

enum sc_error measure_residual_create(double rate_hz, struct measure_residual **residual)
{
  struct measure_residual *r = calloc(1, sizeof *r);
  if (r == NULL)
    return SC_NO_MEMORY;
  const unsigned decimation = (unsigned)dsp_fft_good_length((size_t)(rate_hz / slow_rate_hz));
  r->rate_hz = rate_hz;
  r->slow_rate_hz = rate_hz / decimation;
  for (size_t i = 0; i < BLOCK; i++) {
    r->window[i] = 0.5 - 0.5 * cos(TWO_PI * ((double)i + 0.5) / BLOCK);
    r->window_square += r->window[i] * r->window[i];
  }
  enum sc_error error =
      dsp_decimator_create(2, decimation, pass_hz, alias_db, rate_hz, RUN, &r->decimator);
  if (error == SC_OK)
    error = dsp_fft64_create(BLOCK, DSP_PLAN_ESTIMATE, &r->fft);
  if (error != SC_OK) {
    measure_residual_destroy(r);
    return error;
  }
  measure_residual_reset(r);
  *residual = r;
  return SC_OK;
}

void measure_residual_reset(struct measure_residual *residual)
{
  struct measure_residual *r = residual;
  dsp_taper_reset(&r->in_phase);
  dsp_taper_reset(&r->quadrature);
  dsp_decimator_reset(r->decimator);
  r->skip = dsp_decimator_transient(r->decimator);
  r->filled = 0;
  r->blocks = r->power = 0.0;
}

void measure_residual_destroy(struct measure_residual *residual)
{
  if (residual == NULL)
    return;
  dsp_decimator_destroy(residual->decimator);
  dsp_fft64_destroy(residual->fft);
  free(residual);
}

/* The next block shares half of this one. */
static void end_block(struct measure_residual *r)
{
  double *bins = dsp_fft64_buffer(r->fft);
  for (size_t i = 0; i < BLOCK; i++)
    for (size_t part = 0; part < 2; part++)
      bins[2 * i + part] = r->window[i] * r->block[2 * i + part];
  dsp_fft64_run(r->fft);
  double sum = 0.0;
  for (size_t k = FIRST_BIN; k <= LAST_BIN; k++)
    for (int side = 0; side < 2; side++) {
      const double *bin = bins + 2 * (side == 0 ? k : BLOCK - k);
      sum += bin[0] * bin[0] + bin[1] * bin[1];
    }
  r->power += sum / (2.0 * (LAST_BIN - FIRST_BIN + 1));
  r->blocks += 1.0;
  memmove(r->block, r->block + BLOCK, BLOCK * sizeof *r->block);
  r->filled = BLOCK / 2;
}

static void feed_slow(struct measure_residual *r, const float *in, size_t frames)
{
  const size_t made = dsp_decimator_run(r->decimator, in, frames, r->slow);
  for (size_t i = 0; i < made; i++) {
    if (r->skip > 0) {
      r->skip--;
      continue;
    }
    r->block[2 * r->filled] = r->slow[2 * i];
    r->block[2 * r->filled + 1] = r->slow[2 * i + 1];
    if (++r->filled == BLOCK)
      end_block(r);
  }
}

void measure_residual_feed(struct measure_residual *residual, const float *in, size_t frames)
{
  struct measure_residual *r = residual;
  while (frames > 0) {
    const size_t n = frames < RUN ? frames : RUN;
    feed_slow(r, in, n);
    for (size_t i = 0; i < n; i++)
      r->parts[i] = in[2 * i];
    dsp_taper_feed(&r->in_phase, r->parts, n);
    for (size_t i = 0; i < n; i++)
      r->parts[i] = in[2 * i + 1];
    dsp_taper_feed(&r->quadrature, r->parts, n);
    in += 2 * n;
    frames -= n;
  }
}

void measure_residual_result(const struct measure_residual *residual,
                             struct measure_residual_result *result)
{
  const struct measure_residual *r = residual;
  result->in_phase = dsp_taper_mean(&r->in_phase, DSP_TAPER_ORDER);
  result->quadrature = dsp_taper_mean(&r->quadrature, DSP_TAPER_ORDER);
  result->record_s = (double)r->in_phase.frames / r->rate_hz;
  result->uncertainty = (double)NAN;
  if (!(r->blocks > 0.0))
    return;
  const double density = r->power / r->blocks / (r->window_square * r->slow_rate_hz);
  result->uncertainty =
      sqrt(density * dsp_taper_square(DSP_TAPER_ORDER) / (2.0 * result->record_s));
}
