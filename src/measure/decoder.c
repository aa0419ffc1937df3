/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stereo decoder. The subcarrier is mixed down by a fixed 38 kHz before its rate is lowered, and
 * turned by twice the pilot's phase afterwards, where that costs little. */
#include "measure/decoder.h"

#include "dsp/narrowband.h"
#include "dsp/resample.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

enum { SERIES_MAX = 256 };

static const double pilot_hz = 19e3;
static const double subcarrier_hz = 38e3;
static const double audio_hz = 15e3; /* 47 CFR 73.322(a) */
static const double audio_stop_hz = 16.6e3;
static const double stop_db = 90.0;
static const double alias_db = 100.0;
static const double rate_least_hz = 2.0 * 53e3 / 0.95;
static const double audio_rate_min_hz = 40e3;
static const double audio_rate_max_hz = 64e3;

struct measure_decoder {
  double rate_hz, audio_rate_hz, delay_s;
  struct dsp_mixer mixer;
  struct dsp_decimator *sum_decimator, *difference_decimator;
  struct dsp_resampler *sum_shape, *difference_shape;
  struct dsp_narrowband *narrowband;
  float *low; /* of one feed */
  /* what waits for the pilot: frames at the audio rate, the first is the `done`th since reset */
  float *sum, *difference;
  size_t waiting, room;
  uint64_t done;
  float series[2 * SERIES_MAX];
  size_t series_count;
  uint64_t series_first; /* index of series[0] since reset */
  float *out_sum, *out_difference, *out_unlocked;
};

/* To a whole rate where there is one, as sound files need it. */
static unsigned choose_decimation(double rate_hz)
{
  const unsigned least = (unsigned)ceil(rate_hz / audio_rate_max_hz);
  for (unsigned d = (unsigned)floor(rate_hz / audio_rate_min_hz); d >= least; d--)
    if (fmod(rate_hz, d) == 0.0)
      return d;
  return (unsigned)floor(rate_hz / audio_rate_min_hz);
}

static enum sc_error create_shape(struct measure_decoder *d, size_t frames_max)
{
  double *taps = NULL;
  size_t count = 0;
  enum sc_error error =
      dsp_lowpass_design(audio_hz, audio_stop_hz, stop_db, d->audio_rate_hz, &taps, &count);
  if (error != SC_OK)
    return error;
  error = dsp_resampler_create(1, 1, 1, taps, count, frames_max, &d->sum_shape);
  for (size_t k = 0; k < count; k++)
    taps[k] *= 2.0; /* half of a real signal is at the negative frequency */
  if (error == SC_OK)
    error = dsp_resampler_create(2, 1, 1, taps, count, frames_max, &d->difference_shape);
  free(taps);
  d->delay_s += (double)(count - 1) / 2.0 / d->audio_rate_hz;
  return error;
}

static enum sc_error create_parts(struct measure_decoder *d, unsigned decimation)
{
  const size_t made_max = MEASURE_DECODER_FEED_MAX / decimation + 2;
  enum sc_error error = dsp_decimator_create(1, decimation, audio_stop_hz, alias_db, d->rate_hz,
                                             MEASURE_DECODER_FEED_MAX, &d->sum_decimator);
  if (error == SC_OK)
    error = dsp_decimator_create(2, decimation, audio_stop_hz, alias_db, d->rate_hz,
                                 MEASURE_DECODER_FEED_MAX, &d->difference_decimator);
  if (error == SC_OK)
    error = dsp_narrowband_create(pilot_hz, d->rate_hz, &d->narrowband);
  if (error != SC_OK)
    return error;
  d->delay_s = dsp_decimator_delay(d->sum_decimator) / d->rate_hz;
  error = create_shape(d, made_max);
  /* the pilot is late by its filters' start, known to be below 0.2 s */
  d->room = made_max + (size_t)(0.25 * d->audio_rate_hz);
  d->low = malloc(2 * made_max * sizeof *d->low);
  d->sum = malloc(d->room * sizeof *d->sum);
  d->difference = malloc(2 * d->room * sizeof *d->difference);
  d->out_sum = malloc(d->room * sizeof *d->out_sum);
  d->out_difference = malloc(2 * d->room * sizeof *d->out_difference);
  d->out_unlocked = malloc(2 * d->room * sizeof *d->out_unlocked);
  const bool ok = d->low != NULL && d->sum != NULL && d->difference != NULL && d->out_sum != NULL &&
                  d->out_difference != NULL && d->out_unlocked != NULL;
  return error == SC_OK && !ok ? SC_NO_MEMORY : error;
}

enum sc_error measure_decoder_create(double rate_hz, struct measure_decoder **decoder)
{
  if (!(rate_hz >= rate_least_hz && isfinite(rate_hz)))
    return SC_UNSUPPORTED;
  struct measure_decoder *d = calloc(1, sizeof *d);
  if (d == NULL)
    return SC_NO_MEMORY;
  const unsigned decimation = choose_decimation(rate_hz);
  d->rate_hz = rate_hz;
  d->audio_rate_hz = rate_hz / decimation;
  dsp_mixer_set(&d->mixer, -subcarrier_hz, rate_hz);
  const enum sc_error error = create_parts(d, decimation);
  if (error != SC_OK) {
    measure_decoder_destroy(d);
    return error;
  }
  *decoder = d;
  return SC_OK;
}

double measure_decoder_rate(const struct measure_decoder *decoder)
{
  return decoder->audio_rate_hz;
}

