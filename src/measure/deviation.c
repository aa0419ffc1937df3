/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Deviation: extremes of 50 ms intervals, a histogram of amplitudes, and sums of squares of 1 s.
 *
 * Everything is counted from the mean frequency, which is known only in the end. So the extremes
 * of the first intervals are kept as they are, and go into classes when the mean has settled. */
#include <sidecomb/deviation.h>

#include "dsp/taper.h"
#include "measure/amplitudes.h"
#include "measure/deviation_peak.h"
#include "measure/extremes.h"
#include "measure/limiter.h"
#include "measure/moments.h"
#include "measure/occupied.h"
#include "measure/power.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  CHUNK = 1024,
  RUN_MAX = 1 << 14,
  GROUP = 8,             /* samples that are added before the mean is tapered */
  INTERVALS_KEPT = 1200, /* a minute */
  WINDOW_SECONDS = 60
};

static const double rate_min_hz = 40e3;
_Static_assert((int)SC_DEVIATION_MOMENTS == (int)MEASURE_MOMENTS, "a result holds all moments");

static const double interval_s = 0.05;
static const double reference_khz = 19.0;  /* 0 dBr: BS.412 */
static const double response_share = 1e-4; /* of the demodulator's response */
static const char no_scale[] = "the composite has no absolute scale";
static const char no_ends[] = "nothing cuts it off that shows";
static const char too_short[] = "less than 50 ms";
static const char by_noise[] =
    "the capture's noise alone passes it: the peak without noise is lower";

/* By which the peak without noise is surely below the limit. */
static const double below_sigmas = 2.0;

/* Sums of one second. */
struct second {
  double frames, sum, squares;
};

struct sc_deviation_meter {
  struct sc_deviation_settings settings;
  struct dsp_taper mean;
  float group[GROUP];
  size_t grouped;
  struct measure_amplitudes amplitudes;
  struct measure_occupied *occupied; /* NULL: the input is no kHz */
  float chunk[CHUNK + 2];            /* two frames of the last one before it */
  size_t held, filled;               /* old frames, new ones */
  struct measure_extremes whole, interval;
  size_t interval_frames; /* so far, those of the chunk not counted */
  size_t interval_length;
  uint64_t interval_count;
  struct measure_extremes kept[INTERVALS_KEPT];
  uint32_t classes[SC_DEVIATION_CLASSES];
  struct measure_moments moments;
  struct second all, present, ring[WINDOW_SECONDS];
  uint64_t seconds;        /* complete ones */
  double highest_variance; /* of a complete window */
};

enum sc_error sc_deviation_create(const struct sc_deviation_settings *settings,
                                  struct sc_deviation_meter **meter)
{
  if (!(settings->rate_hz >= rate_min_hz && isfinite(settings->rate_hz) &&
        settings->limit_khz >= 0.0))
    return SC_BAD_ARGUMENT;
  struct sc_deviation_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  if (m->settings.limit_khz == 0.0)
    m->settings.limit_khz = SC_DEVIATION_LIMIT_KHZ;
  const enum sc_error error =
      m->settings.absolute ? measure_occupied_create(settings->rate_hz, &m->occupied) : SC_OK;
  if (error != SC_OK) {
    sc_deviation_destroy(m);
    return error;
  }
  sc_deviation_reset(m);
  *meter = m;
  return SC_OK;
}

void sc_deviation_reset(struct sc_deviation_meter *meter)
{
  const struct sc_deviation_meter old = {.settings = meter->settings, .occupied = meter->occupied};
  *meter = old;
  meter->whole = meter->interval = measure_extremes_none();
  meter->interval_length = (size_t)ceil(interval_s * meter->settings.rate_hz);
  dsp_taper_reset(&meter->mean);
  if (meter->occupied != NULL)
    measure_occupied_reset(meter->occupied);
}

void sc_deviation_destroy(struct sc_deviation_meter *meter)
{
  if (meter == NULL)
    return;
  measure_occupied_destroy(meter->occupied);
  free(meter);
}

/* ---- peaks */

static size_t class_of(const struct measure_extremes *e, double mean)
{
  const double peak = fmax(e->high - mean, mean - e->low);
  return peak < SC_DEVIATION_CLASSES - 1 ? (size_t)fmax(0.0, peak) : SC_DEVIATION_CLASSES - 1;
}

