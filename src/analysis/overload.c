/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A sine of amplitude A, cut at 1 = A sin a, has the first harmonic (2 A / pi) (a + sin a cos a)
 * and the third (4 A / pi) (sin 2a / 4 - sin 4a / 8 + sin a cos 3a / 3) (Fourier series). Of a
 * carrier's two parts, which are at an end in turn, 1 - 2 a / pi of the time each, the third
 * harmonics are one at minus three times its frequency: with three times the modulation, and it
 * may fold back onto the carrier. Its ratio e to the carrier changes the modulation by up to 4 e
 * then. The other parts of the composite in a sound card's recording are cut like it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "analysis/overload.h"
#include "analysis/widen.h"

static const double least_share = 1e-3; /* fewer change nothing that shows */
static const double most_error = 0.2;   /* what is less sure is not stated */
static const double pi = 3.14159265358979323846;

static const char overloaded[] = "the capture is overloaded: record it with less gain";
static const char cut_off[] = "the recording is cut off at the ends of its range";

/* `parts`: samples of a frame, which take turns. */
static double error_of(double share, double parts)
{
  const double a = pi / 2.0 * (1.0 - fmin(1.0, share / parts));
  const double first = (a + sin(a) * cos(a)) / 2.0;
  const double third = sin(2.0 * a) / 4.0 - sin(4.0 * a) / 8.0 + sin(a) * cos(3.0 * a) / 3.0;
  return 4.0 * fabs(third) / first;
}

static void take_back(struct sc_result *result)
{
  const struct sc_quantity none = sc_not_measured(overloaded);
  struct sc_pilot *pilot = &result->pilot;
  pilot->deviation_khz = pilot->amplitude = pilot->injection_percent = none;
  sc_deviation_refuse(&result->deviation, overloaded);
  sc_stereo_refuse(&result->stereo, SC_MODE_UNKNOWN, overloaded);
  sc_preemphasis_refuse(&result->preemphasis, overloaded);
  sc_injection_refuse(&result->injections, overloaded);
  result->rds.injection_khz = result->rds.injection_percent = result->rds.amplitude_rms = none;
  result->noise = (struct sc_noise){.am_unmodulated_db = none,
                                    .am_synchronous_db = none,
                                    .am_limit_db = none,
                                    .envelope_percent = none,
                                    .fm_noise_db = none,
                                    .fm_noise_limit_db = none,
                                    .am_unmodulated_at_most_db = none,
                                    .am_synchronous_at_most_db = none,
                                    .fm_noise_at_most_db = none,
                                    .deemphasis_us = result->noise.deemphasis_us};
  result->unmeasured = overloaded;
}

void analysis_overload(struct sc_result *result)
{
  const struct sc_capture_facts *capture = &result->capture;
  const double share = (double)capture->clipped / fmax(1.0, (double)capture->frames);
  const bool iq = capture->info.kind == SC_KIND_IQ;
  if (share < least_share || result->composite_why != NULL || capture->info.kind == SC_KIND_AUDIO)
    return;
  const double error = error_of(share, iq ? 2.0 : 1.0);
  if (error > most_error)
    take_back(result);
  else
    analysis_widen_by_share(result, error);
  if (!iq) {
    struct sc_deviation *d = &result->deviation;
    d->peak_khz = d->corrected_khz = d->positive_khz = d->negative_khz = sc_not_measured(cut_off);
  }
}
