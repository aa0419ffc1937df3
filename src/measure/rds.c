/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The RDS meter: band, presence, demodulator, synchronisation and groups in a row, and what they
 * say together.
 *
 * The stream is decoded window by window. For a result a copy of what decodes it goes on to the
 * end of what was fed, so that the last groups of a capture are not lost and the stream is as it
 * was. */
#include <sidecomb/rds.h>

#include "measure/rds_demodulator.h"
#include "measure/rds_groups.h"
#include "measure/rds_presence.h"
#include "measure/rds_sync.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

static const double full_deviation_khz = 75.0;
static const double delay_s = 2e-7;             /* what the table of the pulse leaves uncertain */
static const double phase_tolerance_deg = 10.0; /* ITU-R BS.643, from memory */
static const double phase_share_deg = 0.05;     /* what filters leave uncertain */
static const double level_share = 5e-4;         /* the same, of the amplitude */
static const double locked_least = 0.8;         /* coherence with the pilot */

struct decoder {
  struct sc_rds_meter *meter;
  struct measure_rds_demodulator *demodulator;
  struct measure_rds_sync sync;
  struct measure_rds_groups groups;
  uint64_t raw_count;
};

struct sc_rds_meter {
  struct sc_rds_settings settings;
  struct measure_rds_band *band; /* NULL: too slow */
  struct measure_rds_presence *presence;
  struct decoder now, end;  /* of the stream; of the latest result */
  struct sc_rds_group *raw; /* the latest, round; NULL: none are kept */
  uint64_t frames, epoch;   /* fed; when the band's time began */
};

static void take_group(void *context, const struct sc_rds_group *group)
{
  struct decoder *d = context;
  if (d->meter->raw != NULL) {
    struct sc_rds_group *kept = &d->meter->raw[d->raw_count++ % d->meter->settings.groups_held];
    *kept = *group;
    kept->time_uncertainty_s =
        measure_rds_demodulator_smoothing(d->demodulator); /* of the jitter */
  }
  measure_rds_groups_take(&d->groups, group);
}

static void take_decision(void *context, float soft, double time_s)
{
  struct decoder *d = context;
  const struct sc_rds_meter *m = d->meter;
  measure_rds_sync_feed(&d->sync, soft, time_s + (double)m->epoch / m->settings.rate_hz);
}

static enum sc_error create_decoder(struct sc_rds_meter *m, struct decoder *d)
{
  d->meter = m;
  measure_rds_sync_start(&d->sync, take_group, d);
  measure_rds_groups_start(&d->groups, m->settings.region);
  return measure_rds_demodulator_create(take_decision, d, &d->demodulator);
}

static enum sc_error create_parts(struct sc_rds_meter *m)
{
  enum sc_error error = measure_rds_band_create(m->settings.rate_hz, &m->band);
  if (error == SC_UNSUPPORTED)
    error = SC_OK; /* too slow: a finding */
  if (error == SC_OK)
    error = measure_rds_presence_create(&m->presence);
  if (error == SC_OK)
    error = create_decoder(m, &m->now);
  if (error == SC_OK)
    error = create_decoder(m, &m->end);
  if (error != SC_OK || m->settings.groups_held == 0)
    return error;
  m->raw = calloc(m->settings.groups_held, sizeof *m->raw);
  return m->raw == NULL ? SC_NO_MEMORY : SC_OK;
}

enum sc_error sc_rds_create(const struct sc_rds_settings *settings, struct sc_rds_meter **meter)
{
  if (!(settings->rate_hz > 0.0 && isfinite(settings->rate_hz)))
    return SC_BAD_ARGUMENT;
  struct sc_rds_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  const enum sc_error error = create_parts(m);
  if (error != SC_OK) {
    sc_rds_destroy(m);
    return error;
  }
  *meter = m;
  return SC_OK;
}