static void end_interval(struct sc_deviation_meter *m)
{
  measure_moments_add(&m->moments, &m->interval);
  if (m->interval_count < INTERVALS_KEPT) {
    m->kept[m->interval_count] = m->interval;
  } else {
    m->classes[class_of(&m->interval, dsp_taper_mean(&m->mean, DSP_TAPER_ORDER))]++;
  }
  m->interval_count++;
  m->interval = measure_extremes_none();
  m->interval_frames = 0;
}

static void end_chunk(struct sc_deviation_meter *m)
{
  const size_t frames = m->held + m->filled;
  const struct measure_extremes e = measure_extremes_of(m->chunk, frames);
  measure_extremes_widen(&m->whole, &e);
  measure_extremes_widen(&m->interval, &e);
  m->interval_frames += m->filled;
  if (m->interval_frames >= m->interval_length)
    end_interval(m);
  m->held = frames < 2 ? frames : 2;
  memmove(m->chunk, m->chunk + frames - m->held, m->held * sizeof *m->chunk);
  m->filled = 0;
}

static void find_peaks(struct sc_deviation_meter *m, const float *x, size_t frames)
{
  while (frames > 0) {
    const size_t left = m->interval_length - m->interval_frames;
    const size_t room = (left < CHUNK ? left : CHUNK) - m->filled;
    const size_t n = frames < room ? frames : room;
    memcpy(m->chunk + m->held + m->filled, x, n * sizeof *x);
    m->filled += n;
    if (n == room)
      end_chunk(m);
    x += n;
    frames -= n;
  }
}

/* ---- power and mean */

static double variance(const struct second *s)
{
  const double mean = s->sum / s->frames;
  return fmax(0.0, s->squares / s->frames - mean * mean);
}

static void end_second(struct sc_deviation_meter *m)
{
  m->ring[m->seconds % WINDOW_SECONDS] = m->present;
  m->seconds++;
  memset(&m->present, 0, sizeof m->present);
  if (m->seconds < WINDOW_SECONDS)
    return;
  struct second window = {0.0, 0.0, 0.0};
  for (size_t i = 0; i < WINDOW_SECONDS; i++) {
    window.frames += m->ring[i].frames;
    window.sum += m->ring[i].sum;
    window.squares += m->ring[i].squares;
  }
  m->highest_variance = fmax(m->highest_variance, variance(&window));
}

static void add_power(struct sc_deviation_meter *m, const float *x, size_t frames)
{
  const struct measure_power p = measure_power_of(x, frames);
  m->all.frames += (double)frames;
  m->all.sum += p.sum;
  m->all.squares += p.squares;
  m->present.frames += (double)frames;
  m->present.sum += p.sum;
  m->present.squares += p.squares;
  if (m->present.frames >= m->settings.rate_hz)
    end_second(m);
}

static float mean_of_group(const float *x)
{
  float sum = 0.0F;
  for (size_t i = 0; i < GROUP; i++)
    sum += x[i];
  return sum / GROUP;
}

/* The taper changes so little over a group that one weight does for it. */
static void add_mean(struct sc_deviation_meter *m, const float *x, size_t frames)
{
  float means[RUN_MAX / GROUP + 1];
  size_t made = 0;
  while (frames > 0 && m->grouped > 0) {
    m->group[m->grouped++] = *x++;
    frames--;
    if (m->grouped < GROUP)
      continue;
    means[made++] = mean_of_group(m->group);
    m->grouped = 0;
  }
  for (; frames >= GROUP; frames -= GROUP, x += GROUP)
    means[made++] = mean_of_group(x);
  for (; frames > 0; frames--)
    m->group[m->grouped++] = *x++;
  dsp_taper_feed(&m->mean, means, made);
}

void sc_deviation_feed(struct sc_deviation_meter *meter, const float *composite, size_t frames,
                       bool discontinuity)
{
  struct sc_deviation_meter *m = meter;
  if (discontinuity) {
    end_chunk(m);
    m->held = 0;
    if (m->occupied != NULL)
      measure_occupied_restart(m->occupied);
  }
  while (frames > 0) {
    const size_t n = frames < RUN_MAX ? frames : RUN_MAX;
    find_peaks(m, composite, n);
    add_mean(m, composite, n);
    measure_amplitudes_add(&m->amplitudes, composite, n);
    if (m->occupied != NULL)
      measure_occupied_feed(m->occupied, composite, n);
    add_power(m, composite, n);
    composite += n;
    frames -= n;
  }
}

