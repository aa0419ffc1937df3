/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise: its generator against a published sequence, its Gaussian values against the law. */
#include <math.h>

#include <check.h>

#include "signal/random.h"
#include "signal/suites.h"
#include "signal/tools.h"

/* First outputs of xoshiro256++ 1.0 from the state 1, 2, 3, 4: the sequence that the published
 * reference implementation (Blackman and Vigna, public domain) gives, from memory and worked
 * out by hand for the first two. */
START_TEST(generator_gives_the_published_sequence)
{
  static const uint64_t expected[] = {UINT64_C(41943041), UINT64_C(58720359),
                                      UINT64_C(3588806011781223), UINT64_C(3591011842654386)};
  struct signal_random random = {.state = {1, 2, 3, 4}};
  for (size_t i = 0; i < 4; i++)
    ck_assert_uint_eq(signal_random_next(&random), expected[i]);
}
END_TEST

START_TEST(layers_close_at_the_top)
{
  /* the last layer, of the same area as all others, must end at the curve's top */
  struct signal_random random;
  signal_random_seed(&random, 1);
  const double x = random.edge[SIGNAL_ZIGGURAT_LAYERS - 1];
  CHECK_CLOSE(x * (1 - exp(-0.5 * x * x)), 4.92867323399e-3, 1e-9);
}
END_TEST

enum { VALUES = 4000000, BINS = 10 };

/* Chances between these edges by the error function of the C library. */
START_TEST(gauss_follows_the_normal_law)
{
  static const double edges[BINS + 1] = {0,   0.1, 0.25, 0.5, 1, 1.5, 2, 3, 3.6541528853610088,
                                         4.2, 40};
  struct signal_random random;
  signal_random_seed(&random, 20);
  double sum = 0, square = 0, fourth = 0, count[BINS] = {0};
  size_t positive = 0;
  for (size_t i = 0; i < VALUES; i++) {
    const double x = signal_random_gauss(&random);
    sum += x;
    square += x * x;
    fourth += x * x * x * x;
    positive += x > 0;
    for (size_t b = 0; b < BINS; b++)
      count[b] += fabs(x) >= edges[b] && fabs(x) < edges[b + 1];
  }
  /* five standard deviations of each figure */
  CHECK_CLOSE(sum / VALUES, 0, 5 / sqrt(VALUES));
  CHECK_CLOSE(square / VALUES, 1, 5 * sqrt(2.0 / VALUES));
  CHECK_CLOSE(fourth / VALUES, 3, 5 * sqrt(96.0 / VALUES));
  CHECK_CLOSE((double)positive, VALUES / 2, 5 * sqrt(VALUES / 4));
  for (size_t b = 0; b < BINS; b++) {
    const double p = erf(edges[b + 1] / sqrt(2)) - erf(edges[b] / sqrt(2));
    CHECK_CLOSE(count[b], p * VALUES, 5 * sqrt(p * VALUES) + 1);
  }
}
END_TEST

START_TEST(seeds_differ_and_repeat)
{
  struct signal_random a, b, c;
  signal_random_seed(&a, 7);
  signal_random_seed(&b, 7);
  signal_random_seed(&c, 8);
  size_t equal = 0;
  for (size_t i = 0; i < 1000; i++) {
    const double x = signal_random_gauss(&a);
    CHECK_CLOSE(x, signal_random_gauss(&b), 0);
    equal += x == signal_random_gauss(&c);
  }
  ck_assert_uint_eq(equal, 0);
}
END_TEST

Suite *random_suite(void)
{
  Suite *suite = suite_create("random");
  TCase *tests = tcase_create("random");
  tcase_add_test(tests, generator_gives_the_published_sequence);
  tcase_add_test(tests, layers_close_at_the_top);
  tcase_add_test(tests, gauss_follows_the_normal_law);
  tcase_add_test(tests, seeds_differ_and_repeat);
  suite_add_tcase(suite, tests);
  return suite;
}
