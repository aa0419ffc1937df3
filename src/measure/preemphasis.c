/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The time constant that fits the response best: chi squared over a grid, and its parabola. */
#include <sidecomb/preemphasis.h>

#include <math.h>

static const double two_pi = 6.283185307179586476925286766559;
static const double step_us = 0.5;
static const double most_us = 120.0;
static const double level_floor_db =
    0.02;                              /* no level is better known than the decoder's response */
static const double fit_most_db = 0.4; /* rms of what the curve leaves */
static const double near_us = 5.0;     /* from a standard value */
static const double top_hz = 14.5e3;   /* above, the channel's low-pass begins */
static const double standards_us[] = {0.0, 50.0, 75.0};

static const char by_test_audio[] = "a fit to the combs of the test audio";
static const char no_sequence[] =
    "it cannot be told: a programme's own spectrum is not known; it takes the test audio";
static const char no_points[] = "it cannot be told: the combs of the test audio were not measured";
static const char no_fit[] = "the response follows no pre-emphasis curve";
static const char no_standard[] = "the fitted time constant is none of the standard ones";

struct fit {
  double chi, rms_db, points;
};

static double gain_db(double hz, double tau_us)
{
  const double x = two_pi * hz * tau_us * 1e-6;
  return 10.0 * log10(1.0 + x * x);
}

static int usable(const struct sc_audio_point *p)
{
  return p->response_db.why == NULL && p->frequency_hz > 0.0 && p->frequency_hz < top_hz;
}

/* What the curve of tau leaves, each channel's level taken off. */
static struct fit try_tau(const struct sc_audio *audio, double tau_us)
{
  struct fit fit = {0.0, 0.0, 0.0};
  for (int channel = 0; channel < 2; channel++) {
    double weight = 0.0, mean = 0.0, square = 0.0, plain = 0.0, plain_square = 0.0, n = 0.0;
    for (int i = 0; i < SC_AUDIO_POINTS; i++) {
      const struct sc_audio_point *p = &audio->points[i];
      if (!usable(p) || p->right != (channel == 1))
        continue;
      const double rest = p->response_db.value - gain_db(p->frequency_hz, tau_us);
      const double own = p->response_db.uncertainty; /* none: the tone that the others refer to */
      const double sd = hypot(isnan(own) ? 0.0 : own, level_floor_db);
      weight += 1.0 / (sd * sd);
      mean += rest / (sd * sd);
      square += rest * rest / (sd * sd);
      plain += rest;
      plain_square += rest * rest;
      n += 1.0;
    }
    if (n < 3.0)
      continue;
    fit.chi += square - mean * mean / weight;
    fit.rms_db += plain_square - plain * plain / n;
    fit.points += n - 1.0;
  }
  fit.rms_db = fit.points > 0.0 ? sqrt(fmax(0.0, fit.rms_db) / fit.points) : 0.0;
  return fit;
}

void sc_preemphasis_refuse(struct sc_preemphasis *preemphasis, const char *why)
{
  preemphasis->tau_us = preemphasis->fitted_us = sc_not_measured(why);
  preemphasis->uncertainty_us = sc_not_measured(why);
  preemphasis->basis = why;
}

static void name_standard(struct sc_preemphasis *p)
{
  p->tau_us = sc_not_measured(no_standard);
  for (int i = 0; i < 3; i++) {
    const double distance = fabs(p->fitted_us.value - standards_us[i]);
    /* tau enters squared: near zero it is poorly known */
    const double reach = standards_us[i] == 0.0 ? 3.0 * near_us : near_us;
    if (distance <= reach && 3.0 * p->fitted_us.uncertainty < 2.0 * reach)
      p->tau_us = sc_measured(standards_us[i], (double)NAN);
  }
}

void sc_preemphasis_fit(const struct sc_audio *audio, struct sc_preemphasis *preemphasis)
{
  struct sc_preemphasis *p = preemphasis;
  const char *why = audio->sequence != SC_YES ? no_sequence
                    : audio->points_why != NULL || !(try_tau(audio, 0.0).points >= 6.0) ? no_points
                                                                                        : NULL;
  sc_preemphasis_refuse(p, why);
  if (why != NULL)
    return;
  double best_us = 0.0;
  double least = INFINITY;
  for (double tau_us = 0.0; tau_us <= most_us; tau_us += step_us) {
    const double chi = try_tau(audio, tau_us).chi;
    if (chi < least) {
      least = chi;
      best_us = tau_us;
    }
  }
  const double at_us = fmax(best_us, step_us);
  const double before = try_tau(audio, at_us - step_us).chi;
  const double after = try_tau(audio, at_us + step_us).chi;
  const double here = try_tau(audio, at_us).chi;
  const double bend = (before - 2.0 * here + after) / (step_us * step_us);
  const struct fit fit = try_tau(audio, at_us);
  if (fit.rms_db > fit_most_db || !(bend > 0.0)) {
    sc_preemphasis_refuse(p, no_fit);
    return;
  }
  const double shift_us = (before - after) / (2.0 * step_us) / bend;
  const double excess = sqrt(fmax(1.0, fit.chi / fmax(1.0, fit.points - 1.0)));
  p->fitted_us = sc_measured(fmax(0.0, at_us + shift_us), excess * sqrt(2.0 / bend));
  p->uncertainty_us = sc_measured(p->fitted_us.uncertainty, (double)NAN);
  p->basis = by_test_audio;
  name_standard(p);
}