/* ---- result */

void sc_deviation_refuse(struct sc_deviation *deviation, const char *why)
{
  struct sc_deviation *d = deviation;
  memset(d, 0, sizeof *d);
  d->offset_khz = d->positive_khz = d->negative_khz = d->peak_khz = sc_not_measured(why);
  d->corrected_khz = d->rms_khz = d->power_dbr = d->power_window_s = sc_not_measured(why);
  d->power_at_least_dbr = d->cut_off_khz = d->power_dbr;
  d->exceeded_percent = d->intervals_exceeded_percent = sc_not_measured(why);
  d->intervals_half_khz = d->intervals_tenth_khz = d->intervals_hundredth_khz =
      sc_not_measured(why);
}

/* Rms and power without the noise, whose uncertainty is left. */
static void state_power(const struct sc_deviation_meter *m, const struct sc_composite_noise *noise,
                        struct sc_deviation *d)
{
  const bool complete = m->seconds >= WINDOW_SECONDS;
  const bool known = noise->rms_khz >= 0.0;
  const double own = known ? noise->rms_khz * noise->rms_khz : 0.0;
  const double unsure = known ? 2.0 * own * noise->relative_uncertainty : 0.0;
  const double all = variance(&m->all) - own;
  const double power = complete ? m->highest_variance - own : all;
  d->power_complete = complete ? SC_YES : SC_NO;
  d->power_window_s = sc_measured(
      complete ? (double)WINDOW_SECONDS : m->all.frames / m->settings.rate_hz, (double)NAN);
  if (!(power > 3.0 * unsure && all > 3.0 * unsure)) {
    d->rms_khz = d->power_dbr = sc_not_measured("the composite has no power above the noise");
    d->power_at_least_dbr = d->power_dbr;
    return;
  }
  const double rms = sqrt(all);
  d->rms_khz = sc_measured(rms, hypot(response_share * rms, unsure / 2.0 / rms));
  d->power_dbr = sc_measured(10.0 * log10(2.0 * power / (reference_khz * reference_khz)),
                             10.0 / log(10.0) * hypot(2.0 * response_share, unsure / power));
  d->power_at_least_dbr =
      complete
          ? sc_not_measured("60 s were seen")
          : sc_measured(d->power_dbr.value + 10.0 * log10(d->power_window_s.value / WINDOW_SECONDS),
                        (double)NAN);
}

static const char beyond_classes[] = "it is beyond 149 kHz, where the classes end";
_Static_assert(SC_DEVIATION_CLASSES == 150, "the sentence above says so");

/* At least one interval, in a record too short for the share. */
static struct sc_quantity reached_by(const struct sc_deviation *d, double share)
{
  uint64_t count = 0;
  if (d->interval_count == 0)
    return sc_not_measured(too_short);
  for (size_t i = SC_DEVIATION_CLASSES; i-- > 0;) {
    count += d->intervals[i];
    if (count == 0 || (double)count < share * (double)d->interval_count)
      continue;
    return i == SC_DEVIATION_CLASSES - 1 ? sc_not_measured(beyond_classes)
                                         : sc_measured((double)i, (double)NAN);
  }
  return sc_not_measured(too_short);
}

static void state_intervals(const struct sc_deviation_meter *m, struct sc_deviation *d)
{
  uint64_t beyond = 0;
  memcpy(d->intervals, m->classes, sizeof d->intervals);
  const uint64_t kept = m->interval_count < INTERVALS_KEPT ? m->interval_count : INTERVALS_KEPT;
  for (uint64_t i = 0; i < kept; i++)
    d->intervals[class_of(&m->kept[i], d->offset_khz.value)]++;
  d->interval_count = m->interval_count;
  /* a class counts when all of it is above: with whole limits, exactly */
  for (size_t i = (size_t)ceil(m->settings.limit_khz); i < SC_DEVIATION_CLASSES; i++)
    beyond += d->intervals[i];
  d->intervals_exceeded_percent =
      m->interval_count > 0
          ? sc_measured(100.0 * (double)beyond / (double)m->interval_count, (double)NAN)
          : sc_not_measured(too_short);
  d->intervals_half_khz = reached_by(d, 0.5);
  d->intervals_tenth_khz = reached_by(d, 0.1);
  d->intervals_hundredth_khz = reached_by(d, 0.01);
}