void measure_decoder_reset(struct measure_decoder *decoder)
{
  struct measure_decoder *d = decoder;
  dsp_decimator_reset(d->sum_decimator);
  dsp_decimator_reset(d->difference_decimator);
  dsp_resampler_reset(d->sum_shape);
  dsp_resampler_reset(d->difference_shape);
  dsp_narrowband_reset(d->narrowband);
  dsp_mixer_reset(&d->mixer);
  d->waiting = d->series_count = 0;
  d->done = d->series_first = 0;
}

/* Puts the signals of a feed behind what waits. */
static void filter(struct measure_decoder *d, const float *composite, size_t frames)
{
  const size_t sums = dsp_decimator_run(d->sum_decimator, composite, frames, d->low);
  dsp_resampler_run(d->sum_shape, d->low, sums, d->sum + d->waiting);
  const size_t made =
      dsp_decimator_run_mixed(d->difference_decimator, &d->mixer, composite, true, frames, d->low);
  dsp_resampler_run(d->difference_shape, d->low, made, d->difference + 2 * d->waiting);
  d->waiting += made;
}

/* Place of the first waiting frame in the pilot's series, from series[0] on. */
static double first_place(const struct measure_decoder *d)
{
  const double time_s = (double)d->done / d->audio_rate_hz - d->delay_s;
  const double place =
      (time_s - dsp_narrowband_start(d->narrowband)) * dsp_narrowband_rate(d->narrowband);
  return place - (double)d->series_first;
}

struct turning {
  size_t at; /* of the series; SIZE_MAX: none yet */
  double amplitude;
  double re, im, step_re, step_im; /* the turn of the next frame, and from frame to frame */
};

/* A pilot sin(w t + q) stands in the series as exp(j (q - pi/2)), S sin(2 w t + 2 q) mixed down as
 * S exp(j (2 q - pi/2)): what is between them is twice the pilot's angle and pi/2. */
static void aim(const struct measure_decoder *d, double place, double pace, struct turning *t)
{
  const size_t at = (size_t)place;
  if (t->at == at)
    return;
  const float *p = d->series + 2 * at;
  const double angle = atan2((double)p[1], (double)p[0]);
  const double advance = remainder(atan2((double)p[3], (double)p[2]) - angle, 2.0 * PI);
  const double back = -(2.0 * (angle + (place - (double)at) * advance) + PI / 2.0);
  const double step = -2.0 * advance * pace;
  *t = (struct turning){
      at, hypot((double)p[0], (double)p[1]), cos(back), sin(back), cos(step), sin(step)};
}

/* Between two of the series the turn goes on by multiplication, a few hundred times. */
static void turn(struct turning *t, const float *z, float *out)
{
  const double re = t->re;
  out[0] = (float)(z[0] * re - z[1] * t->im);
  out[1] = (float)(z[0] * t->im + z[1] * re);
  t->re = re * t->step_re - t->im * t->step_im;
  t->im = re * t->step_im + t->im * t->step_re;
}

static void drop(struct measure_decoder *d, size_t frames, size_t series)
{
  d->waiting -= frames;
  d->done += frames;
  memmove(d->sum, d->sum + frames, d->waiting * sizeof *d->sum);
  memmove(d->difference, d->difference + 2 * frames, 2 * d->waiting * sizeof *d->difference);
  d->series_count -= series;
  d->series_first += series;
  memmove(d->series, d->series + 2 * series, 2 * d->series_count * sizeof *d->series);
}

/* Turns what the series reaches; frames before its start are dropped. */
static struct measure_decoded decode(struct measure_decoder *d)
{
  struct turning t = {.at = SIZE_MAX};
  size_t i = 0;
  size_t n = 0;
  double pilot = 0.0;
  const double first = first_place(d);
  const double pace = dsp_narrowband_rate(d->narrowband) / d->audio_rate_hz;
  while (i < d->waiting && first + (double)i * pace < 0.0)
    i++;
  for (; i < d->waiting; i++) {
    const double place = first + (double)i * pace;
    if ((size_t)place + 1 >= d->series_count)
      break;
    aim(d, place, pace, &t);
    d->out_sum[n] = d->sum[i];
    memcpy(d->out_unlocked + 2 * n, d->difference + 2 * i, 2 * sizeof *d->difference);
    turn(&t, d->difference + 2 * i, d->out_difference + 2 * n);
    pilot += t.amplitude;
    n++;
  }
  drop(d, i, t.at == SIZE_MAX ? 0 : t.at);
  return (struct measure_decoded){n, d->out_sum, d->out_difference, d->out_unlocked,
                                  n > 0 ? pilot / (double)n : 0.0};
}

struct measure_decoded measure_decoder_feed(struct measure_decoder *decoder, const float *composite,
                                            size_t frames)
{
  struct measure_decoder *d = decoder;
  filter(d, composite, frames);
  d->series_count +=
      dsp_narrowband_run(d->narrowband, composite, frames, d->series + 2 * d->series_count);
  return decode(d);
}

void measure_decoder_destroy(struct measure_decoder *decoder)
{
  if (decoder == NULL)
    return;
  dsp_decimator_destroy(decoder->sum_decimator);
  dsp_decimator_destroy(decoder->difference_decimator);
  dsp_resampler_destroy(decoder->sum_shape);
  dsp_resampler_destroy(decoder->difference_shape);
  dsp_narrowband_destroy(decoder->narrowband);
  free(decoder->low);
  free(decoder->sum);
  free(decoder->difference);
  free(decoder->out_sum);
  free(decoder->out_difference);
  free(decoder->out_unlocked);
  free(decoder);
}
