/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from the stereo meter's sums. */
#include <sidecomb/stereo.h>

#include "measure/stereo_mode.h"
#include "measure/stereo_powers.h"
#include "measure/stereo_sums.h"
#include "measure/stereo_tones.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double full_khz = 75.0;
static const double subcarrier_hz = 38e3;
static const double pilot_hz = 19e3;
static const double shortest_s = 0.3;
static const double response_share = 1e-4;      /* demodulator and decoder */
static const double crosstalk_share = 0.1;      /* -20 dB: more is programme */
static const double hum_response_share = 0.003; /* of the power: 0.013 dB */
static const double degrees = 57.295779513082320877;

static const char no_scale[] = "the composite has no absolute scale";
static const char no_pilot[] = "there is no pilot to decode by";
static const char no_programme[] = "the difference carries no programme: see the mode";
static const char no_difference[] = "no difference signal stands above the noise";
static const char no_sum[] = "no sum signal stands above the noise";
static const char too_short[] = "less than 0.3 s could be decoded";
static const char too_slow[] = "the capture does not reach to 53 kHz";
static const char both_carry[] = "sum and difference both carry programme";
static const char itself[] = "it was measured itself";
static const char below_noise[] = "below what the capture's noise lets be seen";
static const char own_image[] =
    "the carrier is at the receiver's centre, where its own image cannot be told apart; retune by "
    "more than the signal's half width";

void sc_stereo_refuse(struct sc_stereo *stereo, enum sc_stereo_mode mode, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  *stereo = (struct sc_stereo){.mode = mode,
                               .sum_rms_khz = none,
                               .sum_peak_khz = none,
                               .sum_level_db75 = none,
                               .sum_level_db_pilot = none,
                               .difference_rms_khz = none,
                               .difference_peak_khz = none,
                               .difference_level_db75 = none,
                               .difference_level_db_pilot = none,
                               .phase_error_deg = none,
                               .residual_percent = none,
                               .residual_level_db_pilot = none,
                               .residual_limit_percent = none,
                               .left_rms_khz = none,
                               .right_rms_khz = none,
                               .separation_left_to_right_db = none,
                               .separation_right_to_left_db = none,
                               .separation_left_to_right_at_least_db = none,
                               .separation_right_to_left_at_least_db = none,
                               .separation_left_hz = none,
                               .separation_right_hz = none,
                               .balance_db = none,
                               .correlation = none,
                               .interchannel_phase_deg = none,
                               .interchannel_hz = none,
                               .crosstalk_sum_to_difference_db = none,
                               .crosstalk_difference_to_sum_db = none,
                               .crosstalk_sum_to_difference_at_most_db = none,
                               .crosstalk_difference_to_sum_at_most_db = none,
                               .hum_at_most_db = none,
                               .crosstalk_limit_db = none,
                               .hum_db = none,
                               .hum_limit_db = none,
                               .noise_per_hz = (double)NAN};
  snprintf(stereo->evidence, sizeof stereo->evidence, "%s", why);
}

static struct sc_quantity rms_of(double power, double sd, const char *why)
{
  if (why != NULL)
    return sc_not_measured(why);
  const double rms = sqrt(power);
  return sc_measured(rms, hypot(response_share * rms, sd / 2.0 / rms));
}

/* Level of an rms against a sine of peak `reference`. */
static struct sc_quantity level_of(struct sc_quantity rms, double reference,
                                   double reference_uncertainty)
{
  if (rms.why != NULL)
    return rms;
  const double share = hypot(rms.uncertainty / rms.value, reference_uncertainty / reference);
  return sc_measured(20.0 * log10(rms.value * sqrt(2.0) / reference), 20.0 / log(10.0) * share);
}

static double peak_about(double high, double low, double mean)
{
  return fmax(high - mean, mean - low);
}

/* ---- the parts of the result */

static const char *scale_why(const struct sc_stereo_meter *m)
{
  return m->settings.absolute ? NULL : no_scale;
}

static struct sc_quantity only_absolute(const struct sc_stereo_meter *m, struct sc_quantity q)
{
  const char *why = scale_why(m);
  return q.why == NULL && why != NULL ? sc_not_measured(why) : q;
}

