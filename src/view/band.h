/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Power between two frequencies of a trace, and the density of noise at one.
 *
 * A trace reads the power of a tone; noise it reads in the window's noise bandwidth, rbw_hz. So
 * the sum of the points' powers, each times step_hz / rbw_hz, is the power between: of noise by
 * its density, and of a tone by Parseval's theorem, as long as its main lobe lies within. A point
 * stands for half a step to either side; cells at the ends count by the share that is within. */
#ifndef SIDECOMB_VIEW_BAND_H
#define SIDECOMB_VIEW_BAND_H

#include <stdbool.h>

#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

struct view_band {
  /* On the trace's scale (a full-scale tone is 1). The uncertainty is that of noise with this
   * spectrum in so many records, which is more than that of steady lines. Not measured: no trace,
   * less than one resolution bandwidth, or beyond the trace. */
  struct sc_quantity power;
  double floor; /* power that noise of the points' lower quartile makes in the same width */
  double width_hz;
};
struct view_band view_band_power(const struct sc_trace *trace, double one_hz, double other_hz);

struct view_density {
  struct sc_quantity per_hz; /* power per hertz, uncertainty as above */
  bool line_within;          /* something stands 10 dB out of the floor there */
};
/* Mean over four resolution bandwidths to either side. */
struct view_density view_band_density(const struct sc_trace *trace, double hz);

#endif
