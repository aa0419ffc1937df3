/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A bin of noise that is the average of K looks follows a gamma distribution of shape K, so its
 * quantiles, and the threshold that noise passes with a given chance, come from the incomplete
 * gamma function. */
#ifdef HAVE_CONFIG_H
#include <config.h> /* for lgamma_r */
#endif

#include "dsp/gamma.h"

#include <math.h>
#include <stdbool.h>

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

/* The x at which the wanted tail holds `p`: Newton's steps for the logarithm of the tail over that
 * of x, and halves of the bracket where they lead out of it. */
static double gamma_quantile(double a, double p, bool upper)
{
  double low = 1e-300, high = a + 40 * sqrt(a) + 800, x = a;
  for (int i = 0; i < MAX_STEPS && high > low * (1 + 1e-15); i++) {
    const double tail = gamma_tail(a, x, upper);
    if (upper ? tail > p : tail < p)
      low = x;
    else
      high = x;
    const double slope = (upper ? -1 : 1) * leading_factor(a, x) * a / tail;
    const double next = x * exp((log(p) - log(tail)) / slope);
    if (fabs(next - x) <= 1e-15 * x)
      return next;
    x = next > low && next < high ? next : sqrt(low) * sqrt(high);
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
