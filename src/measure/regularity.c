/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged power of records that overlap by half, under Hann windows; its two means. */
#include "measure/regularity.h"

#include <complex.h>
#include <math.h>

#include "dsp/fft.h"

enum { RECORD = 512, LAGS = 4 };

static const double pi = 3.1415926535897932384626433832795;
static const double floor_share = 1e-12; /* of the mean power: nothing is more regular */
static const double still_share = 1e-9;  /* of the power that moves at least */

struct samples {
  const float *iq;
  size_t frames;
  double complex mean;
  double scale; /* to a power of one about the mean; 0: nothing moves */
};

static double complex value(const struct samples *s, size_t n)
{
  return s->scale * ((double)s->iq[2 * n] + I * (double)s->iq[2 * n + 1] - s->mean);
}

/* In double precision the squares of all floats that a scan leaves are finite. */
static struct samples about_the_mean(const float *iq, size_t frames)
{
  struct samples s = {iq, frames, 0, 1};
  double complex sum = 0;
  double all = 0, moves = 0;
  for (size_t n = 0; n < frames; n++)
    sum += value(&s, n);
  s.mean = sum / (double)frames;
  for (size_t n = 0; n < frames; n++) {
    const double complex z = value(&s, n);
    moves += creal(z) * creal(z) + cimag(z) * cimag(z);
  }
  moves /= (double)frames;
  all = moves + creal(s.mean) * creal(s.mean) + cimag(s.mean) * cimag(s.mean);
  s.scale = moves > still_share * all ? 1 / sqrt(moves) : 0;
  return s;
}

static void add_record(const struct samples *s, size_t first, struct dsp_fft *fft, double *power)
{
  float *z = dsp_fft_buffer(fft);
  for (size_t i = 0; i < RECORD; i++) {
    const double weight = 0.5 - 0.5 * cos(2 * pi * ((double)i + 0.5) / RECORD);
    const double complex now = weight * value(s, first + i);
    z[2 * i] = (float)creal(now);
    z[2 * i + 1] = (float)cimag(now);
  }
  dsp_fft_run(fft);
  for (size_t k = 0; k < RECORD; k++)
    power[k] += (double)z[2 * k] * (double)z[2 * k] + (double)z[2 * k + 1] * (double)z[2 * k + 1];
}

static double arithmetic_over_geometric_db(const double *power)
{
  double mean = 0, logarithms = 0;
  for (size_t k = 0; k < RECORD; k++)
    mean += power[k] / RECORD;
  for (size_t k = 0; k < RECORD; k++)
    logarithms += log10(power[k] + floor_share * mean) / RECORD;
  return 10 * (log10(mean) - logarithms);
}

static double improper(const struct samples *s)
{
  double most = 0;
  for (size_t lag = 0; lag < LAGS; lag++) {
    double complex sum = 0;
    for (size_t n = 0; n + lag < s->frames; n++)
      sum += value(s, n) * value(s, n + lag);
    most = fmax(most, cabs(sum) / (double)(s->frames - lag));
  }
  return most;
}

enum sc_error measure_regularity(const float *iq, size_t frames,
                                 struct measure_regularity *regularity)
{
  struct dsp_fft *fft;
  double power[RECORD] = {0};
  if (frames < MEASURE_REGULARITY_LEAST)
    return SC_BAD_ARGUMENT;
  *regularity = (struct measure_regularity){0, 0};
  const struct samples s = about_the_mean(iq, frames);
  if (s.scale == 0) /* exact: nothing moves */
    return SC_OK;
  const enum sc_error error = dsp_fft_create(RECORD, DSP_PLAN_ESTIMATE, &fft);
  if (error != SC_OK)
    return error;
  for (size_t first = 0; first + RECORD <= frames; first += RECORD / 2)
    add_record(&s, first, fft, power);
  dsp_fft_destroy(fft);
  regularity->gain_db = arithmetic_over_geometric_db(power);
  regularity->improper = improper(&s);
  return SC_OK;
}
