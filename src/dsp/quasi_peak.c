/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The quasi-peak detector: two rectifiers in series, each charges fast and drains slowly. */
#include "dsp/quasi_peak.h"

#include <math.h>

#define PI 3.1415926535897932384626433832795

/* Fitted to the middle of BS.468-4's tables: every burst reads within 0.2 of the way from there
 * to its limit. */
static const double charge_s[2] = {1.570e-3, 258e-3};
static const double drain_s[2] = {297e-3, 295e-3};
static const double calibration_hz = 1000, calibration_s = 1.5;

static double share(double time_constant_s, double rate_hz)
{
  return -expm1(-1 / (time_constant_s * rate_hz));
}

void dsp_quasi_peak_start(struct dsp_quasi_peak *detector, double rate_hz)
{
  *detector = (struct dsp_quasi_peak){.scale = 1};
  for (int i = 0; i < 2; i++) {
    detector->rise[i] = share(charge_s[i], rate_hz);
    detector->fall[i] = share(drain_s[i], rate_hz);
  }
  double reading = 0;
  const double turn = 2 * PI * calibration_hz / rate_hz;
  for (double i = 0; i < calibration_s * rate_hz; i++)
    reading = dsp_quasi_peak_run(detector, sin(turn * i));
  detector->scale = sqrt(0.5) / reading;
  detector->held[0] = detector->held[1] = 0;
}

double dsp_quasi_peak_run(struct dsp_quasi_peak *detector, double sample)
{
  double in = fabs(sample);
  for (int i = 0; i < 2; i++) {
    double *held = &detector->held[i];
    *held += detector->rise[i] * fmax(0, in - *held);
    *held -= detector->fall[i] * *held;
    in = *held;
  }
  return detector->scale * in;
}
