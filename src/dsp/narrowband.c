/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixer, decimator to about 800 frames a second, and a filter that shapes the band and decimates
 * by 4. The last filter alone sets how much of a record its start costs: 0.1 s. */
#include "dsp/narrowband.h"

#include "dsp/fft.h"
#include "dsp/resample.h"

#include <math.h>
#include <stdlib.h>

static const double middle_rate_hz = 800.0;
static const double middle_pass_hz = 100.0;
static const double alias_db = 110.0;
static const double shape_db = 80.0;
static const unsigned shape_decimation = 4;

struct dsp_narrowband {
  double centre_hz, rate_hz, series_rate_hz, start_s;
  struct dsp_mixer mixer;
  struct dsp_decimator *decimator;
  struct dsp_resampler *shape;
  size_t transient, skip;
  float *middle;
};

static enum sc_error create_shape(struct dsp_narrowband *n, double rate_hz, size_t frames_max,
                                  double *delay_s)
{
  double *taps = NULL;
  size_t count = 0;
  enum sc_error error = dsp_lowpass_design(DSP_NARROWBAND_PASS_HZ, DSP_NARROWBAND_STOP_HZ, shape_db,
                                           rate_hz, &taps, &count);
  if (error != SC_OK)
    return error;
  for (size_t k = 0; k < count; k++)
    taps[k] *= 2.0; /* half of a real tone's amplitude is at the negative frequency */
  error = dsp_resampler_create(2, 1, shape_decimation, taps, count, frames_max, &n->shape);
  free(taps);
  *delay_s += (double)(count - 1) / 2.0 / rate_hz;
  return error;
}

static enum sc_error create_parts(struct dsp_narrowband *n)
{
  /* no large prime factor, so that the stages stay short */
  const unsigned decimation = (unsigned)dsp_fft_good_length((size_t)(n->rate_hz / middle_rate_hz));
  const double rate_hz = n->rate_hz / decimation;
  const size_t frames_max = DSP_NARROWBAND_FEED_MAX / decimation + 1;
  enum sc_error error = dsp_decimator_create(2, decimation, middle_pass_hz, alias_db, n->rate_hz,
                                             DSP_NARROWBAND_FEED_MAX, &n->decimator);
  if (error != SC_OK)
    return error;
  double delay_s = dsp_decimator_delay(n->decimator) / n->rate_hz;
  error = create_shape(n, rate_hz, frames_max, &delay_s);
  n->series_rate_hz = rate_hz / shape_decimation;
  n->transient = (size_t)ceil(2.0 * delay_s * n->series_rate_hz - 1e-6);
  n->skip = n->transient;
  n->start_s = (double)n->transient / n->series_rate_hz - delay_s;
  n->middle = malloc(2 * frames_max * sizeof *n->middle);
  if (error == SC_OK && n->middle == NULL)
    error = SC_NO_MEMORY;
  return error;
}

enum sc_error dsp_narrowband_create(double centre_hz, double rate_hz,
                                    struct dsp_narrowband **narrowband)
{
  if (!(rate_hz >= 4e3 && isfinite(rate_hz) && fabs(centre_hz) < rate_hz / 2.0))
    return SC_BAD_ARGUMENT;
  struct dsp_narrowband *n = calloc(1, sizeof *n);
  if (n == NULL)
    return SC_NO_MEMORY;
  n->centre_hz = centre_hz;
  n->rate_hz = rate_hz;
  dsp_mixer_set(&n->mixer, -centre_hz, rate_hz);
  const enum sc_error error = create_parts(n);
  if (error != SC_OK) {
    dsp_narrowband_destroy(n);
    return error;
  }
  *narrowband = n;
  return SC_OK;
}

double dsp_narrowband_rate(const struct dsp_narrowband *narrowband)
{
  return narrowband->series_rate_hz;
}

double dsp_narrowband_start(const struct dsp_narrowband *narrowband)
{
  return narrowband->start_s;
}

size_t dsp_narrowband_room(const struct dsp_narrowband *narrowband, size_t frames)
{
  return (size_t)((double)frames * narrowband->series_rate_hz / narrowband->rate_hz) + 2;
}

size_t dsp_narrowband_run(struct dsp_narrowband *narrowband, const float *in, size_t frames,
                          float *out)
{
  struct dsp_narrowband *n = narrowband;
  frames = dsp_decimator_run_mixed(n->decimator, &n->mixer, in, true, frames, n->middle);
  frames = dsp_resampler_run(n->shape, n->middle, frames, out);
  const size_t dropped = frames < n->skip ? frames : n->skip;
  n->skip -= dropped;
  for (size_t i = 0; dropped > 0 && i < 2 * (frames - dropped); i++)
    out[i] = out[i + 2 * dropped];
  return frames - dropped;
}

void dsp_narrowband_reset(struct dsp_narrowband *narrowband)
{
  dsp_decimator_reset(narrowband->decimator);
  dsp_resampler_reset(narrowband->shape);
  dsp_mixer_reset(&narrowband->mixer);
  narrowband->skip = narrowband->transient;
}

void dsp_narrowband_destroy(struct dsp_narrowband *narrowband)
{
  if (narrowband == NULL)
    return;
  dsp_decimator_destroy(narrowband->decimator);
  dsp_resampler_destroy(narrowband->shape);
  free(narrowband->middle);
  free(narrowband);
}