static void state_level(const struct sc_stereo_meter *m, const struct sc_stereo_context *context,
                        struct sc_quantity rms, struct sc_quantity *db75,
                        struct sc_quantity *db_pilot)
{
  const struct sc_quantity *pilot = &context->pilot->amplitude;
  *db75 = only_absolute(m, level_of(rms, full_khz, 0.0));
  *db_pilot = pilot->why != NULL ? sc_not_measured(no_pilot)
                                 : level_of(rms, pilot->value, pilot->uncertainty);
}

static void state_sum(const struct sc_stereo_meter *m, const struct sc_stereo_context *context,
                      const struct stereo_powers *p, struct sc_stereo *r)
{
  const struct measure_stereo_sums *s = &m->sums;
  const struct sc_quantity rms = rms_of(p->sum, p->sum_sd, stereo_has_sum(p) ? NULL : no_sum);
  const double peak = peak_about(s->sum_high, s->sum_low, s->m / s->frames);
  r->sum_rms_khz = only_absolute(m, rms);
  r->sum_peak_khz =
      only_absolute(m, sc_measured(peak, hypot(response_share * peak, sqrt(p->sum_noise))));
  state_level(m, context, rms, &r->sum_level_db75, &r->sum_level_db_pilot);
}

/* Of twice the pilot's phase, which the angle counts from: a tone's is 1 / sqrt(2 E) (Rife and
 * Boorstyn, IEEE Trans. Inform. Theory 20, 1974, for the middle of a record). */
static double reference_sd(const struct sc_pilot *pilot)
{
  return isnan(pilot->snr_db) ? 0.0 : 2.0 * sqrt(0.5 * pow(10.0, -pilot->snr_db / 10.0));
}

/* The angle is the mean of in-phase times quadrature over the power: noise of the variance v turns
 * a power P by v / P, and by (v / P)^2 with itself, over the number of draws. */
static double angle_sd(const struct stereo_powers *p, const struct sc_pilot *pilot)
{
  const double noise = p->difference_noise / p->difference;
  return hypot(sqrt((noise + noise * noise) / p->draws), reference_sd(pilot));
}

static void state_difference(const struct sc_stereo_meter *m,
                             const struct sc_stereo_context *context, const struct stereo_powers *p,
                             const char *why, struct sc_stereo *r)
{
  const struct measure_stereo_sums *s = &m->sums;
  const struct sc_quantity rms = rms_of(p->difference, p->difference_sd, why);
  const double peak = peak_about(s->difference_high, s->difference_low, s->i / s->frames);
  r->difference_rms_khz = only_absolute(m, rms);
  r->difference_peak_khz =
      why == no_pilot ? sc_not_measured(why)
                      : only_absolute(m, sc_measured(peak, hypot(response_share * peak,
                                                                 sqrt(p->difference_noise))));
  state_level(m, context, rms, &r->difference_level_db75, &r->difference_level_db_pilot);
  /* Of an image, a tilt or a neighbour, little as it is, the direction tells of no subcarrier. */
  if (why == NULL && r->mode != SC_MODE_STEREO)
    why = no_programme;
  r->phase_error_deg =
      why != NULL ? sc_not_measured(why)
                  : sc_measured(degrees * p->angle_rad,
                                degrees * hypot(angle_sd(p, context->pilot), response_share));
}

/* The image of a carrier at the centre makes of the pilot a line at 38 kHz of its own: relative to
 * the signal 2 J2(2 b), b the pilot's index; J2(x) = x^2 / 8 (1 - x^2 / 12). */
static double image_line(double image, double pilot_khz)
{
  const double x = 2.0 * pilot_khz * 1e3 / pilot_hz;
  return subcarrier_hz * image * 2.0 * x * x / 8.0 * (1.0 - x * x / 12.0) * 1e-3;
}

static const char low_notes[] = "the programme's low notes hide what there may be";

