/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Evidence for what a capture is. First means: rate, empty and copied channels, and the power
 * of a line at 19 kHz against its neighbourhood. */
#include <config.h>

#include "measure/kind.h"

#include <math.h>
#include <stdio.h>

/* The lowest rate at which a sound card can take a composite. */
static const double composite_rate_hz = 88200;

/* Power at one frequency by Goertzel's sum over a Hann window. */
static double line_power(const float *samples, size_t frames, size_t stride, double cycles)
{
  double re = 0, im = 0;
  for (size_t i = 0; i < frames; i++) {
    double window = 0.5 - 0.5 * cos(2 * M_PI * (double)i / (double)frames);
    double phase = 2 * M_PI * fmod(cycles * (double)i, 1);
    re += window * (double)samples[i * stride] * cos(phase);
    im += window * (double)samples[i * stride] * sin(phase);
  }
  return re * re + im * im;
}

/* Line at 19 kHz over the mean of places 100 to 400 Hz beside it. */
static double pilot_ratio(const float *samples, size_t frames, size_t stride, double rate_hz)
{
  double beside = 0;
  for (int i = 1; i <= 4; i++)
    beside += line_power(samples, frames, stride, (19000 + 100.5 * i) / rate_hz) +
              line_power(samples, frames, stride, (19000 - 100.5 * i) / rate_hz);
  double line = line_power(samples, frames, stride, 19000 / rate_hz);
  return line / (beside / 8 + 1e-30);
}

enum sc_error measure_kind(const float *samples, size_t frames, unsigned channels, double rate_hz,
                           struct measure_kind *result)
{
  double power[2] = {0, 0}, cross = 0;
  *result = (struct measure_kind){SC_KIND_AUDIO, 0, ""};
  for (size_t i = 0; i < frames; i++)
    for (unsigned k = 0; k < channels; k++) {
      power[k] += (double)samples[i * channels + k] * (double)samples[i * channels + k];
      cross += k == 1 ? (double)samples[2 * i] * (double)samples[2 * i + 1] : 0;
    }
  if (rate_hz < composite_rate_hz) {
    (void)snprintf(result->reason, sizeof result->reason,
                   "a rate of %.10g Hz is too low for the composite", rate_hz);
    return SC_OK;
  }
  double alike = cross * cross / (power[0] * power[1] + 1e-30);
  if (channels == 2 && power[0] > 1e-6 * power[1] && power[1] > 1e-6 * power[0] && alike < 0.9) {
    result->kind = SC_KIND_IQ;
    (void)snprintf(result->reason, sizeof result->reason,
                   "two channels that differ (squared correlation %.3f)", alike);
    return SC_OK;
  }
  result->channel = channels == 2 && power[1] > power[0];
  double ratio_db = 10 * log10(pilot_ratio(samples + result->channel, frames, channels, rate_hz));
  if (ratio_db > 20)
    result->kind = SC_KIND_COMPOSITE;
  (void)snprintf(result->reason, sizeof result->reason,
                 "one live channel at %.10g Hz, 19 kHz stands %.1f dB over its neighbourhood",
                 rate_hz, ratio_db);
  return SC_OK;
}
