/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Moments of a stream and the tapered means that they give. */
#include "dsp/taper.h"

#include "dsp/simd.h"

#include <math.h>
#include <string.h>

/* Every machine has vectors of two doubles, and nine sums of them fit its registers. Where there
 * are versions for wider ones, four take half the time. */
#ifdef SC_MULTIVERSION
enum { LANES = 4 };
#else
enum { LANES = 2 };
#endif

void dsp_taper_reset(struct dsp_taper *taper)
{
  memset(taper, 0, sizeof *taper);
  taper->stretch_frames = DSP_TAPER_BLOCK;
}

/* moment[k] += sum of x v^k, v growing by `step` from `first`; n is a multiple of LANES. */
DSP_CLONES
static void add_lanes(double *restrict moment, const float *restrict x, size_t n, double first,
                      double step)
{
  typedef double lanes __attribute__((vector_size(8 * LANES)));
  lanes v, skip;
  lanes sums[DSP_TAPER_MOMENTS];
  memset(sums, 0, sizeof sums);
  for (int l = 0; l < LANES; l++) {
    v[l] = first + step * l;
    skip[l] = LANES * step;
  }
  for (size_t i = 0; i < n; i += LANES) {
    lanes term;
    for (int l = 0; l < LANES; l++)
      term[l] = x[i + (size_t)l];
    for (size_t k = 0; k < DSP_TAPER_MOMENTS; k++) {
      sums[k] += term;
      term *= v;
    }
    v += skip;
  }
  for (size_t k = 0; k < DSP_TAPER_MOMENTS; k++)
    for (int l = 0; l < LANES; l++)
      moment[k] += sums[k][l];
}

static void add_frames(double *moment, const float *x, size_t n, size_t position)
{
  const double step = 2.0 / DSP_TAPER_BLOCK;
  const double first = (double)position * step + step / 2.0 - 1.0;
  const size_t even = n - n % LANES;
  add_lanes(moment, x, even, first, step);
  for (size_t i = even; i < n; i++) {
    double term = x[i];
    for (size_t k = 0; k < DSP_TAPER_MOMENTS; k++) {
      moment[k] += term;
      term *= first + step * (double)i;
    }
  }
}

/* Row k: the binomials (k, j). */
static const double binomials[DSP_TAPER_MOMENTS][DSP_TAPER_MOMENTS] = {
    {1},
    {1, 1},
    {1, 2, 1},
    {1, 3, 3, 1},
    {1, 4, 6, 4, 1},
    {1, 5, 10, 10, 5, 1},
    {1, 6, 15, 20, 15, 6, 1},
    {1, 7, 21, 35, 35, 21, 7, 1},
    {1, 8, 28, 56, 70, 56, 28, 8, 1},
};

/* (scale v + shift)^k is the sum over j of binomial (k, j) (scale v)^j shift^(k - j). */
void dsp_taper_move(double *to, const double *from, double scale, double shift)
{
  double scaled[DSP_TAPER_MOMENTS], shifts[DSP_TAPER_MOMENTS], of_scale = 1.0, of_shift = 1.0;
  for (size_t k = 0; k < DSP_TAPER_MOMENTS; k++, of_scale *= scale, of_shift *= shift) {
    scaled[k] = of_scale * from[k];
    shifts[k] = of_shift;
  }
  for (size_t k = 0; k < DSP_TAPER_MOMENTS; k++)
    for (size_t j = 0; j <= k; j++)
      to[k] += binomials[k][j] * scaled[j] * shifts[k - j];
}

static void merge_pairs(struct dsp_taper *t)
{
  for (size_t s = 0; s < DSP_TAPER_STRETCHES / 2; s++) {
    double pair[DSP_TAPER_MOMENTS] = {0.0};
    dsp_taper_move(pair, t->moment[2 * s], 0.5, -0.5);
    dsp_taper_move(pair, t->moment[2 * s + 1], 0.5, 0.5);
    memcpy(t->moment[s], pair, sizeof pair);
  }
  t->stretches = DSP_TAPER_STRETCHES / 2;
  t->stretch_frames *= 2;
}

/* The blocks of the stretch that is being filled, before the present one. */
static uint64_t blocks_begun(const struct dsp_taper *t)
{
  return (t->frames - t->stretches * t->stretch_frames) / DSP_TAPER_BLOCK;
}

static void end_block(struct dsp_taper *t)
{
  const double per_stretch = (double)(t->stretch_frames / DSP_TAPER_BLOCK);
  const double before = (double)blocks_begun(t) - 1.0;
  dsp_taper_move(t->begun, t->block, 1.0 / per_stretch, (2.0 * before + 1.0) / per_stretch - 1.0);
  memcpy(t->last, t->block, sizeof t->block);
  memset(t->block, 0, sizeof t->block);
  if (before + 1.0 < per_stretch)
    return;
  memcpy(t->moment[t->stretches++], t->begun, sizeof t->begun);
  memset(t->begun, 0, sizeof t->begun);
  if (t->stretches == DSP_TAPER_STRETCHES)
    merge_pairs(t);
}

