/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Side lines that are cut off leave a ripple on the envelope of the rest, which shows the loss.
 *
 * How the errors go with the ripple r (rms of the envelope over its mean) was found with tones of
 * 1 to 12 kHz in one channel at 30 to 90 % and half widths of 91 to 122 kHz: a held peak is low by
 * 0.55 sqrt(r), the difference by 0.8 r, one channel leaks into the other by 0.4 r, the pilot is
 * low by 0.27 r, a residual of up to 1.2 r percent of 75 kHz appears. RDS, whose own side lines are
 * the outermost, is low by up to 0.55 sqrt(r) (half widths of 94 to 119 kHz, the same tones and
 * pink noise); what stands above 53 kHz is taken to lose as much. Noise ripples the envelope
 * too, so the ripple is not taken to be larger than the largest that the deviation can make in
 * such a width; that bound is the fit to the same tones, half as much again.
 *
 * A channel of full width loses too where peaks come near to its edges: side lines of what
 * modulates fast stand up to its frequency beyond the deviation. Stereo pink noise behind 50 us,
 * peaks of 120, 151, 161, 204 and 209 kHz in 175 kHz to either side, was read low by 0.9, 3, 4, 7
 * and 11 % raw, and by 0.2, 0.5, 1.6, 7 and 11 % without noise; `by_reach` makes twice the
 * uncertainty of that. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "analysis/widen.h"

static const double wide_hz = 175e3;
static const double fast_hz = 65e3; /* beyond the deviation */
static const double by_reach = 0.08, by_reach_squared = 0.4;
static const double by_peak = 0.55;
static const double by_rms = 0.2;
static const double by_difference = 0.9;
static const double by_sum = 0.1;
static const double by_pilot = 0.3;
static const double by_channel = 0.5;
static const double by_residual = 1.5; /* percent of 75 kHz */
static const double by_high = 0.5;     /* above 53 kHz */
static const double rds_upper_hz = 59.4e3;
static const double by_image = 1.5;
static const double seen_sigmas = 6.90; /* stereo.h: one in a million passes 5.26 */
static const double db = 8.685889638;
static const double degrees = 57.29577951;
/* A separation that is less sure than this is none. */
static const double separation_most_db = 3;

static const char truncated[] = "truncated by the capture's bandwidth";

static double ripple_bound(double half_width_hz, double peak_khz)
{
  const double narrow = exp(-(half_width_hz - 91e3) / 25e3);
  return 1.5 * 0.036 * narrow * pow(peak_khz / 75 / 0.9, 2.5);
}

static void add(struct sc_quantity *quantity, double uncertainty)
{
  if (quantity->why == NULL)
    quantity->uncertainty = hypot(quantity->uncertainty, uncertainty);
}

static void add_share(struct sc_quantity *quantity, double share)
{
  add(quantity, share * fabs(quantity->value));
}

static void take_back(struct sc_quantity *quantity)
{
  if (quantity->why == NULL)
    *quantity = sc_not_measured(truncated);
}

static void widen_peaks(struct sc_deviation *d, double share)
{
  add_share(&d->peak_khz, share);
  add_share(&d->corrected_khz, share);
  add_share(&d->positive_khz, share);
  add_share(&d->negative_khz, share);
}

static void widen_deviation(struct sc_deviation *d, double ripple)
{
  widen_peaks(d, by_peak * sqrt(ripple));
  add_share(&d->rms_khz, by_rms * ripple);
  add(&d->power_dbr, db * by_rms * ripple);
}

/* And its bound, which is absent where the value is there. */
static void take_back_both(struct sc_quantity *quantity, struct sc_quantity *bound)
{
  take_back(quantity);
  *bound = sc_not_measured(truncated);
}

static void widen_separation(struct sc_quantity *separation, struct sc_quantity *at_least,
                             double ripple)
{
  if (separation->why != NULL)
    return;
  add(separation, db * by_channel * ripple * pow(10, separation->value / 20));
  if (separation->uncertainty > separation_most_db)
    take_back_both(separation, at_least);
}

/* The loss may hide as much as it may make. */
static void lower_bound(struct sc_quantity *at_least, double ripple)
{
  if (at_least->why == NULL)
    at_least->value = -20 * log10(pow(10, -at_least->value / 20) + by_channel * ripple);
}

