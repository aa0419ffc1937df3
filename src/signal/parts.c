/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sum, difference, pilot and tones as components.
 *
 * A tone D sin(a) on the difference gives D sin(a) sin(2w) = D/2 cos(2w - a) - D/2 cos(2w + a):
 * two steady lines beside 38 kHz. The integral of Re(W e^{j 2 pi f t}) 2 pi is Re(W e^{...} / jf),
 * so that the phase of the carrier needs no summing over samples.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "signal/parts.h"

static const double pilot_standard_hz = 19000;
static const double hz_per_khz = 1000;

struct sink {
  struct signal_bank *composite, *phase;
  double shift_hz;
};

/* amplitude e^{j angle} */
static double complex polar(double amplitude, double angle)
{
  return signal_complex(amplitude * cos(angle), amplitude * sin(angle));
}

/* Re(weight_khz e^{j 2 pi f t}) joins the composite. */
static void add(struct sink *sink, double frequency_hz, double complex weight_khz)
{
  if (sink->composite != NULL)
    signal_bank_add(sink->composite, frequency_hz, weight_khz);
  if (frequency_hz == 0)
    sink->shift_hz += hz_per_khz * creal(weight_khz);
  else if (sink->phase != NULL)
    signal_bank_add(sink->phase, frequency_hz,
                    signal_complex(cimag(weight_khz), -creal(weight_khz)) *
                        (hz_per_khz / frequency_hz));
}

static void add_sine(struct sink *sink, double frequency_hz, double khz, double phase_rad)
{
  const double complex w = polar(khz, phase_rad);
  add(sink, frequency_hz, signal_complex(cimag(w), -creal(w)));
}

static double pilot_hz(const struct sc_signal_settings *settings)
{
  return settings->pilot_hz != 0 ? settings->pilot_hz : pilot_standard_hz;
}

/* khz sin(2 pi f t + p) sin(2 w t + 2 q) */
static void add_difference(struct sink *sink, const struct sc_signal_settings *settings,
                           const struct sc_signal_tone *tone, double khz)
{
  const double centre_hz = 2 * pilot_hz(settings), centre_rad = 2 * settings->pilot_phase_rad;
  add(sink, centre_hz - tone->frequency_hz, polar(khz / 2, centre_rad - tone->phase_rad));
  add(sink, centre_hz + tone->frequency_hz, polar(-khz / 2, centre_rad + tone->phase_rad));
}

static void add_channel(struct sink *sink, const struct sc_signal_settings *settings,
                        const struct sc_signal_tone *tones, size_t count, double sign)
{
  for (size_t i = 0; i < count; i++) {
    const double half_khz = tones[i].amplitude / 2;
    add_sine(sink, tones[i].frequency_hz, half_khz, tones[i].phase_rad);
    if (!settings->mono)
      add_difference(sink, settings, &tones[i], sign * half_khz);
  }
}

size_t signal_parts_capacity(const struct sc_signal_settings *settings)
{
  return 3 * (settings->left_count + settings->right_count) + settings->composite_count + 2;
}

void signal_parts_add(const struct sc_signal_settings *settings, struct signal_bank *composite,
                      struct signal_bank *phase, double *shift_hz)
{
  struct sink sink = {composite, phase, 0};
  const double pilot = pilot_hz(settings), q = settings->pilot_phase_rad;
  add_sine(&sink, pilot, settings->pilot_khz, q);
  add_sine(&sink, 2 * pilot, settings->residual_khz, 2 * q + settings->residual_phase_rad);
  add_channel(&sink, settings, settings->left, settings->left_count, 1);
  add_channel(&sink, settings, settings->right, settings->right_count, -1);
  for (size_t i = 0; i < settings->composite_count; i++) {
    const struct sc_signal_tone *tone = &settings->composite[i];
    add_sine(&sink, tone->frequency_hz, tone->amplitude, tone->phase_rad);
  }
  *shift_hz = sink.shift_hz;
}
