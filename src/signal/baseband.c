/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The common calls of basebands, and the kind that is noise. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bank.h"
#include "signal/baseband.h"
#include "signal/baseband_types.h"
#include "signal/random.h"
#include "signal/shape.h"

bool signal_baseband_real(const struct signal_baseband *baseband)
{
  return baseband->calls->real;
}

void signal_baseband_start(struct signal_baseband *baseband, int64_t index)
{
  baseband->calls->start(baseband, index);
}

void signal_baseband_run(struct signal_baseband *baseband, double *re, double *im, size_t count)
{
  baseband->calls->run(baseband, re, im, count);
}

void signal_baseband_destroy(struct signal_baseband *baseband)
{
  if (baseband != NULL)
    baseband->calls->destroy(baseband);
}

/* ---- noise */

struct noise {
  struct signal_baseband base;
  struct signal_random random;
  double deviation;
  struct signal_shape *shape;
  struct signal_shaped *re, *im;
};

/* Noise has no time of its own; only the filters' start is passed over. */
static void noise_start(struct signal_baseband *baseband, int64_t index)
{
  struct noise *noise = (struct noise *)baseband;
  double re[SIGNAL_BLOCK], im[SIGNAL_BLOCK];
  (void)index;
  for (size_t done = 0; done < noise->shape->count; done += SIGNAL_BLOCK)
    noise->base.calls->run(baseband, re, im, SIGNAL_BLOCK);
}

static void noise_run(struct signal_baseband *baseband, double *re, double *im, size_t count)
{
  struct noise *noise = (struct noise *)baseband;
  double x[SIGNAL_BLOCK] = {0}, y[SIGNAL_BLOCK] = {0};
  signal_random_add(&noise->random, noise->deviation, x, count);
  signal_random_add(&noise->random, noise->deviation, y, count);
  signal_shaped_run(noise->re, x, re, count);
  signal_shaped_run(noise->im, y, im, count);
}

static void noise_destroy(struct signal_baseband *baseband)
{
  struct noise *noise = (struct noise *)baseband;
  signal_shaped_destroy(noise->re);
  signal_shaped_destroy(noise->im);
  signal_shape_destroy(noise->shape);
  free(noise);
}

static const struct signal_baseband_calls noise_calls = {false, noise_start, noise_run,
                                                         noise_destroy};

/* The edge takes a tenth of the width, its middle at the half. */
static const double edge = 0.05;

static enum sc_error noise_filters(struct noise *noise, double width_hz, double rate_hz)
{
  enum sc_error error = signal_shape_create((0.5 - edge) * width_hz, (0.5 + edge) * width_hz, 0,
                                            rate_hz, &noise->shape);
  if (error == SC_OK)
    error = signal_shaped_create(noise->shape, &noise->re);
  if (error == SC_OK)
    error = signal_shaped_create(noise->shape, &noise->im);
  return error;
}

enum sc_error signal_baseband_noise(const struct sc_band *band, double rate_hz, uint64_t seed,
                                    struct signal_baseband **baseband)
{
  *baseband = NULL;
  struct noise *noise = calloc(1, sizeof *noise);
  if (noise == NULL)
    return SC_NO_MEMORY;
  noise->base.calls = &noise_calls;
  signal_random_seed(&noise->random, seed);
  const enum sc_error error = noise_filters(noise, band->width_hz, rate_hz);
  if (error != SC_OK) {
    noise_destroy(&noise->base);
    return error;
  }
  double gain = 0;
  for (size_t i = 0; i < noise->shape->count; i++)
    gain += noise->shape->taps[i] * noise->shape->taps[i];
  noise->deviation = band->rms_khz / sqrt(gain);
  *baseband = &noise->base;
  return SC_OK;
}