static void begin_anew(struct sc_rds_meter *m)
{
  measure_rds_demodulator_finish(m->now.demodulator, m->band);
  measure_rds_band_reset(m->band);
  measure_rds_presence_break(m->presence);
  measure_rds_demodulator_break(m->now.demodulator);
  measure_rds_sync_break(&m->now.sync);
  m->epoch = m->frames;
}

void sc_rds_feed(struct sc_rds_meter *meter, const float *composite, size_t frames,
                 bool discontinuity)
{
  struct sc_rds_meter *m = meter;
  if (m->band == NULL)
    return;
  if (discontinuity && m->frames > m->epoch)
    begin_anew(m);
  while (frames > 0) {
    const size_t run = frames < MEASURE_RDS_FEED_MAX ? frames : MEASURE_RDS_FEED_MAX;
    measure_rds_band_feed(m->band, composite, run);
    const double found_s = measure_rds_presence_run(m->presence, m->band);
    const double decided_s = measure_rds_demodulator_run(m->now.demodulator, m->band);
    measure_rds_band_forget(m->band, fmin(found_s, decided_s));
    composite += run;
    frames -= run;
    m->frames += run;
  }
}

/* ---- result */

static const char no_record[] = "less than 0.6 s without a gap: the data cannot be told";
static const char too_slow[] = "the composite ends below 60 kHz";
static const char absent[] = "there is no data subcarrier";
static const char no_scale[] = "the composite has no absolute scale";
static const char no_lock[] =
    "the subcarrier is not locked to the third harmonic of a pilot, or there is none";
/* Groups that are sent again and again make weaker lines than random data, for which the amplitude
 * is worked out: by trial, a station's name and little else at 15 dB was read 15 to 26 % low. */
static const double repeated_share = 0.2;
static const char not_locked_yet[] = "no check words kept in step, so no clock could be followed";

static void fill(struct sc_rds *rds, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  rds->subcarrier_hz = rds->injection_khz = rds->injection_percent = rds->amplitude_rms = none;
  rds->phase_deg = rds->bit_rate_bps = rds->block_error_rate = none;
}

void sc_rds_refuse(struct sc_rds *rds, const char *why)
{
  memset(rds, 0, sizeof *rds);
  rds->data.pty = (double)NAN;
  fill(rds, why);
  rds->detection_limit_khz = sc_not_measured(why);
  (void)snprintf(rds->evidence, sizeof rds->evidence, "%s", why);
}

static double injection_of(double amplitude)
{
  return amplitude * MEASURE_RDS_PEAK;
}

static void put_level(const struct sc_rds_meter *m, double amplitude, double uncertainty,
                      struct sc_rds *rds)
{
  const double u = hypot(uncertainty, level_share * amplitude);
  const double to_rms = MEASURE_RDS_RMS / sqrt(2.0);
  rds->amplitude_rms = sc_measured(amplitude * to_rms, u * to_rms);
  if (!m->settings.absolute) {
    rds->injection_khz = rds->injection_percent = sc_not_measured(no_scale);
    return;
  }
  const double percent = 100.0 / full_deviation_khz;
  rds->injection_khz = sc_measured(injection_of(amplitude), injection_of(u));
  rds->injection_percent =
      sc_measured(injection_of(amplitude) * percent, injection_of(u) * percent);
}

/* In-phase less quadrature: noise stands equally in both. */
static void level_by_bits(const struct sc_rds_meter *m, struct sc_rds *rds)
{
  const struct measure_rds_levels *l = &m->end.demodulator->levels;
  const double noise = l->quadrature / l->bits;
  const double square = fmax(0.0, l->in_phase / l->bits - noise);
  const double variance = (4.0 * square * noise + 4.0 * noise * noise) / l->bits;
  const double amplitude = sqrt(square); /* half the pulse's amplitude in the composite */
  put_level(m, 2.0 * amplitude, sqrt(variance) / amplitude, rds);
}

