/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Windows and their figures of merit. All but Kaiser's are sums of cosines, whose transform is
 * a sum of shifted sinc functions, and Kaiser's has a closed form too: so the figures follow
 * from the coefficients in the limit of a long window, and no table of figures is kept. */
#include "dsp/window.h"

#include <math.h>
#include <stddef.h>

#define PI 3.14159265358979323846

enum { MAX_TERMS = 7 };

struct description {
  size_t terms; /* 0: Kaiser */
  double a[MAX_TERMS];
};

/* w[n] = sum a[k] cos(2 pi k n / N). Scaled to a peak of 1 when used. */
static const struct description table[SC_WINDOW_COUNT] = {
    [SC_WINDOW_RECTANGULAR] = {1, {1}},
    [SC_WINDOW_HANN] = {2, {0.5, -0.5}},
    /* F. J. Harris, Proc. IEEE 66 (1978), the 4-term set of least side lobes. */
    [SC_WINDOW_BLACKMAN_HARRIS] = {4, {0.35875, -0.48829, 0.14128, -0.01168}},
    /* HFT144D of Heinzel, Ruediger, Schilling (2002). */
    [SC_WINDOW_FLAT_TOP] = {7,
                            {1, -1.96760033, 1.57983607, -0.81123644, 0.22583558, -0.02773848,
                             0.00090360}},
    [SC_WINDOW_KAISER] = {0, {0}},
};

static const struct description *describe(enum sc_window window)
{
  return &table[(unsigned)window < SC_WINDOW_COUNT ? window : SC_WINDOW_HANN];
}

/* Modified Bessel function of order zero over exp(|x|), by its power series: no overflow for any
 * useful beta, and full double precision since all terms are positive. */
static double bessel_i0_scaled(double x)
{
  double term = exp(-fabs(x)), sum = term;
  for (int k = 1; term > 1e-17 * sum || k < fabs(x) / 2; k++) {
    double half = x / (2 * k);
    term *= half * half;
    sum += term;
  }
  return sum;
}

static double kaiser_at(double beta, double position)
{
  double u = 2 * position - 1;
  double inner = beta * sqrt(fmax(0, 1 - u * u));
  return bessel_i0_scaled(inner) / bessel_i0_scaled(beta) * exp(inner - beta);
}

static double peak_of_sum(const struct description *d)
{
  double peak = 0;
  for (size_t k = 0; k < d->terms; k++)
    peak += fabs(d->a[k]);
  return peak;
}

/* Value at 0 <= position < 1 of the record. */
static double window_at(const struct description *d, double beta, double position)
{
  if (d->terms == 0)
    return kaiser_at(beta, position);
  double sum = 0;
  for (size_t k = 0; k < d->terms; k++)
    sum += d->a[k] * cos(2 * PI * (double)k * position);
  return sum / peak_of_sum(d);
}

void dsp_window_fill(enum sc_window window, double parameter, size_t n, double *out)
{
  const struct description *d = describe(window);
  for (size_t i = 0; i < n; i++)
    out[i] = window_at(d, parameter, (double)i / (double)n);
}

static double sinc(double x)
{
  return fabs(x) < 1e-9 ? 1 : sin(PI * x) / (PI * x);
}

/* sinh(sqrt(z)) / sqrt(z) divided by exp(beta); for negative z the sine takes over. */
static double kaiser_transform(double z, double beta)
{
  if (fabs(z) < 1e-12)
    return exp(-beta);
  double root = sqrt(fabs(z));
  if (z < 0)
    return sin(root) / root * exp(-beta);
  return (exp(root - beta) - exp(-root - beta)) / (2 * root);
}

double dsp_window_response(enum sc_window window, double parameter, double offset_bins)
{
  const struct description *d = describe(window);
  if (d->terms == 0) {
    double beta = parameter, x = PI * offset_bins;
    return kaiser_transform(beta * beta - x * x, beta) / kaiser_transform(beta * beta, beta);
  }
  double sum = sinc(offset_bins);
  for (size_t k = 1; k < d->terms; k++) {
    /* Seen from the middle of the record, odd cosines change their sign. */
    double share = (k % 2 ? -d->a[k] : d->a[k]) / (2 * d->a[0]);
    sum += share * (sinc(offset_bins - (double)k) + sinc(offset_bins + (double)k));
  }
  return sum;
}

