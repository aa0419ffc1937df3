/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Carrier: what a constant envelope and the mean of the composite tell.
 *
 * Presence and, where the capture has no room beside the channel, the noise come from the moments
 * of the power |z|^2: with carrier power C and complex Gaussian noise N its mean is C + N and its
 * variance 2 C N + N^2, so mean^2 - variance = C^2; noise alone has variance = mean^2. */
#include <sidecomb/carrier.h>

#include "dsp/simd.h"
#include "dsp/taper.h"
#include "measure/channel.h"
#include "measure/drift.h"
#include "measure/movement.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double pi = 3.1415926535897932384626433832795;
static const double cnr_bandwidth_hz = 200e3;
static const double threshold_ratio = 10.0; /* 10 dB in the channel's noise bandwidth: textbook */
static const double presence_sigma = 6.0;   /* of what noise alone makes of the moments */
static const double bound_sigmas = 2;       /* of a drift that is not sure */
static const double same_sigma = 2.5;       /* tapers that differ by less tell the same */
static const double scale_share = 1.5e-7;   /* of the offset in the channel: single precision */
static const double rounding_share = 1e-14; /* of the power: what single precision leaves */
static const double filter_share = 1e-4;    /* of the amplitude: ripple of the channel filter */

static const char nothing[] = "the channel holds noise only";
static const char envelope[] = "the channel's power is steadier than noise can be";
static const char too_short[] = "less than 10 ms without a gap";
static const char steady[] = "its frequency moves no more than chance and modulation move it";
static const char is_told[] = "it surely drifts";
static const char no_drift[] = "too short to see its frequency move";
static const char no_wander[] = "it does not surely move to and fro";
static const char no_period[] = "it does not move as a sine does, or for less than 1.5 periods";
static const char below_threshold[] = "below the FM threshold: the discriminator clicks";

/* Stretches between gaps: their means weigh with T^3, as noise in a discriminator asks. */
struct stretches {
  double weight;
  double mean[DSP_TAPER_ORDER + 1]; /* weighted sums, by the taper's order */
  double wander;                    /* weighted sum of variances */
  double longest_s;
  struct measure_drift drift;       /* of the longest, in kHz */
  struct measure_movement movement; /* of the longest */
};

struct sc_carrier_meter {
  struct sc_carrier_settings settings;
  struct dsp_taper khz;
  struct measure_mover mover;
  struct stretches before;
  double frames, power, square; /* sums over all stretches */
};

enum sc_error sc_carrier_create(const struct sc_carrier_settings *settings,
                                struct sc_carrier_meter **meter)
{
  if (!(settings->rate_hz > 0.0 && isfinite(settings->rate_hz) && settings->half_width_hz > 0.0 &&
        isfinite(settings->channel_hz)))
    return SC_BAD_ARGUMENT;
  struct sc_carrier_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  if (!(m->settings.noise_bandwidth_hz > 0.0))
    m->settings.noise_bandwidth_hz = 2.1 * settings->half_width_hz;
  sc_carrier_reset(m);
  *meter = m;
  return SC_OK;
}

void sc_carrier_reset(struct sc_carrier_meter *meter)
{
  dsp_taper_reset(&meter->khz);
  measure_mover_reset(&meter->mover, meter->settings.rate_hz);
  memset(&meter->before, 0, sizeof meter->before);
  meter->frames = meter->power = meter->square = 0.0;
}

void sc_carrier_destroy(struct sc_carrier_meter *meter)
{
  free(meter);
}

/* ---- feeding */

static double mean_of(const double *values, size_t count)
{
  double sum = 0.0;
  for (size_t i = 0; i < count; i++)
    sum += values[i];
  return sum / (double)count;
}

/* Variance that slow changes of the frequency give the whole record's mean, from the scatter of
 * the stretches' own means beyond what noise explains (chi-squared, 3 sigma). A programme that sets
 * in shifts the carrier's phase: a stretch that it begins in shows so, and where that is between
 * two, the mean of all of them is another than the record's, beyond noise (3 sigma). */