/* What is counted of a raw peak above the limit is not the transmitter's where noise made it. */
static void refuse_by_noise(const struct sc_deviation_meter *m, struct sc_deviation *d)
{
  const struct sc_quantity *peak = &d->corrected_khz;
  const bool passed = d->exceeded_percent.value > 0.0 || d->intervals_exceeded_percent.value > 0.0;
  const bool below =
      peak->why == NULL && peak->value + below_sigmas * peak->uncertainty < m->settings.limit_khz;
  if (!passed || !(below || measure_peak_is_clicked(peak)))
    return;
  d->exceeded_percent = d->intervals_exceeded_percent =
      sc_not_measured(below ? by_noise : peak->why);
}

static void state_moments(const struct sc_deviation_meter *m, struct sc_deviation *d)
{
  const struct measure_moments *moments = &m->moments;
  const double mean = d->offset_khz.value;
  d->moment_count = moments->count + (moments->filled > 0);
  d->moment_s = (double)(moments->each * m->interval_length) / m->settings.rate_hz;
  for (size_t i = 0; i < d->moment_count; i++) {
    const struct measure_extremes *e = i < moments->count ? &moments->at[i] : &moments->begun;
    d->moments[i] = (struct sc_deviation_moment){(float)(e->high - mean), (float)(mean - e->low)};
  }
  for (size_t i = 0; i < SC_DEVIATION_CLASSES; i++)
    d->time_above_percent[i] =
        (float)(100.0 * measure_amplitudes_beyond(&m->amplitudes, mean, (double)i));
}

void sc_deviation_result(const struct sc_deviation_meter *meter,
                         const struct sc_composite_noise *noise, struct sc_deviation *deviation)
{
  const struct sc_deviation_meter *m = meter;
  struct sc_deviation *d = deviation;
  sc_deviation_refuse(d, m->settings.absolute ? too_short : no_scale);
  if (!m->settings.absolute || m->all.frames < interval_s * m->settings.rate_hz)
    return;
  const double mean = dsp_taper_mean(&m->mean, DSP_TAPER_ORDER);
  const double noise_khz = noise->rms_khz >= 0.0 ? noise->rms_khz : 0.0;
  const double share = m->all.frames / m->settings.rate_hz; /* leaks of the taper: see taper.h */
  d->offset_khz = sc_measured(mean, hypot(1e-6 * fabs(mean), noise_khz / (m->all.frames * share)));
  const double high = m->whole.high - mean;
  const double low = mean - m->whole.low;
  /* one draw of the noise at the peak */
  d->positive_khz = sc_measured(high, hypot(noise_khz, MEASURE_PEAK_SHARE * high));
  d->negative_khz = sc_measured(low, hypot(noise_khz, MEASURE_PEAK_SHARE * low));
  d->peak_khz = high > low ? d->positive_khz : d->negative_khz;
  const struct measure_peak_stream stream = {
      m->whole,      &m->amplitudes,    m->occupied, m->settings.rate_hz,
      m->all.frames, variance(&m->all), mean};
  d->corrected_khz = measure_peak_without_noise(&stream, noise);
  state_power(m, noise, d);
  d->exceeded_percent = sc_measured(
      100.0 * measure_amplitudes_beyond(&m->amplitudes, mean, m->settings.limit_khz), (double)NAN);
  state_intervals(m, d);
  refuse_by_noise(m, d);
  state_moments(m, d);
}

void sc_deviation_cut_off(const struct sc_deviation_meter *meter, double pilot_khz,
                          struct sc_deviation *deviation)
{
  struct sc_deviation *d = deviation;
  if (d->offset_khz.why != NULL)
    return;
  double width_khz;
  const double khz =
      measure_limiter_khz(&meter->amplitudes, d->offset_khz.value, pilot_khz, &width_khz);
  d->cut_off_khz = khz > 0.0 ? sc_measured(khz, width_khz / sqrt(12.0)) : sc_not_measured(no_ends);
}
