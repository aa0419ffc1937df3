/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from the stereo meter's sums. */
#include <sidecomb/stereo.h>

#include "measure/stereo_sums.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double full_khz = 75.0;
static const double subcarrier_hz = 38e3;
static const double pilot_hz = 19e3;
static const double audio_hz = 15e3;
static const double edge_hz = 15.64e3; /* of the decoder for noise: 0.4 of its slope passes */
static const double shortest_s = 0.3;
static const double response_share = 1e-4; /* demodulator and decoder */
/* Common practice, no source: less is hum and noise rather than a programme. */
static const double programme_least_khz = 0.1;
static const double programme_least_share = 0.015; /* of the pilot, where kHz are not known */
static const double mono_share = 0.0158;           /* -36 dB: less is crosstalk */
static const double hidden = 3.0;                  /* standard deviations that may be hidden */
static const double chance = 6.0;                  /* standard deviations that count */
static const double one_sided = 10.0;              /* power ratio: 10 dB */
static const double both_sides = 400.0;            /* the other way round: 26 dB */
static const double decoder_leak = 1e-5;           /* of one channel into the other */
static const double crosstalk_share = 0.1;         /* -20 dB: more is programme */
static const double symmetric_least = 0.25;
static const double hum_response_share = 0.003; /* of the power: 0.013 dB */
static const double degrees = 57.295779513082320877;

static const char no_scale[] = "the composite has no absolute scale";
static const char no_pilot[] = "there is no pilot to decode by";
static const char no_programme[] = "the difference carries no programme: see the mode";
static const char no_difference[] = "no difference signal stands above the noise";
static const char no_sum[] = "no sum signal stands above the noise";
static const char too_short[] = "less than 0.3 s could be decoded";
static const char too_slow[] = "the capture does not reach to 53 kHz";
static const char no_tone[] = "no steady tone stands in this channel alone; programme cannot tell";
static const char hidden_tone[] = "of the tone nothing stands above the noise in the other channel";
static const char no_bound[] = "the separation itself was measured";
static const char no_common_tone[] = "no steady tone stands in both channels";
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

/* Powers about the mean, with what noise adds to them, in the input's unit squared. */
struct powers {
  double sum, difference;             /* without noise; may be negative */
  double sum_noise, difference_noise; /* what was taken off */
  double in_phase, cross;             /* of the decoded difference, and with the sum */
  double angle_rad;                   /* of the difference */
  double draws;                       /* independent values of either */
  double sum_sd, difference_sd;       /* of the powers, by noise */
  double sum_unsure;                  /* how far the sum's noise may be wrong */
};

/* Uncertainty of the mean square of a signal of `power` in noise. */
static double power_sd(double power, double noise, double draws)
{
  return sqrt((4.0 * fmax(0.0, power) * noise + 2.0 * noise * noise) / draws);
}

static double cube(double x)
{
  return x * x * x;
}

/* A discriminator's noise has the density f^2 per_hz; in one direction of the decoded difference
 * stands what both side bands have. */
static double band_noise(void)
{
  return (cube(subcarrier_hz + edge_hz) - cube(subcarrier_hz - edge_hz)) / 3.0 * 1e-6;
}

/* The sum's noise by the difference's: of a discriminator, else as if both were as dense. */
static double sum_noise(const struct sc_composite_noise *noise, double difference_noise,
                        double *unsure)
{
  if (noise->per_hz >= 0.0) {
    const double power = difference_noise / band_noise() * cube(edge_hz) / 3.0 * 1e-6;
    *unsure = 0.05 * power;
    return power;
  }
  *unsure = difference_noise / 2.0;
  return difference_noise / 2.0;
}