static void widen_stereo(struct sc_stereo *s, double ripple)
{
  add_share(&s->sum_rms_khz, by_sum * ripple);
  add_share(&s->sum_peak_khz, by_difference * ripple);
  add(&s->sum_level_db75, db * by_sum * ripple);
  add(&s->sum_level_db_pilot, db * by_pilot * ripple);
  add_share(&s->difference_rms_khz, by_difference * ripple);
  add_share(&s->difference_peak_khz, by_peak * sqrt(ripple));
  add(&s->difference_level_db75, db * by_difference * ripple);
  add(&s->difference_level_db_pilot, db * by_difference * ripple);
  add(&s->phase_error_deg, degrees * by_channel * ripple);
  add(&s->residual_percent, by_residual * ripple);
  if (s->residual_limit_percent.why == NULL)
    s->residual_limit_percent.value =
        hypot(s->residual_limit_percent.value, seen_sigmas * by_residual * ripple);
  if (s->residual_percent.value < 5 * s->residual_percent.uncertainty)
    s->residual_present = s->residual_present == SC_YES ? SC_UNKNOWN : s->residual_present;
  add_share(&s->left_rms_khz, by_channel * ripple);
  add_share(&s->right_rms_khz, by_channel * ripple);
  add(&s->balance_db, db * by_channel * ripple);
  add(&s->correlation, by_channel * ripple);
  add(&s->interchannel_phase_deg, degrees * by_channel * ripple);
  widen_separation(&s->separation_left_to_right_db, &s->separation_left_to_right_at_least_db,
                   ripple);
  widen_separation(&s->separation_right_to_left_db, &s->separation_right_to_left_at_least_db,
                   ripple);
  lower_bound(&s->separation_left_to_right_at_least_db, ripple);
  lower_bound(&s->separation_right_to_left_at_least_db, ripple);
}

static void widen_high(struct sc_result *result, double half_width_hz, double ripple)
{
  const double share = by_high * sqrt(ripple);
  struct sc_rds *rds = &result->rds;
  struct sc_quantity *const of_rds[] = {&rds->injection_khz, &rds->injection_percent,
                                        &rds->amplitude_rms};
  for (size_t i = 0; i < sizeof of_rds / sizeof *of_rds; i++) {
    add_share(of_rds[i], share);
    if (half_width_hz < rds_upper_hz)
      take_back(of_rds[i]);
  }
  for (size_t i = 0; i < result->injections.count; i++) {
    struct sc_injection *found = &result->injections.at[i];
    add_share(&found->deviation_khz, share);
    add_share(&found->injection_percent, share);
    add(&found->level_db_pilot, db * share);
  }
}

double analysis_reach_share(const struct sc_result *result, double half_width_hz)
{
  const struct sc_quantity *peak = &result->deviation.peak_khz;
  if (peak->why != NULL || half_width_hz < wide_hz)
    return 0;
  const double beyond = (1e3 * peak->value + fast_hz) / half_width_hz - 1;
  return beyond > 0 ? by_reach * beyond + by_reach_squared * beyond * beyond : 0;
}

void analysis_widen(struct sc_result *result, double half_width_hz, double ripple)
{
  if (result->composite_why != NULL)
    return;
  widen_peaks(&result->deviation, analysis_reach_share(result, half_width_hz));
  if (!(half_width_hz < wide_hz))
    return;
  const double bound = ripple_bound(half_width_hz, result->deviation.peak_khz.value);
  const double loss = ripple < bound ? ripple : bound;
  widen_deviation(&result->deviation, loss);
  widen_stereo(&result->stereo, loss);
  widen_high(result, half_width_hz, loss);
  add_share(&result->pilot.deviation_khz, by_pilot * loss);
  add_share(&result->pilot.amplitude, by_pilot * loss);
  add_share(&result->pilot.injection_percent, by_pilot * loss);
  if (result->noise.am_synchronous_db.why == NULL ||
      result->noise.am_synchronous_at_most_db.why == NULL)
    take_back_both(&result->noise.am_synchronous_db, &result->noise.am_synchronous_at_most_db);
}

void analysis_widen_by_share(struct sc_result *result, double share)
{
  struct sc_quantity *const amplitudes[] = {
      &result->deviation.peak_khz,        &result->deviation.corrected_khz,
      &result->deviation.positive_khz,    &result->deviation.negative_khz,
      &result->deviation.rms_khz,         &result->pilot.deviation_khz,
      &result->pilot.amplitude,           &result->pilot.injection_percent,
      &result->stereo.sum_rms_khz,        &result->stereo.sum_peak_khz,
      &result->stereo.difference_rms_khz, &result->stereo.difference_peak_khz,
      &result->rds.injection_khz,         &result->rds.injection_percent};
  if (!(share > 0) || result->composite_why != NULL)
    return;
  for (size_t i = 0; i < sizeof amplitudes / sizeof *amplitudes; i++)
    add_share(amplitudes[i], share);
  add(&result->deviation.power_dbr, db * share);
  add(&result->stereo.sum_level_db75, db * share);
  add(&result->stereo.difference_level_db75, db * share);
}

/* x + K conj(x) of a carrier at rest changes its modulation by up to 1.5 K (found with silent
 * stations). */
void analysis_widen_by_image(struct sc_result *result, double image)
{
  analysis_widen_by_share(result, by_image * image);
}
