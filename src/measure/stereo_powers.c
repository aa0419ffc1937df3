/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums to powers: the decoded difference's direction, what noise adds, and what is left. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/stereo_powers.h"

#include <math.h>

static const double subcarrier_hz = 38e3;
static const double edge_hz = 15.64e3; /* of the decoder for noise: 0.4 of its slope passes */
static const double symmetric_least = 0.25;

double stereo_power_sd(double power, double noise, double draws)
{
  return sqrt((4.0 * fmax(0.0, power) * noise + 2.0 * noise * noise) / draws);
}

static double cube(double x)
{
  return x * x * x;
}

double stereo_band_noise(void)
{
  return (cube(subcarrier_hz + edge_hz) - cube(subcarrier_hz - edge_hz)) / 3.0 * 1e-6;
}

/* The sum's noise by the difference's: of a discriminator, else as if both were as dense. */
static double sum_noise(const struct sc_composite_noise *noise, double difference_noise,
                        double *unsure)
{
  if (noise->per_hz >= 0.0) {
    const double power = difference_noise / stereo_band_noise() * cube(edge_hz) / 3.0 * 1e-6;
    *unsure = 0.05 * power;
    return power;
  }
  *unsure = difference_noise / 2.0;
  return difference_noise / 2.0;
}

struct stereo_powers stereo_powers_of(const struct sc_stereo_meter *m,
                                      const struct sc_composite_noise *noise)
{
  const struct measure_stereo_sums *s = &m->sums;
  const double n = s->frames;
  const double a = s->ii / n - s->i / n * (s->i / n);
  const double b = s->qq / n - s->q / n * (s->q / n);
  const double c = s->iq / n - s->i / n * (s->q / n);
  const double apart = hypot((a - b) / 2.0, c);
  struct stereo_powers p = {.in_phase = a, .cross = s->mi / n - s->m / n * (s->i / n)};
  p.difference = 2.0 * apart;
  p.difference_noise = fmax(0.0, (a + b) / 2.0 - apart);
  p.angle_rad = atan2(2.0 * c, a - b) / 2.0;
  p.draws = 2.0 * MEASURE_STEREO_AUDIO_HZ * n / m->audio_rate_hz;
  p.sum_noise = sum_noise(noise, p.difference_noise, &p.sum_unsure);
  p.sum = s->mm / n - s->m / n * (s->m / n) - p.sum_noise;
  p.sum_sd = hypot(stereo_power_sd(p.sum, p.sum_noise, p.draws), p.sum_unsure);
  p.difference_sd = hypot(stereo_power_sd(p.difference, p.difference_noise, p.draws),
                          p.difference_noise * sqrt(2.0 / p.draws));
  return p;
}

/* What the decoder itself makes of a strong signal beside is no signal. */
static double leak_of(double power)
{
  return 10.0 * MEASURE_STEREO_LEAK * MEASURE_STEREO_LEAK * fmax(0.0, power);
}

bool stereo_has_sum(const struct stereo_powers *p)
{
  return p->sum > MEASURE_STEREO_CHANCE * p->sum_sd + leak_of(p->difference);
}

bool stereo_has_difference(const struct stereo_powers *p, double pilot)
{
  return p->difference > MEASURE_STEREO_CHANCE * p->difference_sd + leak_of(p->sum + pilot * pilot);
}

/* Integral of f^2 behind de-emphasis: (w - atan w) / (2 pi tau)^3, w = 2 pi tau f. */
double stereo_noise_behind(double per_hz, double tau_s)
{
  const double turn = 6.283185307179586476925286766559 * tau_s;
  const double w = turn * edge_hz;
  const double integral = tau_s > 0.0 ? (w - atan(w)) / cube(turn) : cube(edge_hz) / 3.0;
  return per_hz * integral * 1e-6;
}

double stereo_unlocked_rms(const struct measure_stereo_sums *s)
{
  if (!(s->unlocked_power > 0.0) || s->symmetric < symmetric_least * s->unlocked_power)
    return 0.0;
  return sqrt(s->symmetric / s->frames);
}

/* Of noise alone a part is symmetric by chance, and no difference is taken off. */
double stereo_unlocked_noise(const struct measure_stereo_sums *s)
{
  const double difference = stereo_unlocked_rms(s) > 0.0 ? s->symmetric : 0.0;
  return s->frames > 0.0 ? fmax(0.0, s->unlocked_power - difference) / 2.0 / s->frames : 0.0;
}
