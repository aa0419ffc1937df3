/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Parabolas over hops, against what was fed and the fit's own integrals. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "dsp/hops.h"
#include "dsp/suites.h"
#include "support/random.h"
#include "support/support.h"

#define PI 3.14159265358979323846

enum { BLOCK = DSP_TAPER_BLOCK };

/* In runs of any length, as a demodulator gives them. */
static void feed(struct dsp_hops *hops, size_t frames, double (*value)(double frame))
{
  static float x[5000];
  uint64_t random = 8;
  struct dsp_taper taper;
  dsp_taper_reset(&taper);
  dsp_hops_reset(hops);
  for (size_t at = 0; at < frames;) {
    const size_t most = 1 + (size_t)(support_random(&random) % 5000), left = frames - at;
    const size_t n = most < left ? most : left;
    for (size_t i = 0; i < n; i++)
      x[i] = (float)value((double)(at + i) + 0.5);
    dsp_hops_feed(hops, &taper, x, n);
    at += n;
  }
}

static double bent(double frame)
{
  const double t = frame / 1e5;
  return 3 - 2 * t + 0.7 * t * t;
}

/* A parabola comes back as it was, from hops of any length, to the end of the last whole block. */
START_TEST(a_parabola_is_its_own_fit)
{
  static const size_t blocks[] = {12, 1024, 1025, 2300};
  static struct dsp_hops hops;
  for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
    struct dsp_parabola fit;
    feed(&hops, blocks[b] * BLOCK + 77, bent);
    ck_assert_uint_eq(dsp_hops_frames(&hops), blocks[b] * BLOCK);
    ck_assert_uint_eq(hops.blocks_in_hop, blocks[b] <= 1024 ? 1 : blocks[b] <= 2048 ? 2 : 4);
    for (size_t first = 0; first + 9 <= hops.count; first += hops.count - 9) {
      dsp_hops_fit(&hops, first, 9, &fit);
      ck_assert_double_eq(fit.from, (double)(first * hops.blocks_in_hop * BLOCK));
      ck_assert(first == 0 || fit.to == (double)(blocks[b] * BLOCK));
      for (double at = fit.from; at <= fit.to; at += (fit.to - fit.from) / 8)
        ck_assert_double_eq_tol(dsp_parabola_at(&fit, at), bent(at), 1e-4 * fabs(bent(at)) + 1e-4);
    }
  }
}
END_TEST

static double cycles_per_window;

static double wave(double frame)
{
  return cos(2 * PI * cycles_per_window * (frame - 8 * BLOCK) / (16.0 * BLOCK));
}

/* What the header promises of the middle of a window: how much short it follows, and how little it
 * lets through. */
START_TEST(slow_waves_are_followed_and_fast_ones_are_not)
{
  static const struct {
    double cycles, low, high;
  } waves[] = {{0.05, 1 - 1e-6, 1 + 1e-6},
               {0.25, 1 - 4e-4, 1 - 2e-4},
               {7.3, -2e-3, 2e-3},
               {12, -2.5e-4, 2.5e-4},
               {512, -1e-5, 1e-5}};
  static struct dsp_hops hops;
  for (size_t w = 0; w < sizeof waves / sizeof *waves; w++) {
    struct dsp_parabola fit;
    cycles_per_window = waves[w].cycles;
    feed(&hops, 16 * BLOCK, wave);
    dsp_hops_fit(&hops, 0, 16, &fit);
    ck_assert_msg(fit.a > waves[w].low && fit.a < waves[w].high, "%g cycles: %g", waves[w].cycles,
                  fit.a);
  }
}
END_TEST

/* Halved hops hold the same. */
START_TEST(halves_are_pairs)
{
  static struct dsp_hops hops, halved;
  struct dsp_parabola fine, coarse;
  cycles_per_window = 1.3;
  feed(&hops, 33 * BLOCK, wave);
  halved = hops;
  dsp_hops_halve(&halved);
  ck_assert_uint_eq(halved.count, 16);
  dsp_hops_fit(&hops, 4, 12, &fine);
  dsp_hops_fit(&halved, 2, 6, &coarse);
  ck_assert_double_eq_tol(fine.a, coarse.a, 1e-12);
  ck_assert_double_eq_tol(fine.b, coarse.b, 1e-12);
  ck_assert_double_eq_tol(fine.c, coarse.c, 1e-12);
}
END_TEST

Suite *hops_suite(void)
{
  Suite *suite = suite_create("hops");
  TCase *tcase = tcase_create("hops");
  tcase_add_test(tcase, a_parabola_is_its_own_fit);
  tcase_add_test(tcase, slow_waves_are_followed_and_fast_ones_are_not);
  tcase_add_test(tcase, halves_are_pairs);
  suite_add_tcase(suite, tcase);
  return suite;
}