static double wander(const struct dsp_taper *khz, double noise_variance)
{
  double means[DSP_TAPER_STRETCHES];
  const size_t n = dsp_taper_stretch_means(khz, DSP_TAPER_ORDER, means);
  if (n < 4)
    return 0.0;
  const double mean = mean_of(means, n);
  double squares = 0.0;
  for (size_t i = 0; i < n; i++)
    squares += (means[i] - mean) * (means[i] - mean);
  const double variance = squares / (double)(n - 1);
  const double off = pow(mean - dsp_taper_mean(khz, DSP_TAPER_ORDER), 2);
  const double shift = off > 9.0 * noise_variance / (double)n ? off : 0.0;
  if (variance < noise_variance * (1.0 + 3.0 * sqrt(2.0 / (double)(n - 1))))
    return shift;
  return (variance - noise_variance) * (double)khz->stretch_frames / (double)khz->frames + shift;
}

static struct measure_drift drift_of(const struct sc_carrier_meter *m, double phase_noise)
{
  double means[DSP_TAPER_STRETCHES];
  const size_t n = dsp_taper_stretch_means(&m->khz, DSP_TAPER_ORDER, means);
  const double seconds = (double)m->khz.frames / m->settings.rate_hz;
  const double stretch_s = (double)m->khz.stretch_frames / m->settings.rate_hz;
  return measure_drift_of(means, n, stretch_s, dsp_taper_growth(&m->khz) / seconds,
                          phase_noise * dsp_taper_growth_square() / pow(seconds, 5.0));
}

static void conclude(const struct sc_carrier_meter *m, struct stretches *all, double phase_noise)
{
  const double seconds = (double)m->khz.frames / m->settings.rate_hz;
  if (seconds < SC_CARRIER_SHORTEST_S)
    return;
  const double weight = seconds * seconds * seconds;
  const double stretch_s = (double)m->khz.stretch_frames / m->settings.rate_hz;
  const double noise = phase_noise * dsp_taper_slope(DSP_TAPER_ORDER) / pow(stretch_s, 3.0);
  all->weight += weight;
  for (int p = 1; p <= DSP_TAPER_ORDER; p++)
    all->mean[p] += weight * dsp_taper_mean(&m->khz, p);
  all->wander += weight * weight * wander(&m->khz, noise);
  if (seconds > all->longest_s) {
    all->longest_s = seconds;
    all->drift = drift_of(m, phase_noise);
    all->movement = measure_movement_of(&m->mover);
  }
}

/* Sums side by side; frames <= LANES */
enum { LANES = 64 };
DSP_CLONES
static void add_powers(const float *restrict channel, double *restrict power,
                       double *restrict square, size_t frames)
{
  for (size_t n = 0; n < frames; n++) {
    const double re = channel[2 * n];
    const double im = channel[2 * n + 1];
    const double p = re * re + im * im;
    power[n] += p;
    square[n] += p * p;
  }
}

static void add_power(struct sc_carrier_meter *m, const float *channel, size_t frames)
{
  double power[LANES] = {0.0};
  double square[LANES] = {0.0};
  for (size_t n = 0; n < frames; n += LANES)
    add_powers(channel + 2 * n, power, square, frames - n < LANES ? frames - n : LANES);
  for (size_t l = 0; l < LANES; l++) {
    m->power += power[l];
    m->square += square[l];
  }
  m->frames += (double)frames;
}

/* ---- level and noise */

struct levels {
  double carrier, carrier_relative_sd;
  double noise_density, noise_relative_sd;
};

/* C^2 over the squared mean power: 1 for a carrier alone, 0 for noise alone. */
static double constancy(const struct sc_carrier_meter *m)
{
  const double mean = m->power / m->frames;
  const double variance = fmax(0.0, m->square / m->frames - mean * mean);
  return 1.0 - variance / (mean * mean);
}

static double independent_samples(const struct sc_carrier_meter *m)
{
  const double share = m->settings.noise_bandwidth_hz / m->settings.rate_hz;
  return m->frames * fmin(1.0, share);
}

