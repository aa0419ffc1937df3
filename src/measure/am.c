/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Amplitude modulation: the envelope's audio band, and its part that follows the image. */
#include <sidecomb/am.h>

#include "dsp/highpass.h"
#include "dsp/resample.h"
#include "dsp/simd.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/turns.h"

enum { RUN = 4096 };

static const double rate_min_hz = 80e3;
static const double audio_hz = 15e3;
static const double audio_stop_hz = 18e3;
static const double low_hz = 7.0; /* second order: 0.013 dB down at 30 Hz */
static const double settling_s = 0.1;
static const double whole_s = 10.0; /* after that one of four stretches of this length: */
static const double stretch_s = 1.0;
static const double response_share = 0.003; /* of the power: 0.013 dB */
static const double stop_db = 80.0;
static const double audio_rate_hz = 48e3;
static const double shortest_s = 0.2;
/* Of the mean, in power: envelope and filters are in single precision, which reads up to so much.
 */
static const double rounding = 1e-14;
static const double chance = 4.0; /* standard deviations above the noise that count */
/* Envelope and twice the phase go together at all: below that, the phase stands still. */
static const double turning_least = 1e-4;

/* Sums for a regression of the envelope on c = cos 2 phase and s = sin 2 phase. */
struct sums {
  double frames, a, aa, c, s, cc, ss, cs, ac, as;
};

/* The same side by side, over a run; r: the envelope without an offset. */
enum { LANES = 64 };
struct lanes {
  float r[LANES], rr[LANES], c[LANES], s[LANES];
  float cc[LANES], ss[LANES], cs[LANES], rc[LANES], rs[LANES];
};

struct sc_am_meter {
  struct sc_am_settings settings;
  struct dsp_decimator *decimator;
  struct dsp_resampler *shape;
  double rate_hz;        /* of the envelope behind them */
  double noise_hz;       /* their noise bandwidth */
  size_t skip, settling; /* of the filters, and then of the high-pass */
  struct measure_turns turns;
  struct sums sums;
  struct dsp_highpass highpass;
  double frames, square;
  float envelope[RUN], low[RUN + 2];
};

/* White noise that a filter of the gain 1 at zero lets through (Parseval), above the high-pass. The
 * filter falls from 15 to 18 kHz. */
static double noise_bandwidth(const double *taps, size_t count, double rate_hz)
{
  double squares = 0.0;
  for (size_t i = 0; i < count; i++)
    squares += taps[i] * taps[i];
  return rate_hz / 2.0 * squares - low_hz;
}

static enum sc_error create_parts(struct sc_am_meter *m)
{
  double *taps = NULL;
  size_t count = 0;
  const unsigned decimation = (unsigned)fmax(1.0, floor(m->settings.rate_hz / audio_rate_hz));
  m->rate_hz = m->settings.rate_hz / decimation;
  enum sc_error error = dsp_decimator_create(1, decimation, audio_stop_hz, stop_db,
                                             m->settings.rate_hz, RUN, &m->decimator);
  if (error == SC_OK)
    error = dsp_lowpass_design(audio_hz, audio_stop_hz, stop_db, m->rate_hz, &taps, &count);
  if (error != SC_OK)
    return error;
  m->noise_hz = noise_bandwidth(taps, count, m->rate_hz);
  error = dsp_resampler_create(1, 1, 1, taps, count, RUN / decimation + 2, &m->shape);
  free(taps);
  return error;
}

enum sc_error sc_am_create(const struct sc_am_settings *settings, struct sc_am_meter **meter)
{
  if (!(settings->rate_hz >= rate_min_hz && isfinite(settings->rate_hz)))
    return SC_BAD_ARGUMENT;
  struct sc_am_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  const enum sc_error error = create_parts(m);
  if (error != SC_OK) {
    sc_am_destroy(m);
    return error;
  }
  sc_am_reset(m);
  *meter = m;
  return SC_OK;
}

/* The filters, for a stretch that nothing comes before. */
static void begin_stretch(struct sc_am_meter *m)
{
  dsp_decimator_reset(m->decimator);
  dsp_resampler_reset(m->shape);
  m->skip = dsp_decimator_transient(m->decimator) + dsp_resampler_transient(m->shape);
  m->settling = (size_t)(settling_s * m->rate_hz);
  dsp_highpass_set(&m->highpass, low_hz, m->rate_hz);
}

