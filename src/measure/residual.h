/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A constant in a complex stream, with the noise around zero that its uncertainty follows from:
 * what is left of a suppressed carrier once it has been mixed to zero by a known phase. */
#ifndef SIDECOMB_MEASURE_RESIDUAL_H
#define SIDECOMB_MEASURE_RESIDUAL_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct measure_residual_result {
  double amplitude;   /* without what its uncertainty adds to it */
  double uncertainty; /* NAN: the record is shorter than one block of 0.7 s */
  double limit;       /* what is claimed in 95 % of such records, whatever its phase */
  bool claimed;       /* noise passes it less than once in a million records */
  bool hidden;        /* not claimed beside a programme: the amplitude may be of that */
  double record_s;
};

struct measure_residual;
enum sc_error measure_residual_create(double rate_hz, struct measure_residual **residual);
void measure_residual_feed(struct measure_residual *residual, const float *in, size_t frames);
/* `unsure`: what is uncertain of either part by other causes. */
void measure_residual_result(const struct measure_residual *residual, double unsure,
                             struct measure_residual_result *result);
void measure_residual_reset(struct measure_residual *residual);
void measure_residual_destroy(struct measure_residual *residual);

#endif