static struct levels find_levels(const struct sc_carrier_meter *m, const struct sc_trace *air)
{
  const double mean = m->power / m->frames;
  const double bandwidth_hz = m->settings.noise_bandwidth_hz;
  const double n = independent_samples(m);
  struct levels l;
  struct measure_noise beside;
  l.carrier = mean * sqrt(fmax(0.0, constancy(m)));
  l.noise_density = (mean - l.carrier) / bandwidth_hz;
  l.noise_relative_sd = sqrt(2.0 / n) + sqrt(2.0 / n) * l.carrier / mean;
  if (air != NULL && measure_noise_beside(air, m->settings.channel_hz, &beside)) {
    l.noise_density = beside.density;
    l.noise_relative_sd = beside.relative_uncertainty;
    l.carrier = fmax(0.0, mean - beside.density * bandwidth_hz);
  }
  l.noise_density = fmax(l.noise_density, rounding_share * mean / bandwidth_hz);
  const double noise = l.noise_density * bandwidth_hz;
  const double scatter = sqrt((2.0 * l.carrier * noise + noise * noise) / n);
  l.carrier_relative_sd =
      hypot(2.0 * filter_share, hypot(scatter, l.noise_relative_sd * noise) / l.carrier);
  return l;
}

static void state_levels(const struct sc_carrier_meter *m, const struct levels *l,
                         struct sc_carrier *carrier)
{
  const double db = 10.0 / log(10.0);
  const double density = l->noise_density;
  const double noise_sd_db = db * l->noise_relative_sd;
  carrier->level_dbfs = sc_measured(db * log(l->carrier), db * l->carrier_relative_sd);
  carrier->cnr_db = sc_measured(db * log(l->carrier / (density * cnr_bandwidth_hz)),
                                hypot(db * l->carrier_relative_sd, noise_sd_db));
  carrier->cnr_bandwidth_hz = sc_measured(cnr_bandwidth_hz, (double)NAN);
  carrier->noise_density_dbfs_hz = sc_measured(db * log(density), noise_sd_db);
  const double least = threshold_ratio * density * m->settings.noise_bandwidth_hz;
  carrier->above_threshold = l->carrier >= least ? SC_YES : SC_NO;
}

/* ---- offset */

/* Of the tapers, the one with the least noise that agrees with the one that lets least
 * modulation through. phase_noise: variance of a record of 1 s for a slope integral of 1. */
static struct sc_quantity offset_in_channel(const struct stretches *all, double phase_noise)
{
  const double noise = phase_noise / all->weight; /* T^3, or the sum of T^3 over stretches */
  const double best = all->mean[DSP_TAPER_ORDER] / all->weight;
  const double most = 1e-6 * noise * dsp_taper_slope(DSP_TAPER_ORDER);
  int p = 1;
  for (; p < DSP_TAPER_ORDER; p++) {
    const double difference = all->mean[p] / all->weight - best;
    const double expected = most - 1e-6 * noise * dsp_taper_slope(p);
    if (difference * difference <= same_sigma * same_sigma * expected)
      break;
  }
  const double mean_hz = 1e3 * all->mean[p] / all->weight;
  const double wander_hz = 1e3 * sqrt(all->wander) / all->weight;
  const double noise_hz = sqrt(noise * dsp_taper_slope(p));
  return sc_measured(mean_hz, hypot(hypot(noise_hz, wander_hz), scale_share * mean_hz));
}

/* In Hz^2 s^3: the white phase noise of density N0 / (2 C) on either side, over (2 pi)^2. */
static double phase_noise(const struct levels *l)
{
  return l->noise_density / (2.0 * l->carrier) / (4.0 * pi * pi);
}

static void no_drift_because(struct sc_carrier *carrier, const char *why)
{
  carrier->drifts = SC_UNKNOWN;
  carrier->drift_hz_s = carrier->told_drift_hz_s = carrier->drift_at_most_hz_s =
      sc_not_measured(why);
}

static void no_wander_because(struct sc_carrier *carrier, enum sc_truth wanders, const char *why)
{
  carrier->wanders = wanders;
  carrier->wander_rms_hz = carrier->wander_span_hz = carrier->wander_period_s =
      sc_not_measured(why);
}

static void state_wander(const struct measure_movement *movement, struct sc_carrier *carrier)
{
  no_wander_because(carrier, movement->known ? SC_NO : SC_UNKNOWN,
                    movement->known ? no_wander : no_drift);
  if (!movement->wanders)
    return;
  carrier->wanders = SC_YES;
  carrier->wander_rms_hz = sc_measured(movement->rms_hz, movement->rms_uncertainty_hz);
  carrier->wander_span_hz = sc_measured(movement->span_hz, movement->span_uncertainty_hz);
  carrier->wander_period_s = movement->sine.found ? sc_measured(movement->sine.period_s,
                                                                movement->sine.period_uncertainty_s)
                                                  : sc_not_measured(no_period);
}