void sc_am_reset(struct sc_am_meter *meter)
{
  const double rate_hz = meter->settings.rate_hz;
  begin_stretch(meter);
  meter->turns =
      (struct measure_turns){(uint64_t)(whole_s * rate_hz), (uint64_t)(stretch_s * rate_hz), 0};
  memset(&meter->sums, 0, sizeof meter->sums);
  meter->frames = meter->square = 0.0;
}

void sc_am_destroy(struct sc_am_meter *meter)
{
  if (meter == NULL)
    return;
  dsp_decimator_destroy(meter->decimator);
  dsp_resampler_destroy(meter->shape);
  free(meter);
}

/* Adds r = envelope - off and, of twice the phase, c and s to sums side by side; the offset keeps
 * single precision enough. frames <= LANES */
DSP_CLONES
static void take_apart(const float *restrict channel, float off, float *restrict envelope,
                       struct lanes *restrict sums, size_t frames)
{
  for (size_t n = 0; n < frames; n++) {
    const float re = channel[2 * n];
    const float im = channel[2 * n + 1];
    const float power = re * re + im * im + 1e-30F;
    const float root = sqrtf(power), each = 1.0F / power, r = root - off;
    const float c = (re * re - im * im) * each;
    const float s = 2.0F * re * im * each;
    envelope[n] = root;
    sums->r[n] += r;
    sums->rr[n] += r * r;
    sums->c[n] += c;
    sums->s[n] += s;
    sums->cc[n] += c * c;
    sums->ss[n] += s * s;
    sums->cs[n] += c * s;
    sums->rc[n] += r * c;
    sums->rs[n] += r * s;
  }
}

static double total(const float lanes[LANES])
{
  double sum = 0.0;
  for (size_t l = 0; l < LANES; l++)
    sum += (double)lanes[l];
  return sum;
}

static void add_sums(struct sums *s, const struct lanes *lanes, double off, size_t frames)
{
  const double n = (double)frames, r = total(lanes->r), c = total(lanes->c), q = total(lanes->s);
  s->frames += n;
  s->a += r + n * off;
  s->aa += total(lanes->rr) + 2.0 * off * r + n * off * off;
  s->c += c;
  s->s += q;
  s->cc += total(lanes->cc);
  s->ss += total(lanes->ss);
  s->cs += total(lanes->cs);
  s->ac += total(lanes->rc) + off * c;
  s->as += total(lanes->rs) + off * q;
}

static void take_run(struct sc_am_meter *m, const float *channel, size_t frames)
{
  const float off = hypotf(channel[0], channel[1]);
  struct lanes lanes;
  memset(&lanes, 0, sizeof lanes);
  for (size_t n = 0; n < frames; n += LANES)
    take_apart(channel + 2 * n, off, m->envelope + n, &lanes,
               frames - n < LANES ? frames - n : LANES);
  add_sums(&m->sums, &lanes, (double)off, frames);
}

static void add_audio(struct sc_am_meter *m, size_t frames)
{
  size_t made = dsp_decimator_run(m->decimator, m->envelope, frames, m->low);
  float shaped[RUN + 2];
  made = dsp_resampler_run(m->shape, m->low, made, shaped);
  const size_t skipped = m->skip < made ? m->skip : made;
  m->skip -= skipped;
  if (skipped == made)
    return;
  if (m->settling == (size_t)(settling_s * m->rate_hz))
    dsp_highpass_settle(&m->highpass, (double)shaped[skipped]);
  const size_t left = made - skipped, settling = m->settling < left ? m->settling : left;
  m->settling -= settling;
  dsp_highpass_square(&m->highpass, shaped + skipped, settling);
  m->square += dsp_highpass_square(&m->highpass, shaped + skipped + settling, left - settling);
  m->frames += (double)(left - settling);
}

