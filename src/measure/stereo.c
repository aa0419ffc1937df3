/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The stereo meter: decodes, and keeps the sums that src/measure/stereo_result.c concludes from. */
#include <sidecomb/stereo.h>

#include "measure/stereo_sums.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double pilot_least_khz = 0.75;   /* as in src/measure/pilot.c */
static const double pilot_least_share = 0.01; /* of the sum's and difference's rms */
static const double low_hz = 7.0;      /* second order: 0.013 dB down at 30 Hz */
static const double settling_s = 0.1;  /* of that high-pass */
static const double symmetry_s = 0.01; /* 10 Hz of offset turn a subcarrier by 36 degrees */

static void destroy_parts(struct sc_stereo_meter *m)
{
  measure_decoder_destroy(m->decoder);
  measure_residual_destroy(m->residual);
  measure_channels_destroy(m->channels);
  free(m->audio);
  free(m->heard);
}

static enum sc_error create_parts(struct sc_stereo_meter *m)
{
  enum sc_error error = measure_decoder_create(m->settings.rate_hz, &m->decoder);
  if (error == SC_UNSUPPORTED)
    return SC_OK; /* too slow: a finding */
  if (error != SC_OK)
    return error;
  m->audio_rate_hz = measure_decoder_rate(m->decoder);
  error = measure_residual_create(m->audio_rate_hz, &m->residual);
  if (error == SC_OK)
    error = measure_channels_create(m->audio_rate_hz, &m->channels);
  /* what a feed can give: a quarter of a second that waited, and itself */
  const size_t room = (size_t)(0.25 * m->audio_rate_hz) + SC_STEREO_FEED_MAX;
  m->audio = malloc(2 * room * sizeof *m->audio);
  m->heard = malloc(2 * room * sizeof *m->heard);
  const bool ok = m->audio != NULL && m->heard != NULL;
  return error == SC_OK && !ok ? SC_NO_MEMORY : error;
}

enum sc_error sc_stereo_create(const struct sc_stereo_settings *settings,
                               struct sc_stereo_meter **meter)
{
  if (!(settings->rate_hz > 0.0 && isfinite(settings->rate_hz)))
    return SC_BAD_ARGUMENT;
  struct sc_stereo_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  const enum sc_error error = create_parts(m);
  if (error != SC_OK) {
    sc_stereo_destroy(m);
    return error;
  }
  sc_stereo_reset(m);
  *meter = m;
  return SC_OK;
}

double sc_stereo_audio_rate(const struct sc_stereo_meter *meter)
{
  return meter->audio_rate_hz;
}

void sc_stereo_reset(struct sc_stereo_meter *meter)
{
  memset(&meter->sums, 0, sizeof meter->sums);
  meter->sums.sum_high = meter->sums.difference_high = -INFINITY;
  meter->sums.sum_low = meter->sums.difference_low = INFINITY;
  if (meter->decoder == NULL)
    return;
  const double tau_s = meter->settings.deemphasis_us * 1e-6;
  dsp_deemphasis_set(&meter->hum_deemphasis, tau_s, meter->audio_rate_hz);
  dsp_highpass_set(&meter->hum_highpass, low_hz, meter->audio_rate_hz);
  dsp_deemphasis_set(&meter->left_deemphasis, tau_s, meter->audio_rate_hz);
  dsp_deemphasis_set(&meter->right_deemphasis, tau_s, meter->audio_rate_hz);
  meter->hum_skip = (size_t)(settling_s * meter->audio_rate_hz);
  measure_decoder_reset(meter->decoder);
  measure_residual_reset(meter->residual);
  measure_channels_reset(meter->channels);
}

void sc_stereo_destroy(struct sc_stereo_meter *meter)
{
  if (meter == NULL)
    return;
  destroy_parts(meter);
  free(meter);
}

static void add_moments(struct measure_stereo_sums *s, const struct measure_decoded *d)
{
  for (size_t n = 0; n < d->frames; n++) {
    const double m = d->sum[n];
    const double i = d->difference[2 * n];
    const double q = d->difference[2 * n + 1];
    s->m += m;
    s->i += i;
    s->q += q;
    s->mm += m * m;
    s->ii += i * i;
    s->qq += q * q;
    s->mi += m * i;
    s->mq += m * q;
    s->iq += i * q;
  }
  s->frames += (double)d->frames;
  s->pilot += d->pilot * (double)d->frames;
}

static void add_extremes(struct measure_stereo_sums *s, const struct measure_decoded *d)
{
  for (size_t n = 0; n < d->frames; n++) {
    const double m = d->sum[n];
    const double i = d->difference[2 * n];
    s->sum_high = m > s->sum_high ? m : s->sum_high;
    s->sum_low = m < s->sum_low ? m : s->sum_low;
    s->difference_high = i > s->difference_high ? i : s->difference_high;
    s->difference_low = i < s->difference_low ? i : s->difference_low;
  }
}

/* A double side band keeps one direction for a while, whatever its carrier's phase: |sum of z^2|
 * over the sum of |z|^2 is 1; for noise it is small. Less the mean: a lone carrier is no
 * difference signal. */