static void state_residual(const struct sc_stereo_meter *m, const struct sc_stereo_context *context,
                           struct sc_stereo *r)
{
  struct measure_residual_result found;
  const struct sc_quantity *pilot = &context->pilot->amplitude;
  const double image = m->settings.absolute ? image_line(context->image, pilot->value) : 0.0;
  const double rounding = 0x1p-22 * pilot->value; /* of single-precision samples */
  measure_residual_result(m->residual, hypot(image, rounding), &found);
  const char *why = isnan(found.uncertainty) ? "it takes 1 s without a gap"
                    : isnan(context->image)  ? own_image
                                             : NULL;
  if (why != NULL) {
    r->residual_percent = r->residual_level_db_pilot = sc_not_measured(why);
    r->residual_limit_percent = sc_not_measured(why);
    return;
  }
  const double percent = 100.0 / full_khz;
  r->residual_present = found.claimed ? SC_YES : found.hidden ? SC_UNKNOWN : SC_NO;
  r->residual_percent = only_absolute(
      m, found.hidden ? sc_not_measured(low_notes)
                      : sc_measured(percent * found.amplitude, percent * found.uncertainty));
  r->residual_limit_percent = only_absolute(m, sc_measured(percent * found.limit, (double)NAN));
  r->residual_level_db_pilot =
      found.claimed ? sc_measured(20.0 * log10(found.amplitude / pilot->value),
                                  20.0 / log(10.0) * found.uncertainty / found.amplitude)
                    : sc_not_measured(found.hidden ? low_notes
                                                   : "no residual carrier stands above the noise");
}

static void state_channels(const struct sc_stereo_meter *m, const struct stereo_powers *p,
                           struct sc_stereo *r)
{
  const double noise = p->sum_noise + p->difference_noise;
  const double mono = p->sum + p->in_phase - p->difference_noise;
  const double power[2] = {mono + 2.0 * p->cross, mono - 2.0 * p->cross};
  struct sc_quantity rms[2];
  for (int c = 0; c < 2; c++) {
    const double sd = hypot(stereo_power_sd(power[c], noise, p->draws), p->sum_unsure);
    rms[c] =
        rms_of(power[c], sd,
               power[c] > MEASURE_STEREO_CHANCE * sd ? NULL : "nothing stands above the noise");
  }
  r->left_rms_khz = only_absolute(m, rms[0]);
  r->right_rms_khz = only_absolute(m, rms[1]);
  if (rms[0].why != NULL || rms[1].why != NULL) {
    r->balance_db = r->correlation = sc_not_measured("a channel is silent");
    return;
  }
  const double share = hypot(rms[0].uncertainty / rms[0].value, rms[1].uncertainty / rms[1].value);
  r->balance_db = sc_measured(20.0 * log10(rms[0].value / rms[1].value), 20.0 / log(10.0) * share);
  r->correlation = sc_measured(
      (p->sum - p->in_phase + p->difference_noise) / (rms[0].value * rms[1].value), share);
}

static bool is_silent(enum sc_stereo_mode mode)
{
  return mode == SC_MODE_UNMODULATED || mode == SC_MODE_PILOT_ONLY;
}

static void refuse_crosstalk(const char *why, struct sc_stereo *r)
{
  const struct sc_quantity none = sc_not_measured(why);
  r->crosstalk_sum_to_difference_db = r->crosstalk_difference_to_sum_db = none;
  r->crosstalk_sum_to_difference_at_most_db = r->crosstalk_difference_to_sum_at_most_db = none;
  r->crosstalk_limit_db = none;
}

static void state_crosstalk(const struct stereo_powers *p, struct sc_stereo *r)
{
  const double strong = fmax(p->sum, p->difference);
  const bool sum_leads = p->sum > p->difference;
  const double weak = sum_leads ? p->difference : p->sum;
  const double sd = sum_leads ? p->difference_sd : p->sum_sd;
  struct sc_quantity *to =
      sum_leads ? &r->crosstalk_sum_to_difference_db : &r->crosstalk_difference_to_sum_db;
  struct sc_quantity *at_most = sum_leads ? &r->crosstalk_sum_to_difference_at_most_db
                                          : &r->crosstalk_difference_to_sum_at_most_db;
  refuse_crosstalk(is_silent(r->mode) ? "no programme is sent" : both_carry, r);
  if (is_silent(r->mode) || weak > crosstalk_share * crosstalk_share * strong)
    return;
  refuse_crosstalk(
      sum_leads ? "the sum carries the programme" : "the difference carries the programme", r);
  r->crosstalk_limit_db =
      sc_measured(10.0 * log10(MEASURE_STEREO_CHANCE * sd / strong), (double)NAN);
  const bool seen = weak > MEASURE_STEREO_CHANCE * sd;
  *to = seen ? sc_measured(10.0 * log10(weak / strong), 10.0 / log(10.0) * sd / weak)
             : sc_not_measured(below_noise);
  const double most = fmax(0.0, weak) + MEASURE_STEREO_HIDDEN * sd;
  *at_most = seen ? sc_not_measured(itself) : sc_measured(10.0 * log10(most / strong), (double)NAN);
}

