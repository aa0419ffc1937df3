/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The limit that speeds are held against: convert and weigh, FFTW's transform, power into a sum,
 * with records that overlap by half. Nothing of it is of use, no gaps, holds or block edges. */
#ifndef SIDECOMB_TESTS_BENCH_BARE_H
#define SIDECOMB_TESTS_BENCH_BARE_H

#include <stddef.h>
#include <stdint.h>

struct bare;
/* NULL: memory is short. */
struct bare *bare_create(size_t length);
/* Interleaved complex samples. */
void bare_run_real(struct bare *bare, const float *samples, size_t frames);
void bare_run_codes(struct bare *bare, const int16_t *samples, size_t frames);
/* What the machine has to give: the time as it passes that one thread takes for `times` such loops
 * of N 4096, over what two take with half of them each. The best of `rounds`; NAN: memory is
 * short. */
double bare_gain(const int16_t *samples, size_t frames, size_t times, int rounds);
void bare_destroy(struct bare *bare);

#endif
