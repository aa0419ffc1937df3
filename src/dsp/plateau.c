/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A record with short smooth ends, and its transform between bins. The transform is summed in
 * closed form (every part of the window is a sum of cosines, so every part of the transform is
 * a geometric sum), tabulated, and interpolated by cubics. */
#include "dsp/plateau.h"

#include "dsp/simd.h"

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

enum { STEPS = 64, POINTS = DSP_PLATEAU_SPAN * STEPS + 1, COVARIANCE_POINTS = 512 };
/* Points a whole number of bins apart stand side by side: they are asked for together. */
enum { ROW = DSP_PLATEAU_SPAN + 1 };
static const double pi = 3.14159265358979323846;

struct dsp_plateau {
  struct dsp_plateau *next;
  unsigned users;
  size_t n, edge;
  double covariance[DSP_PLATEAU_LAGS];
  double value[STEPS * ROW], slope[STEPS * ROW]; /* point i: at(i) */
  double envelope[DSP_PLATEAU_SPAN + 1];
  double rise[]; /* edge */
};

static double rise_at(double x)
{
  return (8 - 9 * cos(pi * x) + cos(3 * pi * x)) / 16;
}

/* The sum of cos(beta i - phase) over i = 0 ... count - 1 is
 * sin(beta count / 2) / sin(beta / 2) * cos(beta (count - 1) / 2 - phase). */
static double ratio(double numerator, double half_sine, double count)
{
  return fabs(half_sine) < 1e-12 ? count : numerator / half_sine;
}

struct angle {
  double c, s;
};

static struct angle angle_of(double radians)
{
  return (struct angle){cos(radians), sin(radians)};
}

/* The sums for beta = theta and theta -+ alpha, -+ 3 alpha with alpha = pi / edge: over a rise, the
 * angles of the shifted ones are those of theta turned by quarters, and by turns[0] and turns[1]:
 * k alpha (edge - 1) / 2. */
static double rising_sum(double theta, double phase, double edge, const struct angle turns[2])
{
  const double alpha = pi / edge;
  const struct angle whole = angle_of(theta / 2 * edge);
  const struct angle middle = angle_of(theta / 2 * (edge - 1) - phase);
  double sum = 8 * ratio(whole.s, sin(theta / 2), edge) * middle.c;
  for (int k = 1; k <= 3; k += 2) {
    const struct angle turn = turns[k / 2];
    const double quarter = k == 1 ? whole.c : -whole.c; /* sin(x + k pi / 2) */
    const double above = ratio(quarter, sin(theta / 2 + k * alpha / 2), edge);
    const double below = ratio(-quarter, sin(theta / 2 - k * alpha / 2), edge);
    const double cosines = above * (middle.c * turn.c - middle.s * turn.s) +
                           below * (middle.c * turn.c + middle.s * turn.s);
    sum += (k == 1 ? -4.5 : 0.5) * cosines;
  }
  return sum / 16;
}

/* The transform at `bins`, divided by n: both ends are alike, and the flat part is even. */
static double transform_at(double n, double edge, double bins, const struct angle turns[2])
{
  const double theta = 2 * pi * bins / n, phase = pi * bins, count = n - 2 * edge + 1;
  const double gain = ratio(sin(theta / 2 * count), sin(theta / 2), count);
  const double flat = gain * cos(theta / 2 * (count - 1) - (phase - theta * edge));
  return (flat + 2 * rising_sum(theta, phase, edge, turns)) / n;
}

static size_t at(size_t i)
{
  return i % STEPS * ROW + i / STEPS;
}

static double tabulated(const double *table, ptrdiff_t i)
{
  i = i < 0 ? -i : i;
  return i < POINTS ? table[at((size_t)i)] : 0;
}

static void tabulate(struct dsp_plateau *plateau)
{
  const double n = (double)plateau->n, edge = (double)plateau->edge;
  const double turn = pi / edge * (edge - 1) / 2;
  const struct angle turns[2] = {angle_of(turn), angle_of(3 * turn)};
  for (size_t i = 0; i < POINTS; i++)
    plateau->value[at(i)] = transform_at(n, edge, (double)i / STEPS, turns);
  for (ptrdiff_t i = 0; i < POINTS; i++) {
    const double *v = plateau->value;
    double first = tabulated(v, i + 1) - tabulated(v, i - 1);
    double second = tabulated(v, i + 2) - tabulated(v, i - 2);
    double third = tabulated(v, i + 3) - tabulated(v, i - 3);
    plateau->slope[at((size_t)i)] = (45 * first - 9 * second + third) / 60 * STEPS;
  }
  double largest = 0;
  for (size_t i = POINTS; i-- > 0;) {
    largest = fmax(largest, fabs(plateau->value[at(i)]));
    if (i % STEPS == 0)
      plateau->envelope[i / STEPS] = largest;
  }
}

/* The integral of w^2 cos(2 pi lag x): the flat window's, less what the ends take away. */
static void integrate_covariance(struct dsp_plateau *plateau)
{
  double missing[DSP_PLATEAU_LAGS] = {0};
  for (size_t i = 0; i < COVARIANCE_POINTS; i++) {
    double x = ((double)i + 0.5) / COVARIANCE_POINTS, w = rise_at(x);
    double place = 0.5 - DSP_PLATEAU_SHARE * x;
    for (size_t lag = 0; lag < DSP_PLATEAU_LAGS; lag++)
      missing[lag] += (1 - w * w) * cos(2 * pi * (double)lag * place);
  }
  for (size_t lag = 0; lag < DSP_PLATEAU_LAGS; lag++)
    plateau->covariance[lag] =
        (lag == 0 ? 1 : 0) - missing[lag] * 2 * DSP_PLATEAU_SHARE / COVARIANCE_POINTS;
}