static struct powers find_powers(const struct sc_stereo_meter *m,
                                 const struct sc_composite_noise *noise)
{
  const struct measure_stereo_sums *s = &m->sums;
  const double n = s->frames;
  const double a = s->ii / n - s->i / n * (s->i / n);
  const double b = s->qq / n - s->q / n * (s->q / n);
  const double c = s->iq / n - s->i / n * (s->q / n);
  const double apart = hypot((a - b) / 2.0, c);
  struct powers p = {.in_phase = a, .cross = s->mi / n - s->m / n * (s->i / n)};
  p.difference = 2.0 * apart;
  p.difference_noise = fmax(0.0, (a + b) / 2.0 - apart);
  p.angle_rad = atan2(2.0 * c, a - b) / 2.0;
  p.draws = 2.0 * audio_hz * n / m->audio_rate_hz;
  p.sum_noise = sum_noise(noise, p.difference_noise, &p.sum_unsure);
  p.sum = s->mm / n - s->m / n * (s->m / n) - p.sum_noise;
  p.sum_sd = hypot(power_sd(p.sum, p.sum_noise, p.draws), p.sum_unsure);
  p.difference_sd = hypot(power_sd(p.difference, p.difference_noise, p.draws),
                          p.difference_noise * sqrt(2.0 / p.draws));
  return p;
}

/* What the decoder itself makes of a strong signal beside is no signal. */
static double leak_of(double power)
{
  return 10.0 * decoder_leak * decoder_leak * fmax(0.0, power);
}

static bool has_sum(const struct powers *p)
{
  return p->sum > chance * p->sum_sd + leak_of(p->difference);
}