static void phase_by_bits(const struct sc_rds_meter *m, struct sc_rds *rds)
{
  const struct measure_rds_levels *l = &m->end.demodulator->levels;
  if (!(cabs(l->against_pilot) > locked_least * l->coherent)) {
    rds->phase_deg = sc_not_measured(no_lock);
    return;
  }
  const double noise = l->quadrature / l->bits;
  const double ratio = fmax(1e-3, (l->in_phase / l->bits - noise) / (2.0 * noise));
  const double spread = sqrt((1.0 + 0.5 / ratio) / (2.0 * l->bits * ratio));
  /* the pilot's cube stands at -3 pi/2, the subcarrier at -pi/2: half a turn, which the square
   * does not see */
  double degrees = carg(l->against_pilot) / 2.0 * 180.0 / PI;
  degrees = degrees <= -90.0 ? degrees + 180.0 : degrees;
  rds->phase_deg = sc_measured(degrees, hypot(spread * 180.0 / PI, phase_share_deg));
  const double off = fmin(fabs(degrees), 90.0 - fabs(degrees));
  rds->phase_within = off <= phase_tolerance_deg ? SC_YES : SC_NO;
}

static void frequencies_by_bits(const struct sc_rds_meter *m, struct sc_rds *rds)
{
  const struct measure_rds_demodulator *d = m->end.demodulator;
  const double clock = m->settings.clock_relative_uncertainty;
  const double relative = isfinite(clock) ? clock : 0.0;
  double slope, uncertainty;
  if (d->carrier_fit.n < 4.0)
    return;
  measure_rds_fit_slope(&d->carrier_fit, &slope, &uncertainty);
  const double hz = MEASURE_RDS_SUBCARRIER_HZ + slope / (2.0 * PI);
  /* windows overlap by half: a factor of sqrt(2) */
  rds->subcarrier_hz = sc_measured(hz, hypot(sqrt(2.0) * uncertainty / (2.0 * PI), relative * hz));
  measure_rds_fit_slope(&d->clock_fit, &slope, &uncertainty);
  const double bits = 1.0 / MEASURE_RDS_BIT_S + slope;
  /* the timing is smoothed over 1 / (1 - 0.85) windows and more */
  rds->bit_rate_bps = sc_measured(bits, hypot(sqrt(12.0) * uncertainty, relative * bits));
}

static void by_structure(const struct sc_rds_meter *m, const struct measure_rds_finding *found,
                         struct sc_rds *rds)
{
  const double clock = m->settings.clock_relative_uncertainty;
  const double relative = isfinite(clock) ? clock : 0.0;
  const double hz = MEASURE_RDS_SUBCARRIER_HZ + found->offset_hz;
  fill(rds, not_locked_yet);
  rds->subcarrier_hz = sc_measured(hz, hypot(found->offset_uncertainty_hz, relative * hz));
  put_level(m, found->amplitude,
            hypot(found->amplitude_uncertainty, repeated_share * found->amplitude), rds);
}

static void say(const struct measure_rds_finding *found, struct sc_rds *rds)
{
  if (rds->present == SC_NO)
    (void)snprintf(rds->evidence, sizeof rds->evidence,
                   "no suppressed carrier with a bit clock of its 48th within 12 Hz of 57 kHz");
  else if (rds->data.pi[0] != '\0')
    (void)snprintf(
        rds->evidence, sizeof rds->evidence,
        "a suppressed carrier, its 48th as bit clock, and %llu of %llu check words right",
        (unsigned long long)(rds->blocks - rds->lost_blocks - rds->corrected_blocks),
        (unsigned long long)rds->blocks);
  else
    (void)snprintf(rds->evidence, sizeof rds->evidence,
                   "a suppressed carrier and its 48th as bit clock (%.0f dB above the noise of the "
                   "squared band), but too few check words",
                   10.0 * log10(found->ratio));
}

