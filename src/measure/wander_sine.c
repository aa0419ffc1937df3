/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The sine, with a mean, that fits a course best: least squares at each frequency of a grid. */
#include <math.h>

#include "measure/wander.h"

static const double two_pi = 6.283185307179586476925286766559;
static const double grid = 0.2;                        /* of the resolution 1 / T */
static const double mostly = 0.9, periods_least = 1.5; /* our choice */
enum { VALUES_LEAST = 8, THIRDS = 40 };

/* Solves a symmetric system of three by elimination; false: it has no one solution. */
static bool solve(double m[3][4], double x[3])
{
  for (int k = 0; k < 3; k++) {
    if (!(fabs(m[k][k]) > 1e-9))
      return false;
    for (int r = k + 1; r < 3; r++)
      for (int c = 3; c >= k; c--)
        m[r][c] -= m[r][k] / m[k][k] * m[k][c];
  }
  for (int k = 2; k >= 0; k--) {
    x[k] = m[k][3];
    for (int c = k + 1; c < 3; c++)
      x[k] -= m[k][c] * x[c];
    x[k] /= m[k][k];
  }
  return true;
}

/* The square sum that the best sine of this frequency leaves, and its peak. */
static double rest_at(const double *hz, size_t count, double cycles, double *peak)
{
  double m[3][4] = {{0}}, x[3], squares = 0, rest = 0;
  for (size_t i = 0; i < count; i++) {
    const double a = two_pi * cycles * (double)i / (double)count;
    const double row[4] = {1, cos(a), sin(a), hz[i]};
    for (int r = 0; r < 3; r++)
      for (int c = 0; c < 4; c++)
        m[r][c] += row[r] * row[c];
    squares += hz[i] * hz[i];
  }
  const double sums[3] = {m[0][3], m[1][3], m[2][3]};
  if (!solve(m, x))
    return squares;
  *peak = hypot(x[1], x[2]);
  rest = squares - x[0] * sums[0] - x[1] * sums[1] - x[2] * sums[2];
  return fmax(rest, 0);
}

/* Between the neighbours on the grid, by thirds. */
static double refined(const double *hz, size_t count, double cycles)
{
  double peak, low = cycles - grid, high = cycles + grid;
  for (int i = 0; i < THIRDS; i++) {
    const double a = low + (high - low) / 3, b = high - (high - low) / 3;
    if (rest_at(hz, count, a, &peak) < rest_at(hz, count, b, &peak))
      high = b;
    else
      low = a;
  }
  return (low + high) / 2;
}

struct measure_sine measure_sine_of(const double *hz, size_t count, double step_s, double most_hz,
                                    double alike)
{
  struct measure_sine sine = {0};
  const double span_s = (double)count * step_s;
  double peak = 0, best = 0, least = INFINITY, mean = 0, squares = 0;
  if (count < VALUES_LEAST)
    return sine;
  for (double cycles = 0.5; cycles < fmin(most_hz * span_s, (double)count / 2); cycles += grid) {
    const double rest = rest_at(hz, count, cycles, &peak);
    best = rest < least ? cycles : best;
    least = fmin(least, rest);
  }
  for (size_t i = 0; i < count; i++)
    mean += hz[i] / (double)count;
  for (size_t i = 0; i < count; i++)
    squares += (hz[i] - mean) * (hz[i] - mean);
  if (!(best > periods_least))
    return sine;
  best = refined(hz, count, best);
  least = rest_at(hz, count, best, &sine.peak_hz);
  sine.found = least < (1 - mostly) * squares;
  sine.period_s = span_s / best;
  const double cycles = sqrt(least / (double)(count - 5)) / sine.peak_hz *
                        sqrt(6.0 / (double)count * fmax(alike, 1)) / (two_pi / 2);
  sine.period_uncertainty_s = cycles / best * sine.period_s;
  return sine;
}
