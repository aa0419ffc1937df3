/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sum, difference, pilot and tones as components. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "signal/parts.h"

static const double pilot_standard_hz = 19000;
static const double hz_per_khz = 1000;

enum sc_error signal_parts_create(struct signal_parts *parts, size_t capacity, double rate_hz)
{
  parts->shift_hz = 0;
  parts->phase = NULL;
  enum sc_error error = signal_bank_create(capacity, rate_hz, &parts->composite);
  if (error == SC_OK)
    error = signal_bank_create(capacity, rate_hz, &parts->phase);
  if (error != SC_OK)
    signal_parts_destroy(parts);
  return error;
}

void signal_parts_destroy(struct signal_parts *parts)
{
  signal_bank_destroy(parts->composite);
  signal_bank_destroy(parts->phase);
  parts->composite = parts->phase = NULL;
}

/* amplitude e^{j angle} */
static double complex polar(double amplitude, double angle)
{
  return signal_complex(amplitude * cos(angle), amplitude * sin(angle));
}

/* Re(weight_khz e^{j 2 pi f t}) joins the composite. */
static void add(struct signal_parts *parts, double frequency_hz, double complex weight_khz)
{
  signal_bank_add(parts->composite, frequency_hz, weight_khz);
  if (frequency_hz == 0)
    parts->shift_hz += hz_per_khz * creal(weight_khz);
  else
    signal_bank_add(parts->phase, frequency_hz,
                    signal_complex(cimag(weight_khz), -creal(weight_khz)) *
                        (hz_per_khz / frequency_hz));
}

void signal_parts_sine(struct signal_parts *parts, double frequency_hz, double khz,
                       double phase_rad)
{
  const double complex w = polar(khz, phase_rad);
  add(parts, frequency_hz, signal_complex(cimag(w), -creal(w)));
}

/* sin a sin b = cos(b - a) / 2 - cos(b + a) / 2 */
void signal_parts_product(struct signal_parts *parts, const struct sc_signal_tone *tone, double khz,
                          double centre_hz, double centre_rad)
{
  add(parts, centre_hz - tone->frequency_hz, polar(khz / 2, centre_rad - tone->phase_rad));
  add(parts, centre_hz + tone->frequency_hz, polar(-khz / 2, centre_rad + tone->phase_rad));
}

static double pilot_hz(const struct sc_signal_settings *settings)
{
  return settings->pilot_hz != 0 ? settings->pilot_hz : pilot_standard_hz;
}

static void add_channel(struct signal_parts *parts, const struct sc_signal_settings *settings,
                        const struct sc_signal_tone *tones, size_t count, double sign)
{
  for (size_t i = 0; i < count; i++) {
    const double half_khz = tones[i].amplitude / 2;
    signal_parts_sine(parts, tones[i].frequency_hz, half_khz, tones[i].phase_rad);
    if (!settings->mono)
      signal_parts_product(parts, &tones[i], sign * half_khz, 2 * pilot_hz(settings),
                           2 * settings->pilot_phase_rad);
  }
}

/* Three for a tone in left or right, one for a free tone, one each for pilot and residual. */
size_t signal_parts_capacity(const struct sc_signal_settings *settings)
{
  return 3 * (settings->left_count + settings->right_count) + settings->composite_count + 2;
}

void signal_parts_add(struct signal_parts *parts, const struct sc_signal_settings *settings)
{
  const double pilot = pilot_hz(settings), q = settings->pilot_phase_rad;
  signal_parts_sine(parts, pilot, settings->pilot_khz, q);
  signal_parts_sine(parts, 2 * pilot, settings->residual_khz, 2 * q + settings->residual_phase_rad);
  add_channel(parts, settings, settings->left, settings->left_count, 1);
  add_channel(parts, settings, settings->right, settings->right_count, -1);
  for (size_t i = 0; i < settings->composite_count; i++) {
    const struct sc_signal_tone *tone = &settings->composite[i];
    signal_parts_sine(parts, tone->frequency_hz, tone->amplitude, tone->phase_rad);
  }
}
