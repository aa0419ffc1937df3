/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From IQ to the composite: mixer, rate change, channel filter, discriminator, equaliser.
 *
 * The rate change only keeps +/-175 kHz clean of aliases; the channel filter behind it cuts the
 * neighbours. Where the rates allow, it lowers the rate to 400 kS/s: its own edge, from 175 to 225
 * kHz, then folds onto itself, and all that follows has fewer frames to work on. Below 384 kS/s the
 * capture itself is the channel: it is interpolated by 2 with one filter that ends at the capture's
 * edge. */
#include <sidecomb/composite.h>

#include "dsp/discriminator.h"
#include "dsp/resample.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

static const double rate_min_hz = 192e3;
static const double rate_max_hz = 10e6;
static const double work_min_hz = 384e3;
static const double work_aim_hz = 450e3; /* decimation stops here: room for the filter's edge */
static const double work_max_hz = 800e3;
static const double folded_min_hz = 400e3; /* where the channel filter lowers the rate itself */
static const double wide_hz = 175e3;
static const double neighbour_hz = 225e3; /* here the channel filter has done its work */
static const double narrowest_hz = 40e3;  /* with less than that there is no composite */
static const double room_share = 0.95;    /* of the way to the capture's edge that is kept flat */
static const double composite_top_hz = 100e3;
static const double composite_end = 1.4; /* times the top: nothing passes from here on */
static const double other_uncertainty = 0.01;
static const double accuracy_db = 100.0; /* of each filter: 1e-5, so that all stay below 1e-4 */

struct sc_demodulator {
  struct sc_demodulator_info info;
  double room_hz; /* from the channel's middle to the capture's nearer edge */
  struct dsp_mixer mixer;
  bool mix;
  unsigned last;                   /* the channel filter's part of the decimation */
  struct dsp_decimator *decimator; /* NULL: nothing to decimate */
  struct dsp_resampler *filter;    /* the channel filter, or the interpolator */
  struct dsp_resampler *equaliser;
  size_t lag;       /* frames of the channel by which the composite is behind */
  size_t transient; /* frames to drop after a start */
  size_t skip;      /* of these, still to drop */
  size_t pending;   /* frames that the last call put into `channel`, after `lag` old ones */
  float previous[2];
  float *mixed; /* to the middle of the channel, and decimated where that is done */
  float *channel, *raw, *composite;
};

/* The largest decimation that leaves 450 kS/s, if possible one to a whole number of hertz. */
static unsigned choose_decimation(double rate_hz)
{
  if (rate_hz <= work_max_hz)
    return 1;
  const unsigned largest = (unsigned)floor(rate_hz / work_aim_hz);
  for (unsigned d = largest; rate_hz / d <= work_max_hz; d--)
    if (fmod(rate_hz, d) == 0.0)
      return d;
  return rate_hz / largest <= work_max_hz ? largest : largest + 1;
}

/* To what rate the channel filter can lower it: a whole number of hertz that is lower than all
 * others. Returns the filter's own part of the decimation, 1 when there is none. */
static unsigned choose_folded(double rate_hz, unsigned *decimation)
{
  enum { MOST = 5 };
  for (unsigned d = (unsigned)floor(rate_hz / folded_min_hz); rate_hz / d < work_aim_hz; d--)
    for (unsigned last = 2; last <= MOST && fmod(rate_hz, d) == 0.0; last++)
      if (d % last == 0) {
        *decimation = d;
        return last;
      }
  return 1;
}

static void choose_rates(struct sc_demodulator *d, double rate_hz)
{
  struct sc_demodulator_info *info = &d->info;
  info->interpolation = rate_hz < work_min_hz ? 2 : 1;
  info->decimation = choose_decimation(rate_hz);
  d->last = rate_hz > folded_min_hz ? choose_folded(rate_hz, &info->decimation) : 1;
  info->rate_hz = rate_hz * info->interpolation / info->decimation;
  info->half_width_hz = fmin(wide_hz, room_share * d->room_hz);
  info->truncated = info->half_width_hz < wide_hz;
  info->top_hz = fmin(composite_top_hz, info->half_width_hz);
  info->out_frames_max =
      (size_t)SC_DEMODULATOR_FEED_MAX * info->interpolation / info->decimation + 1;
}

