/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Least-squares design of the discriminator's equaliser: the normal equations of a dense grid of
 * frequencies, solved by Cholesky's method. Windowing the ideal response would not do: the window
 * smooths the rise of x / sin(x) by more than 1e-4. */
#include "dsp/discriminator.h"

#include "dsp/resample.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define PI 3.1415926535897932384626433832795

/* The system of `n` half filters: `matrix` is n * n, symmetric, lower half filled. */
struct system {
  size_t n;
  double *matrix, *right;
};

/* One frequency: sum over k of h_k 2 cos((k + 1/2) w) should be `wanted`. */
static void add_equation(struct system *s, double *row, double angle, double wanted)
{
  for (size_t k = 0; k < s->n; k++)
    row[k] = 2.0 * cos(((double)k + 0.5) * angle);
  for (size_t i = 0; i < s->n; i++) {
    for (size_t j = 0; j <= i; j++)
      s->matrix[i * s->n + j] += row[i] * row[j];
    s->right[i] += row[i] * wanted;
  }
}

static void factorise(struct system *s)
{
  double *m = s->matrix;
  const size_t n = s->n;
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j <= i; j++) {
      double rest = m[i * n + j];
      for (size_t k = 0; k < j; k++)
        rest -= m[i * n + k] * m[j * n + k];
      m[i * n + j] = i == j ? sqrt(rest) : rest / m[j * n + j];
    }
}

/* Forward, then backward; the answer replaces the right side. */
static void substitute(struct system *s)
{
  const size_t n = s->n;
  for (size_t i = 0; i < n; i++) {
    for (size_t k = 0; k < i; k++)
      s->right[i] -= s->matrix[i * n + k] * s->right[k];
    s->right[i] /= s->matrix[i * n + i];
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t k = i + 1; k < n; k++)
      s->right[i] -= s->matrix[k * n + i] * s->right[k];
    s->right[i] /= s->matrix[i * n + i];
  }
}

static void fill(struct system *s, double *row, double pass, double stop)
{
  const size_t points = 16 * s->n;
  for (size_t p = 0; p <= points; p++) {
    const double in_pass = pass * (double)p / (double)points;
    const double x = in_pass / 2.0;
    add_equation(s, row, in_pass, x > 0.0 ? x / sin(x) : 1.0);
    add_equation(s, row, stop + (PI - stop) * (double)p / (double)points, 0.0);
  }
  /* what happens in between is free, but not to the point where the sums lose digits */
  for (size_t i = 0; i < s->n; i++)
    s->matrix[i * s->n + i] += 1e-10 * (double)points;
  factorise(s);
  substitute(s);
  /* what is constant passes exactly: it is the carrier's offset */
  double sum = 0.0;
  for (size_t k = 0; k < s->n; k++)
    sum += 2.0 * s->right[k];
  for (size_t k = 0; k < s->n; k++)
    s->right[k] /= sum;
}

enum sc_error dsp_equaliser_design(double pass_hz, double stop_hz, double accuracy_db,
                                   double rate_hz, double **taps, size_t *count)
{
  if (!(pass_hz > 0.0 && stop_hz > pass_hz && stop_hz < rate_hz / 2.0))
    return SC_BAD_ARGUMENT;
  const size_t half = (dsp_lowpass_length(pass_hz, stop_hz, accuracy_db, rate_hz) + 1) / 2;
  struct system s = {half, calloc(half * half, sizeof(double)), calloc(half, sizeof(double))};
  double *row = malloc(half * sizeof *row);
  *taps = malloc(2 * half * sizeof **taps);
  *count = 2 * half;
  const bool ok = s.matrix != NULL && s.right != NULL && row != NULL && *taps != NULL;
  if (ok) {
    fill(&s, row, 2.0 * PI * pass_hz / rate_hz, 2.0 * PI * stop_hz / rate_hz);
    for (size_t k = 0; k < half; k++)
      (*taps)[half + k] = (*taps)[half - 1 - k] = s.right[k];
  } else {
    free(*taps);
  }
  free(s.matrix);
  free(s.right);
  free(row);
  return ok ? SC_OK : SC_NO_MEMORY;
}
