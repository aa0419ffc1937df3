/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The test audio on its way: mixed, bent, noisy, late and by another clock. */
#include <config.h>

#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "measure/audio_radio.h"
#include "support/random.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559
enum { BLOCK = 7777 };

/* Chords that change every 0.7 s under noise, different in the two channels. */
static void other_sound(double t, uint64_t *random, double out[2])
{
  const double note = 110 * pow(2, floor(fmod(t / 0.7, 9)) / 6);
  for (int c = 0; c < 2; c++)
    out[c] = 0.2 * sin(TWO_PI * note * t) + 0.15 * sin(TWO_PI * note * (c ? 1.5 : 1.25) * t) +
             0.1 * support_uniform(random);
}

static double bend(const struct radio *radio, double x)
{
  return x + radio->second * x * x + radio->third * x * x * x;
}

static bool has_gain(const struct radio *radio)
{
  return radio->gain[0][0] != 0 || radio->gain[0][1] != 0 || radio->gain[1][0] != 0 ||
         radio->gain[1][1] != 0;
}

/* The sequence, differentiated where a transmitter's pre-emphasis does so. */
static void sound(const struct radio *radio, double at_s, double out[2])
{
  const struct sc_sequence_settings settings = {.level_dbfs = -6, .preemphasis_us = 75};
  const double step_s = 1e-6, tau_s = 1e-6 * radio->preemphasis_us;
  double before[2], after[2];
  sc_sequence_sample(&settings, at_s, &out[0], &out[1]);
  if (tau_s == 0)
    return;
  sc_sequence_sample(&settings, at_s - step_s, &before[0], &before[1]);
  sc_sequence_sample(&settings, at_s + step_s, &after[0], &after[1]);
  for (int c = 0; c < 2; c++)
    out[c] += tau_s * (after[c] - before[c]) / (2 * step_s);
}

/* One frame at a time of the recording. */
static void hear(const struct radio *radio, double t, uint64_t *random, double out[2])
{
  const double clock = 1 + 1e-6 * radio->clock_ppm, at = (t - radio->before_s) / clock;
  double in[2];
  if (at >= 0 && at < sc_sequence_seconds())
    sound(radio, at, in);
  else
    other_sound(t, random, in);
  for (int c = 0; c < 2; c++) {
    const double *g = radio->gain[c];
    out[c] = bend(radio, has_gain(radio) ? g[0] * in[0] + g[1] * in[1] : in[c]);
  }
  if (radio->noise == 0)
    return;
  const double peak = sqrt(3) * radio->noise, noise = peak * support_uniform(random);
  out[0] += noise;
  out[1] += radio->same_noise ? noise : peak * support_uniform(random);
}

struct sc_audio_meter *radio_play(const char *name, const struct radio *radio)
{
  uint64_t random = support_seed(name, radio->seed ? radio->seed : 20261125);
  const unsigned channels = radio->channels ? radio->channels : 2;
  const struct sc_audio_settings settings = {radio->rate_hz, channels,
                                             radio->bits > 0 ? exp2(1 - (double)radio->bits) : 0};
  struct sc_audio_meter *meter;
  ck_assert_int_eq(sc_audio_create(&settings, &meter), SC_OK);
  const double clock = 1 + 1e-6 * radio->clock_ppm;
  const double heard_s = radio->until_s > 0 ? radio->until_s : sc_sequence_seconds();
  const double seconds = radio->before_s + heard_s * clock + radio->after_s;
  const size_t total = (size_t)(seconds * radio->rate_hz);
  const size_t gap = (size_t)(radio->gap_s * radio->rate_hz);
  double *block = malloc(2 * BLOCK * sizeof *block);
  struct dsp_weighter *filter;
  ck_assert_int_eq(dsp_weighter_create(radio->weighting, radio->rate_hz, &filter), SC_OK);
  for (size_t done = 0; done < total;) {
    const size_t count = total - done < BLOCK ? total - done : BLOCK;
    for (size_t i = 0; i < count; i++) {
      double frame[2];
      hear(radio, (double)(done + i) / radio->rate_hz, &random, frame);
      if (radio->weighting != DSP_WEIGHTING_FLAT)
        dsp_weighter_run(filter, frame, frame, 1);
      if (radio->bits > 0)
        for (int c = 0; c < 2; c++)
          frame[c] = nearbyint(frame[c] / settings.step) * settings.step;
      block[i * channels] = frame[0];
      block[i * channels + channels - 1] = channels == 2 ? frame[1] : (frame[0] + frame[1]) / 2;
    }
    sc_audio_feed(meter, block, count, gap > 0 && done <= gap && done + count > gap);
    done += count;
  }
  dsp_weighter_destroy(filter);
  free(block);
  return meter;
}

struct sc_audio radio_judge(const char *name, const struct radio *radio)
{
  struct sc_audio_meter *meter = radio_play(name, radio);
  struct sc_audio audio;
  sc_audio_result(meter, &audio);
  sc_audio_destroy(meter);
  return audio;
}
