/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One measuring function for each part of the test audio. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_parts.h"

#include <math.h>
#include <stdlib.h>

#include "dsp/quasi_peak.h"
#include "dsp/weighting.h"
#include "measure/audio_tone.h"
#include "measure/audio_walk.h"

/* Left out of each part, for filters and gain controls to settle and for clocks that differ. */
static const double settle_s = 0.3, margin_s = 0.2;
/* Largest difference of the clocks: 0.3 %. */
static const double clock_reach = 0.003;
/* The line-up tone is there when its power is this much more than its variance. */
static const double present = 100;
/* Reading of the quasi-peak meter before it is believed, and between independent readings: its
 * discharge. */
static const double meter_settle_s = 1.0, meter_hold_s = 0.3;

/* A channel with so much less than rounding makes of a busy signal does not cover the steps. */
static const double quiet_share = 0.25;
/* 20 variances are what audio_ratio_limit_db leaves room for: here half a step. */
static const double half_step_variance = 0.25 / 20;

struct audio_parts {
  double rate_hz, step;
  size_t frames_max;
  float *samples; /* 2 * frames_max */
  double *window; /* frames_max */
  struct audio_spectrum *spectrum;
  struct dsp_weighter *weighter;
};

enum sc_error audio_parts_create(double rate_hz, double step, size_t frames,
                                 struct audio_parts **parts)
{
  *parts = NULL;
  struct audio_parts *p = calloc(1, sizeof *p);
  if (p == NULL)
    return SC_NO_MEMORY;
  p->rate_hz = rate_hz;
  p->step = step;
  p->frames_max = frames;
  p->samples = malloc(2 * frames * sizeof *p->samples);
  p->window = malloc(frames * sizeof *p->window);
  if (p->samples == NULL || p->window == NULL ||
      audio_spectrum_create(rate_hz, &p->spectrum) != SC_OK ||
      dsp_weighter_create(DSP_WEIGHTING_468, rate_hz, &p->weighter) != SC_OK) {
    audio_parts_destroy(p);
    return SC_NO_MEMORY;
  }
  *parts = p;
  return SC_OK;
}

float *audio_parts_buffer(struct audio_parts *p)
{
  return p->samples;
}

void audio_part_bounds(enum sc_sequence_part_name name, double *from_s, double *to_s)
{
  const struct sc_sequence_part *part = &sc_sequence_parts()[name];
  *from_s = part->start_s + settle_s;
  *to_s = part->start_s + part->seconds - margin_s;
}

double audio_mark_middle_s(enum sc_sequence_part_name name)
{
  const struct sc_sequence_part *part = &sc_sequence_parts()[name];
  return part->start_s + part->seconds / 2;
}

static void look(struct audio_parts *p, size_t frames)
{
  audio_spectrum_reset(p->spectrum);
  audio_spectrum_feed(p->spectrum, p->samples, frames);
}

static struct audio_stretch stretch_of(struct audio_parts *p, size_t frames)
{
  audio_tone_window(p->window, frames);
  return (struct audio_stretch){p->samples, p->window, frames, p->rate_hz};
}

/* Not less than what rounding makes: a twelfth of the step's square, spread evenly (W. R. Bennett
 * 1948, from memory). Where nothing covers the steps, a tone of less than half a step leaves
 * no trace. */
static double variance_of(const struct audio_parts *p, const struct audio_stretch *stretch,
                          double density)
{
  const double rounded = p->step * p->step / 12 / (p->rate_hz / 2);
  const double variance = audio_tone_variance(stretch, fmax(density, rounded));
  return density < quiet_share * rounded ? fmax(variance, half_step_variance * p->step * p->step)
                                         : variance;
}

static struct audio_reading read_tone(struct audio_parts *p, const struct audio_stretch *stretch,
                                      double hz)
{
  struct audio_reading reading;
  audio_tone_fit(stretch, hz, reading.amplitude);
  for (int c = 0; c < 2; c++)
    reading.variance[c] = variance_of(p, stretch, audio_spectrum_density(p->spectrum, c, hz));
  return reading;
}

/* Takes the tone out of the buffer. */
static void subtract(struct audio_parts *p, size_t frames, double hz,
                     const double complex amplitude[2])
{
  const double turn = 6.283185307179586476925 * hz / p->rate_hz;
  for (size_t i = 0; i < frames; i++) {
    const double angle = turn * ((double)i - (double)frames / 2);
    const double re = cos(angle), im = sin(angle);
    for (int c = 0; c < 2; c++) {
      const double tone = creal(amplitude[c]) * re - cimag(amplitude[c]) * im;
      p->samples[2 * i + (size_t)c] = (float)((double)p->samples[2 * i + (size_t)c] - tone);
    }
  }
}

static double power_of(double complex amplitude)
{
  return creal(amplitude) * creal(amplitude) + cimag(amplitude) * cimag(amplitude);
}

