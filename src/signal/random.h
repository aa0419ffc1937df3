/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Random numbers that a seed fixes on every machine: xoshiro256++ 1.0 (Blackman and Vigna,
 * "Scrambled linear pseudorandom number generators", ACM TOMS 47, 2021), its state filled by
 * splitmix64 as its authors ask, and Gaussian values by the ziggurat of Marsaglia and Tsang
 * (Journal of Statistical Software 5(8), 2000) with 256 layers and independent bits for layer
 * and position.
 */
#ifndef SIDECOMB_SIGNAL_RANDOM_H
#define SIDECOMB_SIGNAL_RANDOM_H

#include <stddef.h>
#include <stdint.h>

enum { SIGNAL_ZIGGURAT_LAYERS = 256 };

struct signal_random {
  uint64_t state[4];
  double edge[SIGNAL_ZIGGURAT_LAYERS + 1];   /* right ends of the layers, falling to 0 */
  double height[SIGNAL_ZIGGURAT_LAYERS + 1]; /* exp(-edge^2 / 2) */
};

void signal_random_seed(struct signal_random *random, uint64_t seed);
uint64_t signal_random_next(struct signal_random *random);
/* Uniform in [0, 1), 53 bits. */
double signal_random_uniform(struct signal_random *random);
/* Zero mean, unit variance. */
double signal_random_gauss(struct signal_random *random);
/* values[i] += deviation * gauss, in order of i. */
void signal_random_add(struct signal_random *random, double deviation, double *values,
                       size_t count);

#endif