static size_t mixed_max(const struct sc_demodulator *d)
{
  return (size_t)SC_DEMODULATOR_FEED_MAX * d->last / d->info.decimation + 1;
}

static enum sc_error create_decimator(struct sc_demodulator *d, double rate_hz, double *delay_s)
{
  const unsigned decimation = d->info.decimation / d->last;
  if (decimation == 1)
    return SC_OK;
  const enum sc_error error = dsp_decimator_create(2, decimation, wide_hz, accuracy_db, rate_hz,
                                                   SC_DEMODULATOR_FEED_MAX, &d->decimator);
  if (error == SC_OK)
    *delay_s += dsp_decimator_delay(d->decimator) / rate_hz;
  return error;
}

/* Of taps that add up to one. */
static double noise_bandwidth(const double *taps, size_t count, double rate_hz)
{
  double squares = 0.0;
  for (size_t k = 0; k < count; k++)
    squares += taps[k] * taps[k];
  return squares * rate_hz;
}

struct taps {
  double *values;
  size_t count;
};

/* Of a symmetric filter, at half the angular frequency: the outermost pair of taps turns by count -
 * 1 half angles, each one inwards by two less, which a rotation makes of the one before. */
static double response(const struct taps *taps, double half_angle)
{
  const double outermost = half_angle * (double)(taps->count - 1);
  const double c = cos(2.0 * half_angle), s = sin(2.0 * half_angle);
  double re = cos(outermost), im = sin(outermost), sum = 0.0;
  for (size_t k = 0; k < taps->count; k++) {
    sum += taps->values[k] * re;
    const double turned = re * c + im * s;
    im = im * c - re * s;
    re = turned;
  }
  return sum;
}

/* Discriminator noise has the density f^2 N0 / C (one-sided) where the channel filter lets the
 * noise through; by the trapezoidal rule. What folds at a filter that lowers the rate to 1 / `last`
 * is beyond the equaliser's end. */
static double noise_integral(const struct taps *channel, unsigned last,
                             const struct taps *equaliser, double rate_hz)
{
  enum { STEPS = 1000 };
  double sum = 0.0;
  for (int i = 1; i < STEPS; i++) {
    const double half = PI * i / (2.0 * STEPS);
    /* the phase difference makes 2 sin(x) / (2 pi) * rate of f */
    const double both = response(channel, half / last) * response(equaliser, half) * sin(half);
    sum += both * both;
  }
  return sum * pow(rate_hz / PI, 2.0) * rate_hz / 2.0 / STEPS;
}

static struct sc_channel_edge edge_of(const struct taps *taps, double pass_hz, double stop_hz,
                                      double rate_hz)
{
  enum { LAST = SC_CHANNEL_EDGE_POINTS - 1 };
  struct sc_channel_edge edge = {.pass_hz = pass_hz, .stop_hz = stop_hz};
  for (int i = 0; i <= LAST; i++)
    edge.gain[i] = response(taps, PI * (pass_hz + (stop_hz - pass_hz) * i / LAST) / rate_hz);
  return edge;
}

