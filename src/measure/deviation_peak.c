/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Of all, or of what the composite occupies where nothing but noise was left out of that: the
 * highest sample, less what the noise is expected to have added to it. */
#include "measure/deviation_peak.h"

#include <math.h>

static const double wide_hz = 100e3; /* of noise that was not taken off */
/* The noise at the moment of the peak, in units of its rms value: it is one draw, of which little
 * is known. By trial, with tones, noise and silence: tests/measure/deviation_test.c. */
static const double peak_draw = 1.3;
static const double peak_rise = 0.3; /* expected of it beside what the number of draws adds */
/* That the peak was at an end is believed from so many uncertainties on: with 3, one of a hundred
 * unmodulated pilots was said to have been higher there. */
static const double sure = 4.0;
/* What was left out is nothing but noise when its power is no more than what noise has, by three
 * standard deviations and this share of it and of the rms of all. */
static const double lost_noise_share = 0.01;
static const double lost_rms_share = 0.002;
/* What a moment's programme has in the noise that is left out, as a weak difference signal has,
 * which stands nowhere out of it, peaks over its rms as the whole does: one standard uncertainty of
 * it is this share. By trial: without it a peak was stated 3 kHz too low at 25 dB, +-0.1 kHz. */
static const double hidden_crest = 0.7;

static const char no_noise[] = "the noise of the composite is not known";
static const char clicked[] = "so near the FM threshold noise makes clicks, which pass for peaks";

/* Noise bandwidth of the channel that the composite comes from; of a narrower capture there are
 * fewer clicks. */
static const double channel_hz = 400e3;
/* Expected in the record: with more than this the highest peak may be one (our choice). */
static const double clicks_most = 0.01;
static const double mean_of_rms = 0.8; /* of the magnitude of what is nearly Gaussian */

/* A stream whose extremes are held, and the noise in it. */
struct held {
  struct measure_extremes extremes;
  const struct measure_amplitudes *amplitudes;
  double noise_khz, noise_most_khz, bandwidth_hz;
  double share;  /* of the frames that the amplitudes are of, or how often they stand for them all;
                    0: there is none */
  double hidden; /* rms of what may be in the noise that was left out, re that of all */
};

/* What the next order of the phase adds to the noise's power, relative: the phase of 1 + x + jy is
 * y - xy, with a variance of xy that is this times that of y, spread wider. */
static double second_order(const struct sc_composite_noise *noise)
{
  return noise->per_hz * channel_hz;
}

/* Turns of the phase by 2 pi that noise makes in the record: r erfc(sqrt(rho)) a second without
 * modulation, r = B / sqrt(12), and with it as many of its mean magnitude as exp(-rho) (S. O. Rice,
 * Noise in FM Receivers, 1963, from memory). */
static double expected_clicks(const struct measure_peak_stream *s,
                              const struct sc_composite_noise *noise)
{
  const double rho = 1.0 / (noise->per_hz * channel_hz);
  const double swing_hz = 1e3 * mean_of_rms * sqrt(s->variance);
  const double a_second = channel_hz / sqrt(12.0) * erfc(sqrt(rho)) + swing_hz * exp(-rho);
  return a_second * s->frames / s->rate_hz;
}

/* What the composite occupies, when nothing but noise was left out, else all of it. *ends: where
 * that does not reach, as far as it can be told. */
static struct held choose_held(const struct measure_peak_stream *s,
                               const struct sc_composite_noise *noise, struct held *ends)
{
  const struct held all = {s->extremes, s->amplitudes, noise->rms_khz, noise->rms_khz, wide_hz, 1.0,
                           0.0};
  *ends = (struct held){.share = 0.0};
  const struct measure_occupied_result r = measure_occupied_result(s->occupied);
  if (!(r.frames > 0.0))
    return all;
  const double more = 1.0 + second_order(noise);
  const double stays = more * noise->per_hz * r.noise_hz3 * 1e-6;
  const double foretold = fmax(0.0, more * noise->rms_khz * noise->rms_khz - stays);
  const double draws = 2.0 * wide_hz * r.frames / s->rate_hz;
  const double share =
      lost_noise_share + 3.0 * hypot(2.0 * noise->relative_uncertainty, sqrt(2.0 / draws));
  const double most = (1.0 + share) * foretold + pow(lost_rms_share, 2.0) * s->variance;
  if (!(r.lost <= most))
    return all;
  const double at_ends = sqrt(noise->per_hz * r.ends_noise_hz3 * 1e-6);
  const double hidden = sqrt((fmax(0.0, r.lost - foretold) + share / 3.0 * foretold) / s->variance);
  *ends = (struct held){r.ends,  r.amplitudes,        at_ends,
                        at_ends, r.ends_bandwidth_hz, fmin(1.0, r.ends_frames / r.frames),
                        hidden};
  return (struct held){r.extremes,     r.amplitudes,
                       sqrt(stays),    sqrt(noise->per_hz * r.noise_most_hz3 * 1e-6),
                       r.bandwidth_hz, fmax(1.0, s->frames / r.frames),
                       hidden};
}

struct peak {
  double value, uncertainty;
};

/* The larger of the two sides. */
static struct peak peak_of(const struct held *h, double offset_khz, double rate_hz)
{
  /* two draws for each hertz of bandwidth in a second */
  const double per_sample = fmin(1.0, 2.0 * h->bandwidth_hz / rate_hz) * h->share;
  const double ends[2] = {h->extremes.high, h->extremes.low};
  struct peak larger = {-INFINITY, 0.0};
  for (int side = 0; side < 2; side++) {
    const double sign = side == 0 ? 1.0 : -1.0;
    struct measure_excess excess;
    measure_amplitudes_excess(h->amplitudes, ends[side], sign, h->noise_khz, per_sample, &excess);
    const double value =
        sign * (ends[side] - offset_khz) - (excess.value + peak_rise) * h->noise_khz;
    const double by_draw = hypot(peak_draw * h->noise_most_khz, excess.uncertainty * h->noise_khz);
    if (value > larger.value)
      larger = (struct peak){
          value, hypot(by_draw, hypot(hidden_crest * h->hidden, MEASURE_PEAK_SHARE) * value)};
  }
  return larger;
}

struct sc_quantity measure_peak_without_noise(const struct measure_peak_stream *stream,
                                              const struct sc_composite_noise *noise)
{
  if (!(noise->rms_khz >= 0.0))
    return sc_not_measured(no_noise);
  if (expected_clicks(stream, noise) > clicks_most)
    return sc_not_measured(clicked);
  struct held ends;
  const struct held held = choose_held(stream, noise, &ends);
  struct peak peak = peak_of(&held, stream->offset_khz, stream->rate_hz);
  if (ends.share > 0.0) {
    const struct peak other = peak_of(&ends, stream->offset_khz, stream->rate_hz);
    if (other.value - peak.value > sure * hypot(other.uncertainty, peak.uncertainty))
      peak = other;
  }
  return sc_measured(peak.value, peak.uncertainty);
}

bool measure_peak_is_clicked(const struct sc_quantity *peak)
{
  return peak->why == clicked;
}
