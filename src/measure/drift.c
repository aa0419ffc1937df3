/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares: with the times t_i about their mean, the slope is sum(t x) / sum(t^2) and has the
 * variance s^2 / sum(t^2), s^2 being the squared rests over n - 2 (textbook). */
#include "measure/drift.h"

#include <math.h>

enum { STRETCHES_MIN = 5, FREEDOM_LISTED = 9 };

/* Where the means hardly scatter, as between bursts of a tone whose ends weigh on the rate of the
 * whole, their own slope tells that nothing moves. */
static const double agree = 0.5;

/* By n - 2: Student's t that chance passes, to either side, once in 1e5 (integrated from its
 * density); the last one for all above. */
static const double passed_once[FREEDOM_LISTED + 1] = {INFINITY, INFINITY, INFINITY, 60.4, 27.8,
                                                       17.9,     13.6,     11.3,     9.8,  8.9};

/* What the means scatter beyond the noise is of the modulation. That of tones has no memory from
 * stretch to stretch; noise of a programme, whose power goes with 1 / f (pink), weighs on the rate
 * of the whole as so many times its scatter about a line tells: 1.9 of 5 means, 2.6 of 11
 * (simulated with the tapers in use). */
static const double pink_times = 2.6;

static double passed_by_chance(size_t freedom)
{
  return passed_once[freedom < FREEDOM_LISTED ? freedom : FREEDOM_LISTED];
}

double measure_slope_of(const double *means, size_t count, double step_s)
{
  const double middle = ((double)count - 1.0) / 2.0;
  double along = 0.0, squares = 0.0;
  for (size_t i = 0; i < count; i++) {
    const double t = (double)i - middle;
    along += t * means[i];
    squares += t * t;
  }
  return along / squares / step_s;
}

struct measure_drift measure_drift_of(const double *means, size_t count, double stretch_s,
                                      double rate, double variance)
{
  struct measure_drift drift = {0};
  if (count < STRETCHES_MIN)
    return drift;
  const double n = (double)count, middle = (n - 1.0) / 2.0;
  const double own = measure_slope_of(means, count, stretch_s);
  double sum = 0.0, squares = 0.0, rests = 0.0;
  for (size_t i = 0; i < count; i++) {
    const double t = (double)i - middle;
    sum += means[i];
    squares += t * t;
  }
  for (size_t i = 0; i < count; i++) {
    const double line = sum / n + ((double)i - middle) * own * stretch_s;
    rests += (means[i] - line) * (means[i] - line);
  }
  const double scatter = rests / (n - 2.0) / squares / (stretch_s * stretch_s);
  drift.known = true;
  drift.rate = rate;
  drift.uncertainty = sqrt(variance + pink_times * pink_times * fmax(scatter - variance, 0.0));
  drift.sure = fabs(drift.rate) > passed_by_chance(count - 2) * drift.uncertainty &&
               fabs(drift.rate - own) < agree * fabs(drift.rate);
  return drift;
}