static void state_hum(const struct sc_stereo_meter *m, const struct sc_composite_noise *noise,
                      struct sc_stereo *r)
{
  const struct measure_stereo_sums *s = &m->sums;
  const char *why = !m->settings.absolute ? no_scale
                    : !is_silent(r->mode) ? "a programme is sent; it takes silence"
                    : s->hum_frames < shortest_s * m->audio_rate_hz ? too_short
                                                                    : NULL;
  r->hum_db = r->hum_limit_db = r->hum_at_most_db = sc_not_measured(why);
  if (why != NULL)
    return;
  const bool known = noise->per_hz >= 0.0 && r->noise_per_hz >= 0.0;
  const double own =
      known ? stereo_noise_behind(r->noise_per_hz, m->settings.deemphasis_us * 1e-6) : 0.0;
  const double power = s->hum / s->hum_frames - own;
  const double draws =
      MEASURE_STEREO_AUDIO_HZ * s->hum_frames / m->audio_rate_hz; /* few are high */
  /* a tone's power over broken cycles is off by 1 / (2 w T) at the most; w: 30 Hz */
  const double cycles = m->audio_rate_hz / (377.0 * s->hum_frames);
  const double response = hypot(hum_response_share, cycles) * power;
  const double sd = hypot(stereo_power_sd(power, own, draws), hypot(0.05 * own, response));
  const double full = full_khz * full_khz / 2.0;
  r->hum_limit_db = known ? sc_measured(10.0 * log10(fmax(own, 1e-12) / full), (double)NAN)
                          : sc_not_measured("the capture's own noise is not known");
  r->hum_db = power > MEASURE_STEREO_CHANCE * (known ? sd : 0.0)
                  ? sc_measured(10.0 * log10(power / full),
                                known ? 10.0 / log(10.0) * sd / power : (double)NAN)
                  : sc_not_measured(below_noise);
  r->hum_at_most_db =
      r->hum_db.why == NULL
          ? sc_not_measured(itself)
          : sc_measured(10.0 * log10((power + own + MEASURE_STEREO_HIDDEN * sd) / full),
                        (double)NAN);
}

void sc_stereo_result(const struct sc_stereo_meter *meter, const struct sc_stereo_context *context,
                      struct sc_stereo *stereo)
{
  const struct sc_stereo_meter *m = meter;
  const bool enough = m->sums.frames >= shortest_s * m->audio_rate_hz;
  sc_stereo_refuse(stereo, SC_MODE_UNKNOWN, m->decoder == NULL ? too_slow : too_short);
  if (m->decoder == NULL || !enough)
    return;
  const struct stereo_powers p = stereo_powers_of(m, context->noise);
  const bool locked = context->pilot->amplitude.why == NULL;
  const double quadrature = locked ? p.difference_noise : stereo_unlocked_noise(&m->sums);
  if (context->noise->per_hz >= 0.0 && quadrature > 0.0)
    stereo->noise_per_hz = fmin(context->noise->per_hz, quadrature / stereo_band_noise());
  state_sum(m, context, &p, stereo);
  stereo_judge_mode(m, context, &p, stereo);
  if (!locked) {
    struct sc_stereo none;
    sc_stereo_refuse(&none, stereo->mode, no_pilot);
    none.noise_per_hz = stereo->noise_per_hz;
    state_hum(m, context->noise, &none);
    none.sum_rms_khz = stereo->sum_rms_khz;
    none.sum_peak_khz = stereo->sum_peak_khz;
    none.sum_level_db75 = stereo->sum_level_db75;
    memcpy(none.evidence, stereo->evidence, sizeof none.evidence);
    *stereo = none;
    return;
  }
  const bool difference = stereo_has_difference(&p, context->pilot->amplitude.value);
  state_difference(m, context, &p, difference ? NULL : no_difference, stereo);
  state_residual(m, context, stereo);
  state_channels(m, &p, stereo);
  stereo_state_tones(m, stereo);
  state_crosstalk(&p, stereo);
  state_hum(m, context->noise, stereo);
}