static void end_symmetry(struct measure_stereo_sums *s)
{
  const double n = s->block_frames;
  const double a = s->block_mean[0] / n;
  const double b = s->block_mean[1] / n;
  s->symmetric +=
      hypot(s->block_square[0] - n * (a * a - b * b), s->block_square[1] - n * 2.0 * a * b);
  s->unlocked_power += s->block_power - n * (a * a + b * b);
  s->block_frames = s->block_power = 0.0;
  memset(s->block_mean, 0, sizeof s->block_mean);
  memset(s->block_square, 0, sizeof s->block_square);
}

static void add_to_block(struct measure_stereo_sums *s, const float *z, size_t frames)
{
  double a_sum = 0.0, b_sum = 0.0, aa = 0.0, bb = 0.0, ab = 0.0;
  for (size_t n = 0; n < frames; n++) {
    const double a = z[2 * n];
    const double b = z[2 * n + 1];
    a_sum += a;
    b_sum += b;
    aa += a * a;
    bb += b * b;
    ab += a * b;
  }
  s->block_mean[0] += a_sum;
  s->block_mean[1] += b_sum;
  s->block_square[0] += aa - bb;
  s->block_square[1] += 2.0 * ab;
  s->block_power += aa + bb;
  s->block_frames += (double)frames;
}

static void add_symmetry(struct sc_stereo_meter *m, const struct measure_decoded *d)
{
  const double block = ceil(symmetry_s * m->audio_rate_hz);
  for (size_t n = 0; n < d->frames;) {
    const size_t left = d->frames - n, room = (size_t)(block - m->sums.block_frames);
    const size_t run = left < room ? left : room;
    add_to_block(&m->sums, d->unlocked + 2 * n, run);
    if (run == room)
      end_symmetry(&m->sums);
    n += run;
  }
}

static void add_hum(struct sc_stereo_meter *m, const struct measure_decoded *d)
{
  /* m->audio is free until the channels are put there */
  dsp_deemphasis_run(&m->hum_deemphasis, d->sum, m->audio, d->frames);
  const size_t skipped = d->frames < m->hum_skip ? d->frames : m->hum_skip;
  if (d->frames > 0 && m->hum_skip == (size_t)(settling_s * m->audio_rate_hz))
    dsp_highpass_settle(&m->hum_highpass, (double)m->audio[0]);
  dsp_highpass_square(&m->hum_highpass, m->audio, skipped);
  m->sums.hum += dsp_highpass_square(&m->hum_highpass, m->audio + skipped, d->frames - skipped);
  m->hum_skip -= skipped;
  m->sums.hum_frames += (double)(d->frames - skipped);
}

static bool has_pilot(const struct sc_stereo_meter *m, const struct measure_decoded *d)
{
  if (m->settings.absolute)
    return d->pilot >= pilot_least_khz;
  const struct measure_stereo_sums *s = &m->sums;
  return d->pilot >= pilot_least_share * sqrt((s->mm + s->ii) / fmax(1.0, s->frames));
}

/* Means are no sound: that of the sum is the carrier's offset, that of the difference a residual
 * carrier. Both are taken off as they are so far, so that what a tone adds to them stays in its own
 * channel. */
static void make_audio(struct sc_stereo_meter *m, const struct measure_decoded *d)
{
  const struct measure_stereo_sums *s = &m->sums;
  const float locked = has_pilot(m, d) ? 1.0F : 0.0F;
  const float sum_mean = s->frames > 0.0 ? (float)(s->m / s->frames) : 0.0F;
  const float difference_mean = s->frames > 0.0 ? (float)(s->i / s->frames) : 0.0F;
  for (size_t n = 0; n < d->frames; n++) {
    const float sum = d->sum[n] - sum_mean;
    const float difference = locked * (d->difference[2 * n] - difference_mean);
    m->audio[2 * n] = sum + difference;
    m->audio[2 * n + 1] = sum - difference;
  }
}

struct sc_stereo_audio sc_stereo_feed(struct sc_stereo_meter *meter, const float *composite,
                                      size_t frames, bool discontinuity)
{
  struct sc_stereo_meter *m = meter;
  if (m->decoder == NULL)
    return (struct sc_stereo_audio){NULL, NULL, 0};
  if (discontinuity) {
    measure_decoder_reset(m->decoder);
    measure_channels_cut(m->channels);
  }
  const struct measure_decoded d = measure_decoder_feed(m->decoder, composite, frames);
  add_moments(&m->sums, &d);
  add_extremes(&m->sums, &d);
  add_symmetry(m, &d);
  measure_residual_feed(m->residual, d.difference, d.frames);
  add_hum(m, &d);
  make_audio(m, &d);
  measure_channels_feed(m->channels, m->audio, d.frames);
  dsp_deemphasis_run_pair(&m->left_deemphasis, &m->right_deemphasis, m->audio, m->heard, d.frames);
  return (struct sc_stereo_audio){m->audio, m->heard, d.frames};
}