/* All that there are, so that searches for lines in records of one length share one. */
static struct dsp_plateau *all;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER; /* for `all`, and what it leads to */

static struct dsp_plateau *make(size_t n)
{
  size_t edge = (size_t)lround(DSP_PLATEAU_SHARE * (double)n);
  struct dsp_plateau *plateau = malloc(sizeof *plateau + edge * sizeof *plateau->rise);
  if (!plateau)
    return NULL;
  plateau->n = n;
  plateau->edge = edge;
  for (size_t i = 0; i < edge; i++)
    plateau->rise[i] = rise_at((double)i / (double)edge);
  tabulate(plateau);
  integrate_covariance(plateau);
  plateau->users = 0;
  plateau->next = all;
  all = plateau;
  return plateau;
}

enum sc_error dsp_plateau_create(size_t n, struct dsp_plateau **out)
{
  *out = NULL;
  if (n < DSP_PLATEAU_SHORTEST)
    return SC_BAD_ARGUMENT;
  pthread_mutex_lock(&lock);
  struct dsp_plateau *plateau = all;
  while (plateau != NULL && plateau->n != n)
    plateau = plateau->next;
  if (plateau == NULL)
    plateau = make(n);
  if (plateau != NULL)
    plateau->users++;
  pthread_mutex_unlock(&lock);
  *out = plateau;
  return plateau != NULL ? SC_OK : SC_NO_MEMORY;
}

static void scale(double *frame, size_t channels, double factor)
{
  for (size_t c = 0; c < channels; c++)
    frame[c] *= factor;
}

void dsp_plateau_apply(const struct dsp_plateau *plateau, double *frames, size_t channels)
{
  scale(frames, channels, 0);
  for (size_t i = 1; i < plateau->edge; i++) {
    scale(frames + i * channels, channels, plateau->rise[i]);
    scale(frames + (plateau->n - i) * channels, channels, plateau->rise[i]);
  }
}

static void weigh(const struct dsp_plateau *plateau, size_t at, float *values)
{
  const size_t n = plateau->n, edge = plateau->edge;
  const double rise = at == 0         ? 0
                      : at < edge     ? plateau->rise[at]
                      : at > n - edge ? plateau->rise[n - at]
                                      : 1;
  values[0] *= (float)rise;
  values[1] *= (float)rise;
}

void dsp_plateau_weigh(const struct dsp_plateau *plateau, size_t at, float *values, size_t count)
{
  const size_t falls = plateau->n - plateau->edge + 1, end = at + count;
  for (size_t i = at; i < end && i < plateau->edge; i++)
    weigh(plateau, i, values + 2 * (i - at));
  for (size_t i = falls > at ? falls : at; i < end; i++)
    weigh(plateau, i, values + 2 * (i - at));
}

/* Cubics between the points v0 with slope s0 and v1 with s1, at the share t of the way. */
DSP_CLONES
static void interpolate(const double *v0, const double *s0, const double *v1, const double *s1,
                        double t, size_t count, double *restrict value, double *restrict slope)
{
  const double h = 1.0 / STEPS;
  for (size_t m = 0; m < count; m++) {
    const double m0 = s0[m] * h, m1 = s1[m] * h, rise = v1[m] - v0[m];
    const double c2 = 3 * rise - 2 * m0 - m1, c3 = m0 + m1 - 2 * rise;
    value[m] = v0[m] + t * (m0 + t * (c2 + t * c3));
    slope[m] = (m0 + t * (2 * c2 + t * 3 * c3)) * STEPS;
  }
}

/* At bins, bins + 1, ...; none is negative. */
static void respond(const struct dsp_plateau *plateau, double bins, size_t count, double *value,
                    double *slope)
{
  const double place = bins * STEPS, room = DSP_PLATEAU_SPAN - bins;
  const size_t known = room <= 0 ? 0 : room < (double)count ? (size_t)ceil(room) : count;
  for (size_t m = known; m < count; m++)
    value[m] = slope[m] = 0;
  if (known == 0)
    return;
  const size_t i = (size_t)place, first = at(i), next = at(i + 1);
  interpolate(plateau->value + first, plateau->slope + first, plateau->value + next,
              plateau->slope + next, place - (double)i, known, value, slope);
}

void dsp_plateau_responses(const struct dsp_plateau *plateau, double bins, size_t count,
                           double *value, double *slope)
{
  assert(count <= DSP_PLATEAU_TOGETHER);
  const size_t below = bins < 0 ? (size_t)fmin(ceil(-bins), (double)count) : 0;
  if (below > 0) { /* even, and its slope is odd */
    double values[DSP_PLATEAU_TOGETHER], slopes[DSP_PLATEAU_TOGETHER];
    respond(plateau, -(bins + (double)(below - 1)), below, values, slopes);
    for (size_t m = 0; m < below; m++) {
      value[m] = values[below - 1 - m];
      slope[m] = -slopes[below - 1 - m];
    }
  }
  respond(plateau, bins + (double)below, count - below, value + below, slope + below);
}

double dsp_plateau_envelope(const struct dsp_plateau *plateau, double bins)
{
  double distance = fabs(bins);
  return distance < DSP_PLATEAU_SPAN ? plateau->envelope[(size_t)distance] : 0;
}

const double *dsp_plateau_covariance(const struct dsp_plateau *plateau)
{
  return plateau->covariance;
}

void dsp_plateau_destroy(struct dsp_plateau *plateau)
{
  if (plateau == NULL)
    return;
  pthread_mutex_lock(&lock);
  if (--plateau->users == 0) {
    struct dsp_plateau **at = &all;
    while (*at != plateau)
      at = &(*at)->next;
    *at = plateau->next;
    free(plateau);
  }
  pthread_mutex_unlock(&lock);
}