static enum sc_error create_filter(struct sc_demodulator *d, struct taps *taps, double *delay_s)
{
  struct sc_demodulator_info *info = &d->info;
  const double rate_hz = info->rate_hz * d->last;
  const double stop_hz = fmin(fmin(d->room_hz, rate_hz / 2.0), neighbour_hz);
  enum sc_error error = dsp_lowpass_design(info->half_width_hz, stop_hz, accuracy_db, rate_hz,
                                           &taps->values, &taps->count);
  if (error != SC_OK)
    return error;
  error = dsp_resampler_create(2, info->interpolation, d->last, taps->values, taps->count,
                               mixed_max(d), &d->filter);
  info->edge = edge_of(taps, info->half_width_hz, stop_hz, rate_hz);
  info->noise_bandwidth_hz = noise_bandwidth(taps->values, taps->count, rate_hz);
  *delay_s += (double)(taps->count - 1) / 2.0 / rate_hz;
  return error;
}

static enum sc_error create_equaliser(struct sc_demodulator *d, const struct taps *channel,
                                      double *delay_s)
{
  struct sc_demodulator_info *info = &d->info;
  struct taps taps = {NULL, 0};
  enum sc_error error = dsp_equaliser_design(info->top_hz, composite_end * info->top_hz,
                                             accuracy_db, info->rate_hz, &taps.values, &taps.count);
  if (error != SC_OK)
    return error;
  error =
      dsp_resampler_create(1, 1, 1, taps.values, taps.count, info->out_frames_max, &d->equaliser);
  info->noise_integral_hz3 = noise_integral(channel, d->last, &taps, info->rate_hz);
  free(taps.values);
  d->lag = taps.count / 2;
  *delay_s += (double)d->lag / info->rate_hz;
  return error;
}

static enum sc_error create_filters(struct sc_demodulator *d, double rate_hz)
{
  double delay_s = 0.0;
  struct taps channel = {NULL, 0};
  enum sc_error error = create_decimator(d, rate_hz, &delay_s);
  if (error == SC_OK)
    error = create_filter(d, &channel, &delay_s);
  if (error == SC_OK)
    error = create_equaliser(d, &channel, &delay_s);
  free(channel.values);
  /* all filters are symmetric: the first frame without a trace of the start comes after twice
   * the delay */
  d->transient = (size_t)ceil(2.0 * delay_s * d->info.rate_hz - 1e-6);
  d->skip = d->transient;
  d->info.delay_s = (double)d->transient / d->info.rate_hz - delay_s;
  return error;
}

static enum sc_error create_buffers(struct sc_demodulator *d)
{
  const size_t out = d->info.out_frames_max;
  d->mixed = calloc(2 * mixed_max(d), sizeof *d->mixed);
  d->channel = calloc(2 * (d->lag + out), sizeof *d->channel);
  d->raw = calloc(out, sizeof *d->raw);
  d->composite = calloc(out, sizeof *d->composite);
  const bool ok = d->mixed != NULL && d->channel != NULL && d->raw != NULL && d->composite != NULL;
  return ok ? SC_OK : SC_NO_MEMORY;
}

enum sc_error sc_demodulator_create(const struct sc_demodulator_settings *settings,
                                    struct sc_demodulator **demodulator)
{
  const double rate_hz = settings->sample_rate_hz;
  if (!(rate_hz >= rate_min_hz && rate_hz <= rate_max_hz))
    return SC_BAD_ARGUMENT;
  const double room_hz = rate_hz / 2.0 - fabs(settings->channel_hz);
  if (!(room_share * room_hz >= narrowest_hz))
    return SC_UNSUPPORTED;
  struct sc_demodulator *d = calloc(1, sizeof *d);
  if (d == NULL)
    return SC_NO_MEMORY;
  d->room_hz = room_hz;
  d->mix = settings->channel_hz != 0.0;
  dsp_mixer_set(&d->mixer, -settings->channel_hz, rate_hz);
  choose_rates(d, rate_hz);
  enum sc_error error = create_filters(d, rate_hz);
  if (error == SC_OK)
    error = create_buffers(d);
  if (error != SC_OK) {
    sc_demodulator_destroy(d);
    return error;
  }
  *demodulator = d;
  return SC_OK;
}

struct sc_demodulator_info sc_demodulator_info(const struct sc_demodulator *demodulator)
{
  return demodulator->info;
}

