/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A cosine-sum window applied to a spectrum: each of its terms shifts the spectrum by a whole
 * number of bins. The window is centred in the record, so neighbours alternate in sign. */
#include "dsp/lobe.h"

#include <math.h>
#include <stdlib.h>

#include "dsp/simd.h"

enum { TERMS = DSP_LOBE_HALF_WIDTH };

static const double terms[TERMS] = {0.27105140069342, 0.43329793923448, 0.21812299954311,
                                    0.06592544638803, 0.01081174209837, 0.00077658482522,
                                    0.00001388721735};

static double window_line(ptrdiff_t at)
{
  size_t m = (size_t)labs(at);
  return m == 0 ? terms[0] : m < TERMS ? terms[m] / 2 : 0;
}

static double response_at(const struct dsp_plateau *plateau, ptrdiff_t bins)
{
  double sum = 0, value, slope;
  for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++) {
    dsp_plateau_response(plateau, (double)(bins - m), &value, &slope);
    sum += window_line(m) * value;
  }
  return sum;
}

static double noise_gain(const double *covariance)
{
  double sum = 0;
  for (ptrdiff_t i = 1 - TERMS; i < TERMS; i++)
    for (ptrdiff_t j = 1 - TERMS; j < TERMS; j++)
      sum += window_line(i) * window_line(j) * covariance[labs(i - j)];
  return sum;
}

struct dsp_lobe dsp_lobe_make(const struct dsp_plateau *plateau)
{
  struct dsp_lobe lobe;
  double peak = response_at(plateau, 0);
  lobe.noise_gain = noise_gain(dsp_plateau_covariance(plateau)) / (peak * peak);
  for (ptrdiff_t i = 0; i <= DSP_LOBE_HALF_WIDTH; i++) {
    double relative = response_at(plateau, i) / peak;
    lobe.power[i] = relative * relative;
  }
  for (ptrdiff_t i = 0; i < TERMS; i++)
    lobe.step[i] = window_line(i) / peak * (i & 1 ? -1 : 1);
  return lobe;
}

enum { STRETCH = 128 };

/* Of spectra in single and in double precision. */
#define DEFINE_ADD(name, real)                                                                     \
  static float name##_wrapped(const struct dsp_lobe *lobe, const real *bins, size_t n, size_t k)   \
  {                                                                                                \
    double re = 0, im = 0;                                                                         \
    for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++) {                                                \
      size_t at = (k + n + (size_t)m) % n;                                                         \
      double line = lobe->step[labs(m)];                                                           \
      re += line * (double)bins[2 * at];                                                           \
      im += line * (double)bins[2 * at + 1];                                                       \
    }                                                                                              \
    return (float)((re * re + im * im) / (double)n);                                               \
  }                                                                                                \
                                                                                                   \
  /* Real and imaginary parts in one row, whose neighbours are two apart. */                       \
  DSP_CLONES                                                                                       \
  static void name##_fold(const real *restrict step, const real *restrict bins, size_t count,      \
                          real *restrict folded)                                                   \
  {                                                                                                \
    for (size_t i = 0; i < count; i++) {                                                           \
      const real *at = bins + i;                                                                   \
      real sum = step[0] * at[0];                                                                  \
      for (ptrdiff_t m = 1; m < TERMS; m++)                                                        \
        sum += step[m] * (at[2 * m] + at[-2 * m]);                                                 \
      folded[i] = sum;                                                                             \
    }                                                                                              \
  }                                                                                                \
                                                                                                   \
  DSP_CLONES                                                                                       \
  static void name##_add_powers(const real *restrict folded, real scale, size_t count,             \
                                float *restrict power)                                             \
  {                                                                                                \
    for (size_t i = 0; i < count; i++) {                                                           \
      const real re = scale * folded[2 * i], im = scale * folded[2 * i + 1];                       \
      power[i] += (float)(re * re + im * im);                                                      \
    }                                                                                              \
  }                                                                                                \
                                                                                                   \
  /* Away from the ends of the array. */                                                           \
  static void name##_inner(const struct dsp_lobe *lobe, const real *bins, size_t n, size_t count,  \
                           float *power)                                                           \
  {                                                                                                \
    real step[TERMS], folded[2 * STRETCH];                                                         \
    for (size_t m = 0; m < TERMS; m++)                                                             \
      step[m] = (real)lobe->step[m];                                                               \
    while (count > 0) {                                                                            \
      size_t run = count < STRETCH ? count : STRETCH;                                              \
      name##_fold(step, bins, 2 * run, folded);                                                    \
      name##_add_powers(folded, 1 / (real)sqrt((double)n), run, power);                            \
      bins += 2 * run;                                                                             \
      power += run;                                                                                \
      count -= run;                                                                                \
    }                                                                                              \
  }                                                                                                \
                                                                                                   \
  void name(const struct dsp_lobe *lobe, const real *bins, size_t n, size_t first, size_t count,   \
            float *power)                                                                          \
  {                                                                                                \
    size_t inner = first < TERMS ? TERMS : first, end = first + count;                             \
    size_t inner_end = end > n - TERMS ? n - TERMS : end;                                          \
    inner = inner < end ? inner : end;                                                             \
    inner_end = inner_end > inner ? inner_end : inner;                                             \
    for (size_t k = first; k < inner; k++)                                                         \
      power[k - first] += name##_wrapped(lobe, bins, n, k);                                        \
    name##_inner(lobe, bins + 2 * inner, n, inner_end - inner, power + (inner - first));           \
    for (size_t k = inner_end; k < end; k++)                                                       \
      power[k - first] += name##_wrapped(lobe, bins, n, k);                                        \
  }

DEFINE_ADD(dsp_lobe_add, float)
DEFINE_ADD(dsp_lobe_add64, double)
