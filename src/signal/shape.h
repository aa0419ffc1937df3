/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The programme's low-pass and pre-emphasis as one linear-phase-delay FIR filter.
 *
 * Pre-emphasis is x + tau dx/dt (ITU-R BS.450-3 clause 1.2: the admittance of a parallel RC, so
 * 1 + j w tau), here the low-pass convolved with a differentiator that is exact to 1e-9 where the
 * low-pass still passes anything.
 */
#ifndef SIDECOMB_SIGNAL_SHAPE_H
#define SIDECOMB_SIGNAL_SHAPE_H

#include <complex.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct signal_shape {
  size_t count; /* odd */
  double rate_hz;
  double *taps;
};

/* Flat to limit_hz, down by 120 dB from stop_hz on, which stays below a quarter of the rate. */
enum sc_error signal_shape_create(double limit_hz, double stop_hz, double tau_s, double rate_hz,
                                  struct signal_shape **shape);
/* Against the middle tap. */
double complex signal_shape_response(const struct signal_shape *shape, double frequency_hz);
void signal_shape_destroy(struct signal_shape *shape);

/* A stream through a shape: what comes out stands where the input `ahead` samples before the
 * newest stood. */
struct signal_shaped;
enum sc_error signal_shaped_create(const struct signal_shape *shape, struct signal_shaped **shaped);
size_t signal_shape_ahead(const struct signal_shape *shape);
void signal_shaped_run(struct signal_shaped *shaped, const double *in, double *out, size_t count);
void signal_shaped_destroy(struct signal_shaped *shaped);

#endif