static void start_afresh(struct sc_demodulator *d)
{
  if (d->decimator != NULL)
    dsp_decimator_reset(d->decimator);
  dsp_resampler_reset(d->filter);
  dsp_resampler_reset(d->equaliser);
  memset(d->channel, 0, 2 * d->lag * sizeof *d->channel);
  d->previous[0] = d->previous[1] = 0.0F;
  d->skip = d->transient;
}

static size_t decimate(struct sc_demodulator *d, const float *iq, size_t frames)
{
  return d->mix ? dsp_decimator_run_mixed(d->decimator, &d->mixer, iq, false, frames, d->mixed)
                : dsp_decimator_run(d->decimator, iq, frames, d->mixed);
}

/* Puts the channel at the working rate behind the frames by which the composite lags. */
static size_t filter_channel(struct sc_demodulator *d, const float *iq, size_t frames)
{
  if (d->decimator != NULL) {
    frames = decimate(d, iq, frames);
    iq = d->mixed;
  } else if (d->mix) {
    dsp_mixer_run(&d->mixer, iq, d->mixed, frames);
    iq = d->mixed;
  }
  return dsp_resampler_run(d->filter, iq, frames, d->channel + 2 * d->lag);
}

size_t sc_demodulator_feed(struct sc_demodulator *demodulator, const float *iq, size_t frames,
                           bool discontinuity, const float **deviation_khz, const float **channel)
{
  struct sc_demodulator *d = demodulator;
  assert(frames <= SC_DEMODULATOR_FEED_MAX);
  memmove(d->channel, d->channel + 2 * d->pending, 2 * d->lag * sizeof *d->channel);
  if (discontinuity)
    start_afresh(d);
  const size_t made = filter_channel(d, iq, frames);
  d->pending = made;
  const float khz_per_radian = (float)(d->info.rate_hz / (2.0 * PI) / 1000.0);
  dsp_discriminate(d->channel + 2 * d->lag, made, khz_per_radian, d->previous, d->raw);
  dsp_resampler_run(d->equaliser, d->raw, made, d->composite);
  const size_t dropped = made < d->skip ? made : d->skip;
  d->skip -= dropped;
  *deviation_khz = d->composite + dropped;
  if (channel != NULL)
    *channel = d->channel + 2 * dropped;
  return made - dropped;
}

void sc_demodulator_destroy(struct sc_demodulator *demodulator)
{
  if (demodulator == NULL)
    return;
  dsp_decimator_destroy(demodulator->decimator);
  dsp_resampler_destroy(demodulator->filter);
  dsp_resampler_destroy(demodulator->equaliser);
  free(demodulator->mixed);
  free(demodulator->channel);
  free(demodulator->raw);
  free(demodulator->composite);
  free(demodulator);
}

struct sc_composite_noise sc_demodulator_noise(const struct sc_demodulator_info *info,
                                               double noise_dbc_hz, double uncertainty_db)
{
  const double per_hz = pow(10.0, noise_dbc_hz / 10.0);
  return (struct sc_composite_noise){sqrt(info->noise_integral_hz3 * per_hz) / 1000.0, per_hz,
                                     log(10.0) / 20.0 * uncertainty_db};
}

struct sc_composite_noise sc_composite_noise_unknown(void)
{
  return (struct sc_composite_noise){(double)NAN, (double)NAN, (double)NAN};
}

struct sc_composite_noise sc_composite_noise_at_most(const struct sc_composite_noise *noise,
                                                     double per_hz)
{
  struct sc_composite_noise least = *noise;
  if (!(per_hz < noise->per_hz))
    return least;
  least.rms_khz *= sqrt(per_hz / noise->per_hz);
  least.per_hz = per_hz;
  least.relative_uncertainty = fmax(noise->relative_uncertainty, other_uncertainty);
  return least;
}
