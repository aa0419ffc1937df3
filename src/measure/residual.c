/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The constant is the mean under a taper (1 - u^2)^4 over the record, at 1.35 times the
 * Cramer-Rao bound sqrt(D / (2 T)) of either part (D: noise density), and lets nothing through of
 * audio above a few 1 / T. The noise is the mean density from 5 to 23 Hz on both sides, in blocks
 * of 128 frames at 200 Hz: tones of audio begin at 50 Hz (47 CFR 73.310; common practice: 30 Hz).
 *
 * A programme whose spectrum goes on to lower frequencies stands in one direction of the plane, and
 * rises towards zero (pink noise: 3 dB an octave), so that its density at 5 to 23 Hz tells too
 * little. Whether there is one is told by the two principal directions being unlike, or by the
 * density close to zero. If so, each direction is judged by itself: the one that carries it by the
 * density from 3 / T on, under the same taper, which are few values (Student's t). What is closer
 * to zero than that, nothing tells: a record that is too short to reach below 2 Hz is taken to go
 * on rising as pink noise does down to there (assumption, no source). */
#include "measure/residual.h"

#include "dsp/fft.h"
#include "dsp/resample.h"
#include "dsp/taper.h"
#include "measure/ladder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { BLOCK = 128, RUN = 1024, FIRST_BIN = 3, LAST_BIN = 14 };

/* Close to zero, in units of 1 / T: the taper's own width ends below 3; a record of 7 s and more
 * has the more of them up to 2 Hz. */
enum { NEAR_FIRST = 3, NEAR_LEAST = 14, NEAR_MOST = 60 };

static const double slow_rate_hz = 200.0;
static const double pass_hz = 40.0;
static const double alias_db = 100.0;
static const double near_hz = 2.0;
static const double taper_bins = 1.82;         /* noise bandwidth of the taper, in 1 / T */
static const double one_in_a_million = 13.816; /* -log 1e-6 */
static const double sure = 1.645;            /* 95 % are above -1.645 sigma */
static const double sure_by_few = 2.0;        /* the same by Student's t of a few values */
static const double unlike = 5.0;              /* chance passes it once in exp(5) = 150 */
static const double near_excess = 2.6;         /* chance passes it once in 600, of 13 values */
static const double draws_per_s = 25.0;        /* of a direction from 5 to 23 Hz */

/* Symmetric: squares of the parts in phase and in quadrature, and their product. */
struct spread {
  double ii, qq, iq;
};

struct measure_residual {
  double rate_hz, slow_rate_hz;
  struct dsp_taper in_phase, quadrature;
  struct dsp_decimator *decimator;
  struct measure_ladder *ladder;
  size_t skip;
  struct dsp_fft64 *fft;
  double window[BLOCK], window_square;
  double block[2 * BLOCK];
  size_t filled;
  double blocks;
  struct spread power; /* sums over blocks: of the mean power of the bins that count */
  float slow[2 * RUN + 2], parts[RUN];
};

enum sc_error measure_residual_create(double rate_hz, struct measure_residual **residual)
{
  struct measure_residual *r = calloc(1, sizeof *r);
  if (r == NULL)
    return SC_NO_MEMORY;
  const unsigned decimation = (unsigned)dsp_fft_good_length((size_t)(rate_hz / slow_rate_hz));
  r->rate_hz = rate_hz;
  r->slow_rate_hz = rate_hz / decimation;
  for (size_t i = 0; i < BLOCK; i++) {
    r->window[i] = 0.5 - 0.5 * cos(TWO_PI * ((double)i + 0.5) / BLOCK);
    r->window_square += r->window[i] * r->window[i];
  }
  enum sc_error error =
      dsp_decimator_create(2, decimation, pass_hz, alias_db, rate_hz, RUN, &r->decimator);
  if (error == SC_OK)
    error = dsp_fft64_create(BLOCK, DSP_PLAN_ESTIMATE, &r->fft);
  if (error == SC_OK)
    error = measure_ladder_create(r->slow_rate_hz, &r->ladder);
  if (error != SC_OK) {
    measure_residual_destroy(r);
    return error;
  }
  measure_residual_reset(r);
  *residual = r;
  return SC_OK;
}

void measure_residual_reset(struct measure_residual *residual)
{
  struct measure_residual *r = residual;
  dsp_taper_reset(&r->in_phase);
  dsp_taper_reset(&r->quadrature);
  dsp_decimator_reset(r->decimator);
  r->skip = dsp_decimator_transient(r->decimator);
  r->filled = 0;
  r->blocks = 0.0;
  r->power = (struct spread){0.0, 0.0, 0.0};
  measure_ladder_reset(r->ladder);
}

void measure_residual_destroy(struct measure_residual *residual)
{
  if (residual == NULL)
    return;
  dsp_decimator_destroy(residual->decimator);
  dsp_fft64_destroy(residual->fft);
  measure_ladder_destroy(residual->ladder);
  free(residual);
}

/* Of the spectra of two real parts, that of part + i part at +k and -k. */
static void add_spread(struct spread *to, const double *up, const double *down, double weight)
{
  const double i[2] = {(up[0] + down[0]) / 2.0, (up[1] - down[1]) / 2.0};
  const double q[2] = {(up[1] + down[1]) / 2.0, (down[0] - up[0]) / 2.0};
  to->ii += weight * (i[0] * i[0] + i[1] * i[1]);
  to->qq += weight * (q[0] * q[0] + q[1] * q[1]);
  to->iq += weight * (i[0] * q[0] + i[1] * q[1]);
}

/* The next block shares half of this one. */
static void end_block(struct measure_residual *r)
{
  double *bins = dsp_fft64_buffer(r->fft);
  for (size_t i = 0; i < BLOCK; i++)
    for (size_t part = 0; part < 2; part++)
      bins[2 * i + part] = r->window[i] * r->block[2 * i + part];
  dsp_fft64_run(r->fft);
  for (size_t k = FIRST_BIN; k <= LAST_BIN; k++)
    add_spread(&r->power, bins + 2 * k, bins + 2 * (BLOCK - k), 1.0 / (LAST_BIN - FIRST_BIN + 1));
  r->blocks += 1.0;
  memmove(r->block, r->block + BLOCK, BLOCK * sizeof *r->block);
  r->filled = BLOCK / 2;
}

static void feed_slow(struct measure_residual *r, const float *in, size_t frames)
{
  const size_t made = dsp_decimator_run(r->decimator, in, frames, r->slow);
  const size_t skipped = r->skip < made ? r->skip : made;
  r->skip -= skipped;
  measure_ladder_feed(r->ladder, r->slow + 2 * skipped, made - skipped);
  for (size_t i = skipped; i < made; i++) {
    r->block[2 * r->filled] = r->slow[2 * i];
    r->block[2 * r->filled + 1] = r->slow[2 * i + 1];
    if (++r->filled == BLOCK)
      end_block(r);
  }
}

void measure_residual_feed(struct measure_residual *residual, const float *in, size_t frames)
{
  struct measure_residual *r = residual;
  while (frames > 0) {
    const size_t n = frames < RUN ? frames : RUN;
    feed_slow(r, in, n);
    for (size_t i = 0; i < n; i++)
      r->parts[i] = in[2 * i];
    dsp_taper_feed(&r->in_phase, r->parts, n);
    for (size_t i = 0; i < n; i++)
      r->parts[i] = in[2 * i + 1];
    dsp_taper_feed(&r->quadrature, r->parts, n);
    in += 2 * n;
    frames -= n;
  }
}

/* ---- the result */

static struct spread scaled(struct spread s, double by)
{
  return (struct spread){by * s.ii, by * s.qq, by * s.iq};
}

/* In the direction of (c, s). */
static double along(const struct spread *spread, double c, double s)
{
  return c * c * spread->ii + s * s * spread->qq + 2.0 * c * s * spread->iq;
}

static double taper_at(size_t n, size_t frames)
{
  const double u = (2.0 * (double)n + 1.0) / (double)frames - 1.0;
  double w = 1.0;
  for (int p = 0; p < DSP_TAPER_ORDER; p++)
    w *= 1.0 - u * u;
  return w;
}

/* Transform of the tapered frames, less a constant, at plus and minus `cycles` over the record. */
static void transform(const float *in, size_t frames, const double mean[2], double cycles,
                      double up[2], double down[2])
{
  up[0] = up[1] = down[0] = down[1] = 0.0;
  for (size_t n = 0; n < frames; n++) {
    const double w = taper_at(n, frames), turn = TWO_PI * cycles * (double)n / (double)frames;
    const double re = w * ((double)in[2 * n] - mean[0]), im = w * ((double)in[2 * n + 1] - mean[1]);
    const double c = cos(turn), s = sin(turn);
    up[0] += c * re + s * im;
    up[1] += c * im - s * re;
    down[0] += c * re - s * im;
    down[1] += c * im + s * re;
  }
}

/* Variance of the constant by what stands at 3 / T and above; how many values of each direction it
 * is made of. */
static struct spread near_zero(const struct measure_residual *r, double *values)
{
  static const double zero[2] = {0.0, 0.0};
  size_t frames;
  double rate_hz, weight = 0.0, mean[2], up[2], down[2];
  struct spread sum = {0.0, 0.0, 0.0};
  const float *in = measure_ladder_frames(r->ladder, &frames, &rate_hz);
  for (size_t n = 0; n < frames; n++)
    weight += taper_at(n, frames);
  transform(in, frames, zero, 0.0, mean, down);
  mean[0] /= weight;
  mean[1] /= weight;
  const double reach = near_hz * (double)frames / rate_hz;
  const int last = (int)fmin(fmax(reach, NEAR_LEAST), NEAR_MOST);
  for (int k = NEAR_FIRST; k <= last; k++) {
    transform(in, frames, mean, k, up, down);
    add_spread(&sum, up, down, 1.0 / ((last - NEAR_FIRST + 1) * weight * weight));
  }
  *values = 2.0 * floor((last - NEAR_FIRST + 1) / taper_bins);
  return sum;
}

/* Chance that Student's t is beyond +-t, an even number of degrees of freedom (Abramowitz and
 * Stegun, 26.7.4). */
static double beyond(double t, double freedom)
{
  const double angle = atan(t / sqrt(freedom)), cc = cos(angle) * cos(angle);
  double term = 1.0, sum = 0.0;
  for (double k = 2.0; k <= freedom; k += 2.0) {
    sum += term;
    term *= (k - 1.0) / k * cc;
  }
  return 1.0 - sin(angle) * sum;
}

/* What t passes once in two million records: there are two directions. */
static double t_limit(double freedom)
{
  double low = 1.0, high = 200.0;
  const double even = fmin(2.0 * floor(freedom / 2.0), 1000.0);
  while (high - low > 1e-3) {
    const double middle = (low + high) / 2.0;
    *(beyond(middle, even) > 0.5e-6 ? &low : &high) = middle;
  }
  return high;
}

struct direction {
  double value, variance, limit; /* limit: in standard deviations */
};

/* Both directions alike. */
static void judge_noise(const double part[2], double variance, double unsure,
                        struct measure_residual_result *result)
{
  const double power = part[0] * part[0] + part[1] * part[1];
  const double square = variance + unsure * unsure, passed = 2.0 * one_in_a_million;
  result->uncertainty = sqrt(square);
  result->amplitude = sqrt(fmax(0.0, power - square));
  result->claimed = power > passed * square;
  result->limit = (sqrt(passed) + sure) * result->uncertainty;
}

static void judge_directions(const struct direction direction[2], double unsure,
                             struct measure_residual_result *result)
{
  double amplitude = 0.0, share = 0.0, weight = 0.0;
  result->limit = 0.0;
  for (int d = 0; d < 2; d++) {
    const double variance = direction[d].variance + unsure * unsure;
    const double square = direction[d].value * direction[d].value;
    const double limit = direction[d].limit * sqrt(variance);
    amplitude += fmax(0.0, square - variance);
    share += variance * fmax(square, variance);
    weight += fmax(square, variance);
    result->claimed = result->claimed || square > limit * limit;
    result->limit = fmax(result->limit, limit + sure_by_few * sqrt(variance));
  }
  result->hidden = !result->claimed;
  result->amplitude = sqrt(amplitude);
  result->uncertainty = sqrt(share / weight);
}

void measure_residual_result(const struct measure_residual *residual, double unsure,
                             struct measure_residual_result *result)
{
  const struct measure_residual *r = residual;
  const double part[2] = {dsp_taper_mean(&r->in_phase, DSP_TAPER_ORDER),
                          dsp_taper_mean(&r->quadrature, DSP_TAPER_ORDER)};
  const double record_s = (double)r->in_phase.frames / r->rate_hz;
  *result = (struct measure_residual_result){
      .uncertainty = (double)NAN, .limit = (double)NAN, .record_s = record_s};
  if (!(r->blocks > 0.0))
    return;
  const double per_power = dsp_taper_square(DSP_TAPER_ORDER) /
                           (r->blocks * r->window_square * r->slow_rate_hz * record_s);
  const struct spread far = scaled(r->power, per_power);
  double values;
  const struct spread near = near_zero(r, &values);
  const double mean = (far.ii + far.qq) / 2.0, apart = hypot((far.ii - far.qq) / 2.0, far.iq);
  const double angle = atan2(2.0 * far.iq, far.ii - far.qq) / 2.0;
  const double draws = draws_per_s * record_s, ratio = apart / mean;
  const double rising = fmax(1.0, (NEAR_LEAST / 2.0) / (near_hz * record_s));
  bool plain = ratio * ratio * draws / 2.0 < unlike;
  struct direction direction[2];
  for (int d = 0; d < 2; d++) {
    const double c = d == 0 ? cos(angle) : -sin(angle), s = d == 0 ? sin(angle) : cos(angle);
    const double here = along(&near, c, s), there = along(&far, c, s);
    const bool carries = here > near_excess * there || (d == 0 && !plain);
    direction[d] = (struct direction){c * part[0] + s * part[1], there, t_limit(draws)};
    if (carries)
      direction[d] =
          (struct direction){direction[d].value, fmax(there, rising * here), t_limit(values)};
    plain = plain && !carries;
  }
  if (plain)
    judge_noise(part, mean, unsure, result);
  else
    judge_directions(direction, unsure, result);
}
