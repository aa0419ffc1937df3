/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise floor from a running quantile. A bin of noise that is the average of K looks follows a
 * gamma distribution of shape K, so its quantiles, and the threshold that noise passes with a
 * given chance, come from the incomplete gamma function. The running quantile is an order
 * statistic found in a tree of counts over the ranks of all bins (Fenwick 1994), so that the
 * cost does not depend on the width. */
#ifdef HAVE_CONFIG_H
#include <config.h> /* for lgamma_r */
#endif

#include "dsp/floor.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

enum { MAX_TERMS = 1000000, MAX_STEPS = 200 };

/* x^a exp(-x) / Gamma(a + 1). lgamma writes its sign to a variable that all threads share. */
static double leading_factor(double a, double x)
{
  int sign;
  return exp(a * log(x) - x - lgamma_r(a + 1, &sign));
}

/* Lower incomplete gamma function, regularised, by its series; for x < a + 1. */
static double gamma_series(double a, double x)
{
  double term = 1, sum = 1;
  for (int n = 1; n < MAX_TERMS && term > 1e-17 * sum; n++) {
    term *= x / (a + n);
    sum += term;
  }
  return sum * leading_factor(a, x);
}

/* Upper incomplete gamma function, regularised, by its continued fraction (modified Lentz
 * method); for x >= a + 1. */
static double gamma_fraction(double a, double x)
{
  const double tiny = 1e-300;
  double b = x + 1 - a, c = 1 / tiny, d = 1 / b, h = d;
  for (int n = 1; n < MAX_TERMS; n++) {
    double an = -n * (n - a);
    b += 2;
    d = an * d + b;
    d = 1 / (fabs(d) < tiny ? tiny : d);
    c = b + an / c;
    c = fabs(c) < tiny ? tiny : c;
    h *= d * c;
    if (fabs(d * c - 1) < 1e-16)
      break;
  }
  return h * leading_factor(a, x) * a;
}

/* The chance that a gamma variable of shape a lies above x (upper) or below it. Each branch
 * keeps its relative precision in the tail that it computes. */
static double gamma_tail(double a, double x, bool upper)
{
  if (x <= 0)
    return upper ? 1 : 0;
  bool series = x < a + 1;
  double computed = series ? gamma_series(a, x) : gamma_fraction(a, x);
  return series == upper ? 1 - computed : computed;
}

/* The x at which the wanted tail holds `p`, by bisection of log x: slow, certain, and called
 * once for a whole spectrum. */
static double gamma_quantile(double a, double p, bool upper)
{
  double low = 1e-300, high = a + 40 * sqrt(a) + 800;
  for (int i = 0; i < MAX_STEPS && high > low * (1 + 1e-15); i++) {
    double middle = sqrt(low) * sqrt(high);
    bool below = upper ? gamma_tail(a, middle, true) > p : gamma_tail(a, middle, false) < p;
    if (below)
      low = middle;
    else
      high = middle;
  }
  return high;
}

double dsp_quantile_bias(double q, double looks)
{
  return looks / gamma_quantile(looks, q, false);
}

double dsp_threshold(double p, double looks)
{
  return gamma_quantile(looks, p, true) / looks;
}

struct ranked {
  double power;
  size_t index;
};

struct counts {
  size_t n, top;  /* top: largest power of two <= n */
  uint32_t *tree; /* n + 1 */
};

static void counts_add(struct counts *counts, size_t rank, uint32_t change)
{
  for (size_t i = rank + 1; i <= counts->n; i += i & (~i + 1))
    counts->tree[i] += change;
}

/* Rank of the k-th smallest member, k from 1. */
static size_t counts_find(const struct counts *counts, size_t k)
{
  size_t at = 0;
  for (size_t step = counts->top; step; step /= 2) {
    if (at + step <= counts->n && counts->tree[at + step] < k) {
      at += step;
      k -= counts->tree[at];
    }
  }
  return at;
}

static int by_power(const void *left, const void *right)
{
  const struct ranked *a = left, *b = right;
  return (a->power > b->power) - (a->power < b->power);
}

/* Sample quantile of m members at the real-valued position q (m + 1). */
static double member_quantile(const struct counts *counts, const struct ranked *sorted, size_t m,
                              double q)
{
  double position = fmin(fmax(q * (double)(m + 1), 1), (double)m);
  size_t k = (size_t)position;
  double part = position - (double)k;
  double low = sorted[counts_find(counts, k)].power;
  if (part <= 0)
    return low;
  return low + part * (sorted[counts_find(counts, k + 1)].power - low);
}

/* What the sample quantile of m members shows of the mean, to order 1/m (David and Johnson
 * 1954: x + q (1 - q) x'' / (2 (m + 2)), x'' the second derivative of the quantile function). */
struct quantile_model {
  double value, curvature;
};

static struct quantile_model model_quantile(double q, double looks)
{
  double x = gamma_quantile(looks, q, false);
  double density = leading_factor(looks, x) * looks / x;
  struct quantile_model model = {x / looks, q * (1 - q) / 2 * (1 - (looks - 1) / x) /
                                                (density * density) / looks};
  return model;
}

static void slide(const struct ranked *sorted, const size_t *rank, struct counts *counts,
                  size_t half_width, double q, struct quantile_model model, double *floor)
{
  size_t n = counts->n, added = 0, removed = 0;
  for (size_t i = 0; i < n; i++) {
    size_t first = i > half_width ? i - half_width : 0;
    size_t end = half_width < n - i ? i + half_width + 1 : n;
    end = end < n ? end : n;
    while (added < end)
      counts_add(counts, rank[added++], 1);
    while (removed < first)
      counts_add(counts, rank[removed++], UINT32_MAX);
    size_t m = end - first;
    double expected = model.value + model.curvature / (double)(m + 2);
    floor[i] = member_quantile(counts, sorted, m, q) / expected;
  }
}

enum sc_error dsp_floor(const double *power, size_t n, size_t half_width, double quantile,
                        double looks, double *floor)
{
  if (!power || !floor || n >= UINT32_MAX || !(quantile > 0 && quantile < 1) || !(looks > 0))
    return SC_BAD_ARGUMENT;
  if (n == 0)
    return SC_OK;
  struct counts counts = {n, 1, calloc(n + 1, sizeof *counts.tree)};
  struct ranked *sorted = malloc(n * sizeof *sorted);
  size_t *rank = malloc(n * sizeof *rank);
  enum sc_error error = counts.tree && sorted && rank ? SC_OK : SC_NO_MEMORY;
  if (error == SC_OK) {
    while (counts.top <= n / 2)
      counts.top *= 2;
    for (size_t i = 0; i < n; i++)
      sorted[i] = (struct ranked){power[i], i};
    qsort(sorted, n, sizeof *sorted, by_power);
    for (size_t i = 0; i < n; i++)
      rank[sorted[i].index] = i;
    slide(sorted, rank, &counts, half_width, quantile, model_quantile(quantile, looks), floor);
  }
  free(rank);
  free(sorted);
  free(counts.tree);
  return error;
}
