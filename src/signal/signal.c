/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The generator: settings to IQ or composite, frame by frame. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/signal.h>

#include "signal/bank.h"
#include "signal/parts.h"
#include "signal/random.h"

static const double two_pi = 6.283185307179586476925286766559;
static const double level_default = 0.5;
static const double cnr_bandwidth_default_hz = 200e3;

struct sc_signal {
  double rate_hz;
  double level;           /* of the carrier; 0: none is sent */
  double offset_hz;       /* of the carrier */
  double noise_deviation; /* of I and of Q */
  int64_t next;           /* frame that the next block begins with */
  size_t left;            /* frames of the block that nobody has taken yet */
  double block[2 * SIGNAL_BLOCK];
  struct signal_parts parts;
  struct signal_bank *carriers;
  struct signal_random random;
};

void sc_signal_settings_init(struct sc_signal_settings *settings)
{
  memset(settings, 0, sizeof *settings);
  settings->rate_hz = 384e3;
  settings->cnr_db = NAN;
}

static bool tones_valid(const struct sc_signal_tone *tones, size_t count)
{
  if (count > SC_SIGNAL_TONES_MAX)
    return false;
  for (size_t i = 0; i < count; i++)
    if (!isfinite(tones[i].frequency_hz) || !isfinite(tones[i].amplitude) ||
        !isfinite(tones[i].phase_rad))
      return false;
  return true;
}

static bool valid(const struct sc_signal_settings *s)
{
  return isfinite(s->rate_hz) && s->rate_hz > 0 && isfinite(s->pilot_khz) &&
         isfinite(s->pilot_hz) && isfinite(s->pilot_phase_rad) && isfinite(s->residual_khz) &&
         isfinite(s->residual_phase_rad) && isfinite(s->level) && s->level >= 0 &&
         isfinite(s->carrier_offset_hz) && !isinf(s->cnr_db) && isfinite(s->cnr_bandwidth_hz) &&
         s->cnr_bandwidth_hz >= 0 && tones_valid(s->left, s->left_count) &&
         tones_valid(s->right, s->right_count) && tones_valid(s->composite, s->composite_count) &&
         tones_valid(s->carriers, s->carrier_count);
}

/* Of I and of Q: noise of the stated power in its bandwidth fills the whole rate evenly. */
static double noise_deviation(const struct sc_signal_settings *settings, double level)
{
  if (isnan(settings->cnr_db))
    return 0;
  const double bandwidth_hz =
      settings->cnr_bandwidth_hz > 0 ? settings->cnr_bandwidth_hz : cnr_bandwidth_default_hz;
  const double noise = pow(10, -settings->cnr_db / 10) * settings->rate_hz / bandwidth_hz;
  return level * sqrt(noise / 2);
}

static enum sc_error create_banks(struct sc_signal *signal,
                                  const struct sc_signal_settings *settings)
{
  const size_t capacity = signal_parts_capacity(settings);
  const enum sc_error error = signal_parts_create(&signal->parts, capacity, settings->rate_hz);
  if (error != SC_OK)
    return error;
  return signal_bank_create(settings->carrier_count, settings->rate_hz, &signal->carriers);
}

static void fill_banks(struct sc_signal *signal, const struct sc_signal_settings *settings,
                       double level)
{
  signal_parts_add(&signal->parts, settings);
  signal->offset_hz = settings->carrier_offset_hz + signal->parts.shift_hz;
  for (size_t i = 0; i < settings->carrier_count; i++) {
    const struct sc_signal_tone *c = &settings->carriers[i];
    const double amplitude = level * c->amplitude;
    signal_bank_add(signal->carriers, c->frequency_hz,
                    signal_complex(amplitude * cos(c->phase_rad), amplitude * sin(c->phase_rad)));
  }
}

enum sc_error sc_signal_create(const struct sc_signal_settings *settings, struct sc_signal **signal)
{
  *signal = NULL;
  if (settings == NULL || !valid(settings))
    return SC_BAD_ARGUMENT;
  struct sc_signal *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = create_banks(s, settings);
  if (error != SC_OK) {
    sc_signal_destroy(s);
    return error;
  }
  const double level = settings->level > 0 ? settings->level : level_default;
  s->rate_hz = settings->rate_hz;
  s->level = settings->no_carrier ? 0 : level;
  s->noise_deviation = noise_deviation(settings, level);
  signal_random_seed(&s->random, settings->seed);
  fill_banks(s, settings, level);
  *signal = s;
  return SC_OK;
}

/* The carrier at frames first .. first + count - 1, in place of what `iq` held. */
static void modulate(const struct sc_signal *signal, int64_t first, double *iq, size_t count)
{
  double phase[SIGNAL_BLOCK];
  const double start = two_pi * signal_cycles(signal->offset_hz, first, signal->rate_hz);
  const double step = two_pi * signal->offset_hz / signal->rate_hz;
  for (size_t i = 0; i < count; i++)
    phase[i] = start + step * (double)i;
  signal_bank_sum(signal->parts.phase, first, phase, count);
  for (size_t i = 0; i < count; i++) {
    iq[2 * i] = signal->level * cos(phase[i]);
    iq[2 * i + 1] = signal->level * sin(phase[i]);
  }
}

static void make_iq(struct sc_signal *signal)
{
  double *iq = signal->block;
  if (signal->level > 0)
    modulate(signal, signal->next, iq, SIGNAL_BLOCK);
  else
    memset(iq, 0, sizeof signal->block);
  signal_bank_sum_complex(signal->carriers, signal->next, iq, SIGNAL_BLOCK);
  if (signal->noise_deviation > 0)
    signal_random_add(&signal->random, signal->noise_deviation, iq, 2 * SIGNAL_BLOCK);
}

static void make_composite(struct sc_signal *signal)
{
  memset(signal->block, 0, sizeof signal->block);
  signal_bank_sum(signal->parts.composite, signal->next, signal->block, SIGNAL_BLOCK);
}

/* Whole blocks are made, whatever is asked for, so that the frames do not depend on how they
 * are divided into calls. */
static void deliver(struct sc_signal *signal, void (*make)(struct sc_signal *), size_t width,
                    double *out, size_t frames)
{
  while (frames > 0) {
    if (signal->left == 0) {
      make(signal);
      signal->next += SIGNAL_BLOCK;
      signal->left = SIGNAL_BLOCK;
    }
    const size_t count = frames < signal->left ? frames : signal->left;
    memcpy(out, signal->block + width * (SIGNAL_BLOCK - signal->left), width * count * sizeof *out);
    signal->left -= count;
    out += width * count;
    frames -= count;
  }
}

void sc_signal_iq(struct sc_signal *signal, double *iq, size_t frames)
{
  deliver(signal, make_iq, 2, iq, frames);
}

void sc_signal_composite(struct sc_signal *signal, double *khz, size_t frames)
{
  deliver(signal, make_composite, 1, khz, frames);
}

void sc_signal_destroy(struct sc_signal *signal)
{
  if (signal == NULL)
    return;
  signal_parts_destroy(&signal->parts);
  signal_bank_destroy(signal->carriers);
  free(signal);
}