static bool measure_line_up(struct audio_parts *p, size_t frames, struct audio_run *run)
{
  const double sent_hz = sc_sequence_parts()[SC_PART_LINE_UP].left_hz;
  const struct audio_stretch stretch = stretch_of(p, frames);
  const double hz = audio_tone_frequency(&stretch, sent_hz, clock_reach * sent_hz);
  audio_tone_fit(&stretch, hz, run->line_up.amplitude);
  subtract(p, frames, hz, run->line_up.amplitude);
  look(p, frames);
  double information = 0;
  bool there = false;
  for (int c = 0; c < 2; c++) {
    const double density = audio_spectrum_density(p->spectrum, c, hz);
    const double power = power_of(run->line_up.amplitude[c]);
    const double u = audio_tone_frequency_uncertainty(&stretch, sqrt(power), density);
    run->line_up.variance[c] = variance_of(p, &stretch, density);
    run->rest[c] = audio_spectrum_band(p->spectrum, c, AUDIO_BAND_FLAT);
    there = there || power > present * run->line_up.variance[c];
    information += power > 0 && u > 0 ? 1 / (u * u) : 0;
  }
  run->frequency_hz = hz;
  run->frequency_uncertainty_hz = information > 0 ? 1 / sqrt(information) : 0;
  run->clock = sent_hz / hz;
  run->clock_relative_uncertainty = run->frequency_uncertainty_hz / hz;
  return there;
}

static void measure_tones(struct audio_parts *p, enum sc_sequence_part_name name, size_t frames,
                          struct audio_run *run, struct audio_reading *left,
                          struct audio_reading *right)
{
  const struct sc_sequence_part *part = &sc_sequence_parts()[name];
  const struct audio_stretch stretch = stretch_of(p, frames);
  look(p, frames);
  if (left != NULL)
    *left = read_tone(p, &stretch, part->left_hz / run->clock);
  if (right != NULL)
    *right = read_tone(p, &stretch, part->right_hz / run->clock);
}

static void measure_comb(struct audio_parts *p, int comb, size_t frames, struct audio_run *run)
{
  const struct audio_stretch stretch = stretch_of(p, frames);
  const double *hz = sc_sequence_comb_hz(comb % 2);
  look(p, frames);
  for (int i = 0; i < SC_COMB_TONES; i++)
    run->comb[comb][i] = read_tone(p, &stretch, hz[i] / run->clock);
}

/* Mean of the meter's readings once it has settled, of both channels. */
static void measure_quasi_peak(struct audio_parts *p, size_t frames, struct audio_run *run)
{
  const size_t delay = dsp_weighter_delay(p->weighter);
  const size_t settled = delay + (size_t)(meter_settle_s * p->rate_hz);
  struct dsp_quasi_peak meter[2];
  double sum[2] = {0}, square[2] = {0}, count = 0;
  dsp_weighter_reset(p->weighter);
  dsp_quasi_peak_start(&meter[0], p->rate_hz);
  meter[1] = meter[0];
  for (size_t i = 0; i < frames; i++) {
    double frame[2] = {(double)p->samples[2 * i], (double)p->samples[2 * i + 1]};
    dsp_weighter_run(p->weighter, frame, frame, 1);
    count += i >= settled;
    for (int c = 0; c < 2; c++) {
      const double reading = dsp_quasi_peak_run(&meter[c], frame[c]);
      sum[c] += i >= settled ? reading : 0;
      square[c] += i >= settled ? reading * reading : 0;
    }
  }
  for (int c = 0; c < 2; c++) {
    const double mean = sum[c] / count, spread = fmax(0, square[c] / count - mean * mean);
    const double independent = count / (meter_hold_s * p->rate_hz);
    run->noise_468[c] = (struct audio_power){mean * mean, 2 * sqrt(spread / independent) / mean};
  }
}

static void measure_noise(struct audio_parts *p, size_t frames, struct audio_run *run)
{
  look(p, frames);
  for (int c = 0; c < 2; c++) {
    run->noise[c] = audio_spectrum_band(p->spectrum, c, AUDIO_BAND_FLAT);
    run->noise_a[c] = audio_spectrum_band(p->spectrum, c, AUDIO_BAND_A);
  }
  measure_quasi_peak(p, frames, run);
}

static bool measure(struct audio_parts *p, enum sc_sequence_part_name name, size_t frames,
                    struct audio_run *run)
{
  const double walk_hz = sc_sequence_parts()[SC_PART_WALK].left_hz;
  switch (name) {
  case SC_PART_LINE_UP:
    return measure_line_up(p, frames, run);
  case SC_PART_LINE_UP_LOWER:
    measure_tones(p, name, frames, run, &run->line_up_lower, NULL);
    return true;
  case SC_PART_LEFT:
    measure_tones(p, name, frames, run, &run->left, NULL);
    return true;
  case SC_PART_RIGHT:
    measure_tones(p, name, frames, run, NULL, &run->right);
    return true;
  case SC_PART_BOTH:
    measure_tones(p, name, frames, run, &run->both_left, &run->both_right);
    return true;
  case SC_PART_NEITHER:
    measure_noise(p, frames, run);
    return true;
  case SC_PART_WALK:
    audio_walk_fit(p->samples, frames, p->rate_hz, walk_hz / run->clock, run->clock, settle_s,
                   &run->walk);
    return true;
  case SC_PART_COMB_LEFT:
  case SC_PART_COMB_RIGHT:
  case SC_PART_COMB_LEFT_LOWER:
  case SC_PART_COMB_RIGHT_LOWER:
    measure_comb(p, (int)name - SC_PART_COMB_LEFT, frames, run);
    return true;
  default:
    return true;
  }
}

bool audio_parts_measure(struct audio_parts *p, enum sc_sequence_part_name name, size_t frames,
                         struct audio_run *run)
{
  frames = frames < p->frames_max ? frames : p->frames_max;
  run->done[name] = measure(p, name, frames, run);
  return run->done[name];
}

void audio_parts_destroy(struct audio_parts *p)
{
  if (p == NULL)
    return;
  free(p->samples);
  free(p->window);
  audio_spectrum_destroy(p->spectrum);
  dsp_weighter_destroy(p->weighter);
  free(p);
}
