/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What of the difference signal stands above its band, told by its other side band.
 *
 * Suppressed-carrier AM has equal side bands (ITU-R BS.450-3, 2.1), so of what stands at 38 kHz + f
 * the difference signal's share is what stands at 38 kHz - f, as long as that falls from the band
 * on: what rises again there is another signal. Near 19 kHz the pilot hides it and below that the
 * sum; what may still be there goes into the uncertainty. How equal the side bands are is measured
 * where both are surely there, 9 to 14.5 kHz off 38 kHz. The method and its limits are our own. */
#ifndef SIDECOMB_MEASURE_DIFFERENCE_EDGE_H
#define SIDECOMB_MEASURE_DIFFERENCE_EDGE_H

#include <sidecomb/composite.h>
#include <sidecomb/spectrum.h>

enum { MEASURE_EDGE_NODES = 64 };

struct measure_edge {
  const struct sc_trace *trace;
  const struct sc_composite_noise *noise;
  double lowest;                   /* as for measure_edge_noise */
  double most[MEASURE_EDGE_NODES]; /* of the other side band, smoothed, the least from 52 kHz on */
  double last_hz;                  /* from there on the pilot is in the way; 0: nothing is there */
  double share;                    /* one standard uncertainty of its power */
};

/* Noise power of a bin: a discriminator's, or `lowest` where the carrier's noise is not known. */
double measure_edge_noise(const struct sc_trace *trace, const struct sc_composite_noise *noise,
                          double lowest, double hz);
/* The trace and the noise have to live as long as *edge. */
void measure_edge_find(const struct sc_trace *trace, const struct sc_composite_noise *noise,
                       double lowest, struct measure_edge *edge);
/* Its power in the bin at hz, 53 to 60 kHz, and in *open what may be there besides or be missing of
 * it. Nothing anywhere else. */
double measure_edge_power(const struct measure_edge *edge, double hz, double *open);

#endif
