/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Windowed correlation with a sinusoid: its amplitude, and the peak of its power over frequency
 * (D. C. Rife and R. R. Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974, for the windowless case;
 * with a window the variances below follow from the same linearisation). */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_tone.h"

#include <math.h>

#include "dsp/window.h"

#define PI 3.1415926535897932384626433832795

/* The oscillator turns by multiplication for so many frames, then starts from an exact phase. */
enum { RENEW = 512 };

void audio_tone_window(double *window, size_t frames)
{
  dsp_window_fill(SC_WINDOW_BLACKMAN_HARRIS, 0, frames, window);
  double sum = 0;
  for (size_t i = 0; i < frames; i++)
    sum += window[i];
  for (size_t i = 0; i < frames; i++)
    window[i] /= sum;
}

/* Adds frames first to last - 1, with the oscillator's components kept apart from complex
 * arithmetic, whose care for infinities costs more than all the rest. */
static void correlate(const struct audio_stretch *s, double turn, size_t first, size_t last,
                      double sums[4])
{
  const double start = turn * ((double)first - (double)s->frames / 2);
  const double step_re = cos(turn), step_im = -sin(turn);
  double re = cos(start), im = -sin(start);
  for (size_t i = first; i < last; i++) {
    const double left = s->window[i] * (double)s->samples[2 * i];
    const double right = s->window[i] * (double)s->samples[2 * i + 1];
    sums[0] += left * re;
    sums[1] += left * im;
    sums[2] += right * re;
    sums[3] += right * im;
    const double next = re * step_re - im * step_im;
    im = re * step_im + im * step_re;
    re = next;
  }
}

void audio_tone_fit(const struct audio_stretch *s, double frequency_hz, double complex amplitude[2])
{
  const double turn = 2 * PI * frequency_hz / s->rate_hz;
  double sums[4] = {0};
  for (size_t first = 0; first < s->frames; first += RENEW)
    correlate(s, turn, first, first + RENEW < s->frames ? first + RENEW : s->frames, sums);
  amplitude[0] = 2 * (sums[0] + I * sums[1]);
  amplitude[1] = 2 * (sums[2] + I * sums[3]);
}

static double power_at(const struct audio_stretch *s, double frequency_hz)
{
  double complex a[2];
  audio_tone_fit(s, frequency_hz, a);
  const double left = cabs(a[0]), right = cabs(a[1]);
  return left * left + right * right;
}

double audio_tone_frequency(const struct audio_stretch *s, double near_hz, double reach_hz)
{
  const double seconds = (double)s->frames / s->rate_hz;
  double best_hz = near_hz, best = 0, step = 0.5 / seconds;
  for (double hz = near_hz - reach_hz; hz <= near_hz + reach_hz; hz += step) {
    const double power = power_at(s, hz);
    if (power > best) {
      best = power;
      best_hz = hz;
    }
  }
  for (int turn = 0; turn < 4; turn++, step /= 3) {
    const double before = log(power_at(s, best_hz - step) + 1e-300);
    const double at = log(power_at(s, best_hz) + 1e-300);
    const double after = log(power_at(s, best_hz + step) + 1e-300);
    const double bend = before - 2 * at + after;
    if (bend < 0)
      best_hz += step * fmax(-1, fmin(1, (before - after) / (2 * bend)));
  }
  return best_hz;
}

double audio_tone_variance(const struct audio_stretch *s, double density)
{
  const double seconds = (double)s->frames / s->rate_hz;
  return density * dsp_window_noise_bandwidth(SC_WINDOW_BLACKMAN_HARRIS, 0) / seconds;
}

double audio_tone_frequency_uncertainty(const struct audio_stretch *s, double amplitude,
                                        double density)
{
  double spread = 0, square = 0;
  for (size_t i = 0; i < s->frames; i++) {
    const double t = ((double)i - (double)s->frames / 2) / s->rate_hz;
    spread += s->window[i] * t * t;
    square += s->window[i] * s->window[i] * t * t;
  }
  return sqrt(density * square * s->rate_hz) / (2 * PI * amplitude * spread);
}