/* Matched filter's output power of the noise: what stands in quadrature, twice. */
static double noise_by_bits(const struct sc_rds_meter *m)
{
  const struct measure_rds_levels *l = &m->end.demodulator->levels;
  return 2.0 * l->quadrature / l->bits;
}

static void put_limit(const struct sc_rds_meter *m, double amplitude, struct sc_rds *rds)
{
  rds->detection_limit_khz = m->settings.absolute
                                 ? sc_measured(injection_of(amplitude), (double)NAN)
                                 : sc_not_measured(no_scale);
}

static void by_bits(const struct sc_rds_meter *m, struct sc_rds *rds)
{
  const double wrong = (double)(rds->lost_blocks + rds->corrected_blocks);
  level_by_bits(m, rds);
  phase_by_bits(m, rds);
  frequencies_by_bits(m, rds);
  rds->block_error_rate = sc_measured(wrong / (double)rds->blocks, (double)NAN);
}

static void copy_decoder(const struct decoder *from, struct decoder *to)
{
  struct measure_rds_demodulator *demodulator = to->demodulator;
  struct dsp_fft *fft = demodulator->fft;
  *to = *from;
  *demodulator = *from->demodulator;
  to->demodulator = demodulator;
  demodulator->fft = fft;
  demodulator->context = to->sync.context = to;
}

static void decode_to_the_end(struct sc_rds_meter *m, struct sc_rds *rds)
{
  copy_decoder(&m->now, &m->end);
  measure_rds_demodulator_finish(m->end.demodulator, m->band);
  measure_rds_groups_result(&m->end.groups, &rds->data);
  rds->blocks = m->end.sync.blocks;
  rds->corrected_blocks = m->end.sync.corrected;
  rds->lost_blocks = m->end.sync.lost;
}

void sc_rds_result(struct sc_rds_meter *meter, struct sc_rds *rds)
{
  struct sc_rds_meter *m = meter;
  sc_rds_refuse(rds, m->band == NULL ? too_slow : no_record);
  if (m->band == NULL)
    return;
  const struct measure_rds_finding found = measure_rds_presence_result(m->presence);
  decode_to_the_end(m, rds);
  const bool spoken = rds->data.pi[0] != '\0';
  if (found.slices == 0 && !spoken)
    return;
  rds->present = found.found || spoken ? SC_YES : SC_NO;
  fill(rds, absent);
  if (rds->present == SC_YES)
    by_structure(m, &found, rds);
  if (spoken)
    by_bits(m, rds);
  if (found.slices > 0)
    put_limit(m, spoken ? measure_rds_presence_limit(m->presence, noise_by_bits(m)) : found.limit,
              rds);
  say(&found, rds);
}

size_t sc_rds_groups(const struct sc_rds_meter *meter, struct sc_rds_group *groups, size_t room,
                     uint64_t *made)
{
  const struct decoder *d = &meter->end;
  const uint64_t most = meter->settings.groups_held, all = d->raw_count;
  const uint64_t held = all < most ? all : most, count = held < room ? held : room;
  const double clock = meter->settings.clock_relative_uncertainty;
  *made = all;
  const double jitter_s = measure_rds_demodulator_jitter(d->demodulator);
  for (uint64_t i = 0; i < count; i++) {
    groups[i] = meter->raw[(all - count + i) % most];
    const double timing_s = hypot(groups[i].time_uncertainty_s * jitter_s, delay_s);
    groups[i].time_uncertainty_s =
        hypot(timing_s, isfinite(clock) ? clock * groups[i].time_s : 0.0);
  }
  return (size_t)count;
}

void sc_rds_destroy(struct sc_rds_meter *meter)
{
  if (meter == NULL)
    return;
  measure_rds_band_destroy(meter->band);
  measure_rds_presence_destroy(meter->presence);
  measure_rds_demodulator_destroy(meter->now.demodulator);
  measure_rds_demodulator_destroy(meter->end.demodulator);
  free(meter->raw);
  free(meter);
}