static void state_drift(const struct measure_drift *drift, struct sc_carrier *carrier)
{
  if (!drift->known)
    return;
  carrier->drift_hz_s = sc_measured(1e3 * drift->rate, 1e3 * drift->uncertainty);
  carrier->drifts = drift->sure ? SC_YES : SC_NO;
  carrier->told_drift_hz_s = drift->sure ? carrier->drift_hz_s : sc_not_measured(steady);
  carrier->drift_at_most_hz_s =
      drift->sure
          ? sc_not_measured(is_told)
          : sc_measured(1e3 * (fabs(drift->rate) + bound_sigmas * drift->uncertainty), (double)NAN);
}

static void state_offset(const struct sc_carrier_meter *m, const struct levels *l,
                         struct sc_carrier *carrier)
{
  struct stretches all = m->before;
  conclude(m, &all, 1e-6 * phase_noise(l));
  if (!(all.weight > 0.0)) {
    carrier->offset_hz = sc_not_measured(too_short);
    return;
  }
  struct sc_quantity offset = offset_in_channel(&all, phase_noise(l));
  offset.value += m->settings.channel_hz;
  if (!isnan(m->settings.clock_relative_uncertainty))
    offset.uncertainty =
        hypot(offset.uncertainty, m->settings.clock_relative_uncertainty * offset.value);
  carrier->offset_hz = offset;
  state_drift(&all.drift, carrier);
  state_wander(&all.movement, carrier);
}

/* ---- the public face */

void sc_carrier_feed(struct sc_carrier_meter *meter, const float *channel,
                     const float *deviation_khz, size_t frames, bool discontinuity)
{
  if (discontinuity && meter->khz.frames > 0) {
    const struct levels l = find_levels(meter, NULL);
    conclude(meter, &meter->before, 1e-6 * phase_noise(&l));
    dsp_taper_reset(&meter->khz);
    measure_mover_reset(&meter->mover, meter->settings.rate_hz);
  }
  add_power(meter, channel, frames);
  measure_mover_feed(&meter->mover, &meter->khz, deviation_khz, frames);
}

static void refuse(struct sc_carrier *carrier, enum sc_truth present, const char *why)
{
  carrier->present = present;
  carrier->why = why;
  carrier->offset_hz = carrier->level_dbfs = carrier->cnr_db = sc_not_measured(why);
  carrier->cnr_bandwidth_hz = carrier->noise_density_dbfs_hz = sc_not_measured(why);
  carrier->above_threshold = SC_UNKNOWN;
  no_drift_because(carrier, why);
  no_wander_because(carrier, SC_UNKNOWN, why);
}

void sc_carrier_result(const struct sc_carrier_meter *meter, const struct sc_trace *air,
                       struct sc_carrier *carrier)
{
  const struct sc_carrier_meter *m = meter;
  if (m->frames < SC_CARRIER_SHORTEST_S * m->settings.rate_hz) {
    refuse(carrier, SC_UNKNOWN, too_short);
    return;
  }
  /* of noise alone, the constancy has the standard deviation 2 / sqrt(n) */
  const struct levels l = find_levels(m, air);
  const double limit = presence_sigma * 2.0 / sqrt(independent_samples(m));
  if (!(constancy(m) > limit && l.carrier > 0.0)) {
    refuse(carrier, SC_NO, nothing);
    if (l.noise_density > 0.0)
      carrier->noise_density_dbfs_hz =
          sc_measured(10.0 * log10(l.noise_density), 10.0 / log(10.0) * l.noise_relative_sd);
    return;
  }
  carrier->present = SC_YES;
  carrier->why = envelope;
  no_drift_because(carrier, no_drift);
  no_wander_because(carrier, SC_UNKNOWN, no_drift);
  state_levels(m, &l, carrier);
  if (carrier->above_threshold == SC_YES) {
    state_offset(m, &l, carrier);
    return;
  }
  carrier->offset_hz = sc_not_measured(below_threshold);
  no_drift_because(carrier, below_threshold);
  no_wander_because(carrier, SC_UNKNOWN, below_threshold);
}