void dsp_taper_feed(struct dsp_taper *taper, const float *in, size_t frames)
{
  while (frames > 0) {
    const size_t position = (size_t)(taper->frames % DSP_TAPER_BLOCK);
    const size_t room = DSP_TAPER_BLOCK - position;
    const size_t n = frames < room ? frames : room;
    add_frames(taper->block, in, n, position);
    taper->frames += n;
    if (n == room)
      end_block(taper);
    in += n;
    frames -= n;
  }
}

/* Moments in the coordinates of the whole record. */
static void whole(const struct dsp_taper *t, double *moment)
{
  const double frames = (double)t->frames;
  const double stretch = (double)t->stretch_frames / frames; /* of half a record each */
  memset(moment, 0, DSP_TAPER_MOMENTS * sizeof *moment);
  for (size_t s = 0; s <= t->stretches; s++)
    dsp_taper_move(moment, s < t->stretches ? t->moment[s] : t->begun, stretch,
                   (2.0 * (double)s + 1.0) * stretch - 1.0);
  const double block = DSP_TAPER_BLOCK / frames;
  const double start = 2.0 * (double)(t->frames - t->frames % DSP_TAPER_BLOCK) / frames;
  dsp_taper_move(moment, t->block, block, start + block - 1.0);
}

/* Sum over moments of (1 - u^2)^p = sum of binomial(p, j) (-u^2)^j. */
static double tapered(const double *moment, int p)
{
  double sum = 0.0;
  double factor = 1.0;
  for (int j = 0; j <= p; j++) {
    sum += factor * moment[2 * j];
    factor *= -(double)(p - j) / (j + 1);
  }
  return sum;
}

/* Integral of (1 - u^2)^p from -1 to 1: 2 * product of 2 j / (2 j + 1). */
static double integral(int p)
{
  double value = 2.0;
  for (int j = 1; j <= p; j++)
    value *= 2.0 * j / (2.0 * j + 1.0);
  return value;
}

double dsp_taper_mean_of(const double *moment, int p, double frames)
{
  return tapered(moment, p) / (integral(p) * frames / 2.0);
}

double dsp_taper_mean(const struct dsp_taper *taper, int p)
{
  double moment[DSP_TAPER_MOMENTS];
  if (taper->frames == 0)
    return 0.0;
  whole(taper, moment);
  return dsp_taper_mean_of(moment, p, (double)taper->frames);
}

size_t dsp_taper_stretch_means(const struct dsp_taper *taper, int p,
                               double means[DSP_TAPER_STRETCHES])
{
  for (size_t s = 0; s < taper->stretches; s++)
    means[s] = dsp_taper_mean_of(taper->moment[s], p, (double)taper->stretch_frames);
  return taper->stretches;
}

double dsp_taper_square(int p)
{
  /* w = (1 - u^2)^p / (integral / 2), mean over u */
  return 2.0 * integral(2 * p) / (integral(p) * integral(p));
}

double dsp_taper_slope(int p)
{
  /* dw/du = -2 p u (1 - u^2)^(p - 1) / (integral / 2), dt = T du / 2; and
   * u^2 (1 - u^2)^(2 p - 2) = (1 - u^2)^(2 p - 2) - (1 - u^2)^(2 p - 1) */
  if (p == 0)
    return INFINITY;
  const double square = 4.0 * p * p * (integral(2 * p - 2) - integral(2 * p - 1));
  return 8.0 * square / (integral(p) * integral(p));
}

/* ---- growth: sum of u w x over the integral of u^2 w, w = (1 - u^2)^3 */

enum { GROWTH_ORDER = DSP_TAPER_ORDER - 1 };

static double growth_weight(void)
{
  return integral(GROWTH_ORDER) - integral(GROWTH_ORDER + 1);
}

double dsp_taper_growth(const struct dsp_taper *taper)
{
  double moment[DSP_TAPER_MOMENTS];
  double sum = 0.0, factor = 1.0;
  if (taper->frames == 0)
    return 0.0;
  whole(taper, moment);
  for (int j = 0; j <= GROWTH_ORDER; j++) {
    sum += factor * moment[2 * j + 1];
    factor *= -(double)(GROWTH_ORDER - j) / (j + 1);
  }
  return 2.0 * sum / (growth_weight() * (double)taper->frames / 2.0); /* u spans 2 */
}

/* d(u w)/du = w - 6 u^2 (1 - u^2)^2 = 7 (1 - u^2)^3 - 6 (1 - u^2)^2; dt = T du / 2. */
double dsp_taper_growth_square(void)
{
  const double square = 49.0 * integral(6) - 84.0 * integral(5) + 36.0 * integral(4);
  return 32.0 * square / (growth_weight() * growth_weight());
}