void sc_am_feed(struct sc_am_meter *meter, const float *channel, size_t frames)
{
  while (frames > 0) {
    const size_t most = frames < RUN ? frames : RUN;
    const struct measure_turn turn = measure_turns_next(&meter->turns, most);
    if (turn.first)
      begin_stretch(meter);
    if (turn.on) {
      take_run(meter, channel, turn.frames);
      add_audio(meter, turn.frames);
    }
    channel += 2 * turn.frames;
    frames -= turn.frames;
  }
}

void sc_am_refuse(struct sc_am *am, const char *why)
{
  am->depth_db = am->limit_db = am->at_most_db = sc_not_measured(why);
  am->image = am->envelope_percent = sc_not_measured(why);
  am->ripple = (double)NAN;
}

/* Least squares of the envelope on c and s about their means. */
static struct sc_quantity find_image(const struct sums *s)
{
  const double n = s->frames;
  const double mean = s->a / n, c = s->c / n, q = s->s / n;
  const double cc = s->cc / n - c * c, ss = s->ss / n - q * q, cs = s->cs / n - c * q;
  const double ac = (s->ac / n - mean * c) / mean, as = (s->as / n - mean * q) / mean;
  const double determinant = cc * ss - cs * cs;
  if (!(determinant > turning_least * turning_least && fmin(cc, ss) > turning_least))
    return sc_not_measured("the carrier's phase does not turn enough");
  const double re = (ac * ss - as * cs) / determinant;
  const double im = (as * cc - ac * cs) / determinant;
  const double rest = fmax(0.0, s->aa / n / (mean * mean) - 1.0 - re * ac - im * as);
  return sc_measured(hypot(re, im), sqrt(rest / n * (cc + ss) / determinant));
}

/* Variances re the mean squared; the noise's is known to 2 %. */
static struct sc_quantity envelope(double variance, double noise, double frames)
{
  const double excess = variance - noise;
  const double sd = hypot(0.02 * noise, variance * sqrt(2.0 / frames));
  if (!(excess > chance * sd))
    return sc_not_measured("nothing stands above what the capture's noise reads");
  return sc_measured(100.0 * sqrt(excess), 100.0 * sd / (2.0 * sqrt(excess)));
}

void sc_am_result(const struct sc_am_meter *meter, double noise_per_hz, struct sc_am *am)
{
  const struct sc_am_meter *m = meter;
  const struct sums *s = &m->sums;
  sc_am_refuse(am, "less than 0.2 s");
  if (m->frames < (shortest_s - settling_s) * m->rate_hz || !(s->a > 0.0))
    return;
  const double mean = s->a / s->frames;
  const double variance = fmax(0.0, s->aa / s->frames / (mean * mean) - 1.0);
  /* the noise in phase with the carrier has the one-sided density N0 / C */
  const double widest = 2.0 * variance / m->settings.noise_bandwidth_hz;
  const double density = noise_per_hz < widest ? noise_per_hz : widest;
  const double noise = fmax(density * m->noise_hz, rounding);
  const double power = m->square / m->frames / (mean * mean);
  const double draws = 2.0 * m->noise_hz * m->frames / m->rate_hz;
  /* a tone's power over broken cycles is off by 1 / (2 w T) at the most; w: 30 Hz */
  const double cycles = m->rate_hz / (377.0 * m->frames);
  const double sd = hypot(sqrt((4.0 * power * noise + 2.0 * noise * noise) / draws) + 0.02 * noise,
                          hypot(response_share, cycles) * power);
  am->ripple = sqrt(variance);
  am->envelope_percent =
      envelope(variance, density * m->settings.noise_bandwidth_hz / 2.0, s->frames);
  am->image = find_image(s);
  am->limit_db = sc_measured(10.0 * log10(2.0 * noise), (double)NAN);
  am->depth_db = power - noise > chance * sd
                     ? sc_measured(10.0 * log10(2.0 * (power - noise)),
                                   10.0 / log(10.0) * sd / (power - noise))
                     : sc_not_measured("nothing stands above what the capture's noise reads");
  am->at_most_db = am->depth_db.why == NULL
                       ? sc_not_measured("the AM itself was measured")
                       : sc_measured(10.0 * log10(2.0 * (power + 3.0 * sd)), (double)NAN);
}