static double response_db(enum sc_window window, double parameter, double offset_bins)
{
  return 20 * log10(fabs(dsp_window_response(window, parameter, offset_bins)) + 1e-300);
}

/* Largest departure from the centre's level within half a bin: at its edge for all but
 * flat-top windows. */
static double scalloping_db(enum sc_window window, double parameter)
{
  double worst = 0;
  for (int i = 1; i <= 500; i++)
    worst = fmax(worst, fabs(response_db(window, parameter, i / 1000.0)));
  return worst;
}

static double width_3db(enum sc_window window, double parameter, double main_lobe)
{
  double inside = 0, outside = main_lobe;
  for (int i = 0; i < 60; i++) {
    double middle = (inside + outside) / 2;
    if (dsp_window_response(window, parameter, middle) > sqrt(0.5))
      inside = middle;
    else
      outside = middle;
  }
  return inside + outside;
}

/* Beyond 32 bins the side lobes of all these windows fall. */
static double top_side_lobe_db(enum sc_window window, double parameter, double main_lobe)
{
  double top = -INFINITY;
  for (int i = 1; i < 6400; i++)
    top = fmax(top, response_db(window, parameter, main_lobe + i / 200.0));
  return top;
}

/* The sum of windows that start every `hop` points: smallest over largest value. */
static double amplitude_flatness(const double *w, size_t n, size_t hop)
{
  double low = INFINITY, high = -INFINITY;
  for (size_t start = 0; start < hop; start++) {
    double sum = 0;
    for (size_t i = start; i < n; i += hop)
      sum += w[i];
    low = fmin(low, sum);
    high = fmax(high, sum);
  }
  return low / high;
}

double dsp_window_correlation(const double *w, size_t n, size_t hop)
{
  double all = 0, shifted = 0;
  for (size_t i = 0; i < n; i++)
    all += w[i] * w[i];
  for (size_t i = hop; i < n; i++)
    shifted += w[i] * w[i - hop];
  return shifted / all;
}

/* Heinzel, Ruediger, Schilling (2002): where the data are used most evenly for the least
 * correlation between records. */
static double recommended_overlap(enum sc_window window, double parameter)
{
  enum { POINTS = 512 };
  double w[POINTS], best = -INFINITY;
  size_t best_hop = POINTS;
  dsp_window_fill(window, parameter, POINTS, w);
  for (size_t hop = POINTS; hop > POINTS / 20; hop--) {
    double gain = amplitude_flatness(w, POINTS, hop) - dsp_window_correlation(w, POINTS, hop);
    if (gain > best + 1e-9) {
      best = gain;
      best_hop = hop;
    }
  }
  return 1 - (double)best_hop / POINTS;
}

/* Mean of w^power over the record; the periodic form makes a plain sum exact for sums of cosines
 * and as good as any rule for Kaiser's. */
static double mean_power(enum sc_window window, double parameter, int power)
{
  enum { POINTS = 4096 };
  double sum = 0;
  for (size_t i = 0; i < POINTS; i++)
    sum += pow(window_at(describe(window), parameter, (double)i / POINTS), power);
  return sum / POINTS;
}

double dsp_window_noise_bandwidth(enum sc_window window, double parameter)
{
  double mean = mean_power(window, parameter, 1);
  return mean_power(window, parameter, 2) / (mean * mean);
}

double dsp_window_main_lobe(enum sc_window window, double parameter)
{
  const struct description *d = describe(window);
  return d->terms ? (double)d->terms : hypot(1, parameter / PI);
}

struct sc_window_figures sc_window_figures(enum sc_window window, double parameter)
{
  struct sc_window_figures figures;
  figures.coherent_gain = mean_power(window, parameter, 1);
  figures.noise_bandwidth_bins = dsp_window_noise_bandwidth(window, parameter);
  figures.main_lobe_bins = dsp_window_main_lobe(window, parameter);
  figures.scalloping_db = scalloping_db(window, parameter);
  figures.width_3db_bins = width_3db(window, parameter, figures.main_lobe_bins);
  figures.top_side_lobe_db = top_side_lobe_db(window, parameter, figures.main_lobe_bins);
  figures.recommended_overlap = recommended_overlap(window, parameter);
  return figures;
}
