/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Random numbers of the tests: the same sequence on every machine and in any language. */
#ifndef SIDECOMB_TESTS_SUPPORT_RANDOM_H
#define SIDECOMB_TESTS_SUPPORT_RANDOM_H

#include <stdint.h>

/* The next 64 bits of the splitmix64 sequence (Steele, Lea, Flood, 2014); *state is the seed. */
uint64_t support_random(uint64_t *state);

/* Uniform in -1...1, a multiple of 2^-23, so that it is exact in single precision. */
double support_uniform(uint64_t *state);

/* Normal, mean 0, variance 1 (Box and Muller 1958). */
double support_normal(uint64_t *state);
/* Two of them, independent, for little more. */
void support_normal_pair(uint64_t *state, double pair[2]);

/* Equal relaxations an octave apart, from 3 Hz on, each of variance 1: their powers add up to 1 / f
 * (A. van der Ziel, Physica 16, 1950), and are white below, as a programme that has nothing there
 * would be at the most. */
enum { SUPPORT_OCTAVES = 10 };
struct support_pink {
  double state[SUPPORT_OCTAVES], keep[SUPPORT_OCTAVES], fresh[SUPPORT_OCTAVES];
};
void support_pink_start(struct support_pink *pink, double rate_hz);
double support_pink(struct support_pink *pink, uint64_t *random);

#endif
