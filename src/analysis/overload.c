/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A sine of amplitude A, cut at 1 = A sin a, has the first harmonic (2 A / pi) (a + sin a cos a)
 * and the third (4 A / pi) (sin 2a / 4 - sin 4a / 8 + sin a cos 3a / 3) (Fourier series). Of a
 * carrier's two parts, which are at an end in turn, 1 - 2 a / pi of the time each, the third
 * harmonics are one at minus three times its frequency: with three times the modulation, and it
 * may fold back onto the carrier. Its ratio e to the carrier changes the modulation by up to 4 e
 * then; each line that it makes is no stronger than e, and the fifth harmonic and so on are weaker:
 * twice e is allowed for all. The other parts of the composite in a sound card's recording are cut
 * like it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

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
                                    .image = none,
                                    .fm_noise_db = none,
                                    .fm_noise_limit_db = none,
                                    .am_unmodulated_at_most_db = none,
                                    .am_synchronous_at_most_db = none,
                                    .fm_noise_at_most_db = none,
                                    .deemphasis_us = result->noise.deemphasis_us};
  result->unmeasured = overloaded;
}

/* 0: nothing that shows. */
static double error_here(const struct sc_result *result)
{
  const struct sc_capture_facts *capture = &result->capture;
  const double share = (double)capture->clipped / fmax(1.0, (double)capture->frames);
  const bool iq = capture->info.kind == SC_KIND_IQ;
  return share < least_share || result->composite_why != NULL || capture->info.kind == SC_KIND_AUDIO
             ? 0
             : error_of(share, iq ? 2.0 : 1.0);
}

/* ---- lines */

static double amplitude_of(struct sc_quantity level_db)
{
  return level_db.why == NULL ? pow(10, level_db.value / 20) : 0;
}

/* Of a line on air relative to the carrier: the line, or what is known of what the prediction left
 * of it. */
static double open_part(const struct sc_line *line)
{
  const double all = amplitude_of(line->level_dbc);
  if (line->verdict != SC_VERDICT_RESIDUAL)
    return all;
  const double apart = fabs(all - amplitude_of(line->predicted_dbc));
  return fmax(apart, fmax(amplitude_of(line->am_part_dbc), amplitude_of(line->one_sided_dbc)));
}

/* Of a tone what the overload has to be beside the carrier to make it, or of full scale. */
static double open_tone(const struct sc_result *result, const struct sc_line *line)
{
  return result->composite_full_scale > 0
             ? line->tone.amplitude / result->composite_full_scale
             : 1e3 * line->deviation_khz.value / fmax(1.0, line->offset_hz.value);
}

static void leave_open(struct sc_line *line, double part, double made)
{
  const bool open = line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_RESIDUAL;
  if (!open || !(part <= made))
    return;
  if (line->verdict == SC_VERDICT_SPURIOUS)
    line->label[0] = '\0';
  line->verdict = SC_VERDICT_UNKNOWN;
  (void)snprintf(line->cause, sizeof line->cause,
                 "%s may be what the capture's overload makes: record it with less gain",
                 line->label[0] == '\0' ? "it" : "what is left of it");
}

void analysis_overload_lines(struct sc_result *result)
{
  const double error = error_here(result);
  const double made = error > most_error ? INFINITY : error / 2;
  struct sc_line_list *air = &result->air_lines, *composite = &result->composite_lines;
  for (size_t i = 0; i < air->count && error > 0; i++)
    leave_open(&air->lines[i], open_part(&air->lines[i]), made);
  for (size_t i = 0; i < composite->count && error > 0; i++)
    leave_open(&composite->lines[i], open_tone(result, &composite->lines[i]), made);
}

/* ---- measurements */

void analysis_overload(struct sc_result *result)
{
  const bool iq = result->capture.info.kind == SC_KIND_IQ;
  const double error = error_here(result);
  if (!(error > 0))
    return;
  if (error > most_error)
    take_back(result);
  else
    analysis_widen_by_share(result, error);
  if (!iq) {
    struct sc_deviation *d = &result->deviation;
    d->peak_khz = d->corrected_khz = d->positive_khz = d->negative_khz = sc_not_measured(cut_off);
  }
}