static bool has_difference(const struct powers *p, double pilot)
{
  return p->difference > chance * p->difference_sd + leak_of(p->sum + pilot * pilot);
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
                      const struct powers *p, struct sc_stereo *r)
{
  const struct measure_stereo_sums *s = &m->sums;
  const struct sc_quantity rms = rms_of(p->sum, p->sum_sd, has_sum(p) ? NULL : no_sum);
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
static double angle_sd(const struct powers *p, const struct sc_pilot *pilot)
{
  const double noise = p->difference_noise / p->difference;
  return hypot(sqrt((noise + noise * noise) / p->draws), reference_sd(pilot));
}

static void state_difference(const struct sc_stereo_meter *m,
                             const struct sc_stereo_context *context, const struct powers *p,
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
  r->residual_present = found.claimed ? SC_YES : SC_NO;
  r->residual_percent = only_absolute(
      m, found.hidden ? sc_not_measured("the programme's low notes hide what there may be")
                      : sc_measured(percent * found.amplitude, percent * found.uncertainty));
  r->residual_limit_percent = only_absolute(m, sc_measured(percent * found.limit, (double)NAN));
  r->residual_level_db_pilot =
      found.claimed ? sc_measured(20.0 * log10(found.amplitude / pilot->value),
                                  20.0 / log(10.0) * found.uncertainty / found.amplitude)
                    : sc_not_measured("no residual carrier stands above the noise");
}

static void state_channels(const struct sc_stereo_meter *m, const struct powers *p,
                           struct sc_stereo *r)
{
  const double noise = p->sum_noise + p->difference_noise;
  const double mono = p->sum + p->in_phase - p->difference_noise;
  const double power[2] = {mono + 2.0 * p->cross, mono - 2.0 * p->cross};
  struct sc_quantity rms[2];
  for (int c = 0; c < 2; c++) {
    const double sd = hypot(power_sd(power[c], noise, p->draws), p->sum_unsure);
    rms[c] = rms_of(power[c], sd, power[c] > chance * sd ? NULL : "nothing stands above the noise");
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

static struct sc_quantity separation(double strong, double strong_sd, double weak, double weak_sd)
{
  if (!(weak > 2.0 * weak_sd))
    return sc_not_measured(hidden_tone);
  const double share = hypot(strong_sd / strong, weak_sd / weak) / 2.0;
  const double leak = decoder_leak * sqrt(strong / weak);
  return sc_measured(10.0 * log10(strong / weak), 20.0 / log(10.0) * hypot(share, leak));
}

/* What may be hidden in the other channel: three standard deviations, and what the decoder leaks.
 */
static struct sc_quantity least_separation(double strong, double weak, double weak_sd)
{
  if (weak > 2.0 * weak_sd)
    return sc_not_measured(no_bound);
  const double most = sqrt(fmax(0.0, weak) + hidden * weak_sd) + decoder_leak * sqrt(strong);
  return sc_measured(20.0 * log10(sqrt(strong) / most), (double)NAN);
}

static void state_tones(const struct sc_stereo_meter *m, struct sc_stereo *r)
{
  struct measure_channels_tone tones[MEASURE_CHANNELS_TONES_MAX];
  const size_t count = measure_channels_result(m->channels, tones);
  r->separation_left_to_right_db = r->separation_right_to_left_db = sc_not_measured(no_tone);
  r->separation_left_to_right_at_least_db = r->separation_right_to_left_at_least_db =
      sc_not_measured(no_tone);
  r->separation_left_hz = r->separation_right_hz = sc_not_measured(no_tone);
  r->interchannel_phase_deg = r->interchannel_hz = sc_not_measured(no_common_tone);
  for (size_t i = count; i-- > 0;) { /* the strongest last: it stays */
    const struct measure_channels_tone *t = &tones[i];
    const struct sc_quantity hz = sc_measured(t->frequency_hz, t->frequency_uncertainty_hz);
    if (t->left > one_sided * t->right) {
      r->separation_left_to_right_db = separation(t->left, t->left_sd, t->right, t->right_sd);
      r->separation_left_to_right_at_least_db = least_separation(t->left, t->right, t->right_sd);
      r->separation_left_hz = hz;
    } else if (t->right > one_sided * t->left) {
      r->separation_right_to_left_db = separation(t->right, t->right_sd, t->left, t->left_sd);
      r->separation_right_to_left_at_least_db = least_separation(t->right, t->left, t->left_sd);
      r->separation_right_hz = hz;
    }
    if (t->left < both_sides * t->right && t->right < both_sides * t->left) {
      r->interchannel_phase_deg =
          sc_measured(degrees * t->phase_rad, degrees * t->phase_uncertainty_rad);
      r->interchannel_hz = hz;
    }
  }
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

static void state_crosstalk(const struct powers *p, struct sc_stereo *r)
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
  r->crosstalk_limit_db = sc_measured(10.0 * log10(chance * sd / strong), (double)NAN);
  const bool seen = weak > chance * sd;
  *to = seen ? sc_measured(10.0 * log10(weak / strong), 10.0 / log(10.0) * sd / weak)
             : sc_not_measured(below_noise);
  const double most = fmax(0.0, weak) + hidden * sd;
  *at_most = seen ? sc_not_measured(itself) : sc_measured(10.0 * log10(most / strong), (double)NAN);
}

/* Integral of f^2 behind de-emphasis: (w - atan w) / (2 pi tau)^3, w = 2 pi tau f. */
static double noise_behind(double per_hz, double tau_s)
{
  const double turn = 6.283185307179586476925286766559 * tau_s;
  const double w = turn * edge_hz;
  const double integral = tau_s > 0.0 ? (w - atan(w)) / cube(turn) : cube(edge_hz) / 3.0;
  return per_hz * integral * 1e-6;
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
  const double own = known ? noise_behind(r->noise_per_hz, m->settings.deemphasis_us * 1e-6) : 0.0;
  const double power = s->hum / s->hum_frames - own;
  const double draws = audio_hz * s->hum_frames / m->audio_rate_hz; /* few are high */
  /* a tone's power over broken cycles is off by 1 / (2 w T) at the most; w: 30 Hz */
  const double cycles = m->audio_rate_hz / (377.0 * s->hum_frames);
  const double response = hypot(hum_response_share, cycles) * power;
  const double sd = hypot(power_sd(power, own, draws), hypot(0.05 * own, response));
  const double full = full_khz * full_khz / 2.0;
  r->hum_limit_db = known ? sc_measured(10.0 * log10(fmax(own, 1e-12) / full), (double)NAN)
                          : sc_not_measured("the capture's own noise is not known");
  r->hum_db = power > chance * (known ? sd : 0.0)
                  ? sc_measured(10.0 * log10(power / full),
                                known ? 10.0 / log(10.0) * sd / power : (double)NAN)
                  : sc_not_measured(below_noise);
  r->hum_at_most_db =
      r->hum_db.why == NULL
          ? sc_not_measured(itself)
          : sc_measured(10.0 * log10((power + own + hidden * sd) / full), (double)NAN);
}

/* ---- the mode */

static double least_programme(const struct sc_stereo_meter *m, const struct sc_pilot *pilot)
{
  if (m->settings.absolute)
    return programme_least_khz;
  return pilot->amplitude.why == NULL ? programme_least_share * pilot->amplitude.value : 0.0;
}

/* Rms of a double side band around 38 kHz whose carrier's phase is not known; 0: none. */
static double unlocked_rms(const struct measure_stereo_sums *s)
{
  if (!(s->unlocked_power > 0.0) || s->symmetric < symmetric_least * s->unlocked_power)
    return 0.0;
  return sqrt(s->symmetric / s->frames);
}

/* In one direction. Of noise alone a part is symmetric by chance, and no difference is taken off.
 */
static double unlocked_noise(const struct measure_stereo_sums *s)
{
  const double difference = unlocked_rms(s) > 0.0 ? s->symmetric : 0.0;
  return s->frames > 0.0 ? fmax(0.0, s->unlocked_power - difference) / 2.0 / s->frames : 0.0;
}

/* All but a tenth of the sum's power: lines are found in a part of the record only. */
static const double hum_rest = 0.1;

/* Rms of what may be programme in the sum. */
static double sum_but_hum(const struct sc_stereo_context *context, const struct powers *p,
                          double least)
{
  const double sum = has_sum(p) ? p->sum : 0.0;
  const double rest = sum - context->hum_khz2;
  return rest <= fmax(least * least, hum_rest * sum) ? 0.0 : sqrt(sum);
}

static void judge_mode(const struct sc_stereo_meter *m, const struct sc_stereo_context *context,
                       const struct powers *p, struct sc_stereo *r)
{
  const struct sc_pilot *pilot = context->pilot;
  const double least = least_programme(m, pilot);
  const double sum = has_sum(p) ? sqrt(p->sum) : 0.0;
  const bool locked = pilot->present == SC_YES;
  double difference = locked ? 0.0 : unlocked_rms(&m->sums);
  if (locked && has_difference(p, pilot->amplitude.value))
    difference = sqrt(p->difference);
  const bool sounds = sum >= least && sum > 0.0 && sum_but_hum(context, p, least) > 0.0;
  const bool hums = sum >= least && sum > 0.0 && !sounds;
  const bool wide = difference >= least && difference > mono_share * sum;
  if (pilot->present == SC_UNKNOWN)
    r->mode = SC_MODE_UNKNOWN;
  else if (!locked)
    r->mode = wide ? SC_MODE_DIFFERENCE_WITHOUT_PILOT : sounds ? SC_MODE_MONO : SC_MODE_UNMODULATED;
  else
    r->mode = wide ? SC_MODE_STEREO : sounds ? SC_MODE_MONO : SC_MODE_PILOT_ONLY;
  const char *unit = m->settings.absolute ? "kHz" : "of full scale";
  if (r->mode == SC_MODE_UNKNOWN)
    snprintf(r->evidence, sizeof r->evidence, "the pilot is open: %s", pilot->why);
  else
    snprintf(r->evidence, sizeof r->evidence,
             "%s pilot; sum %.3g and difference %.3g %s rms above the noise; as programme count "
             "%.2g %s, and a difference above -36 dB of the sum%s",
             locked ? "a" : "no", sum, difference, unit, least, unit,
             hums ? "; the sum is mains hum" : "");
}

void sc_stereo_result(const struct sc_stereo_meter *meter, const struct sc_stereo_context *context,
                      struct sc_stereo *stereo)
{
  const struct sc_stereo_meter *m = meter;
  const bool enough = m->sums.frames >= shortest_s * m->audio_rate_hz;
  sc_stereo_refuse(stereo, SC_MODE_UNKNOWN, m->decoder == NULL ? too_slow : too_short);
  if (m->decoder == NULL || !enough)
    return;
  const struct powers p = find_powers(m, context->noise);
  const bool locked = context->pilot->amplitude.why == NULL;
  const double quadrature = locked ? p.difference_noise : unlocked_noise(&m->sums);
  if (context->noise->per_hz >= 0.0 && quadrature > 0.0)
    stereo->noise_per_hz = fmin(context->noise->per_hz, quadrature / band_noise());
  state_sum(m, context, &p, stereo);
  judge_mode(m, context, &p, stereo);
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
  const bool difference = has_difference(&p, context->pilot->amplitude.value);
  state_difference(m, context, &p, difference ? NULL : no_difference, stereo);
  state_residual(m, context, stereo);
  state_channels(m, &p, stereo);
  state_tones(m, stereo);
  state_crosstalk(&p, stereo);
  state_hum(m, context->noise, stereo);
}
