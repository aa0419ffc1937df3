/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The peak of a composite's deviation without the noise in it (corrected_khz of
 * sidecomb/deviation.h). */
#ifndef SIDECOMB_MEASURE_DEVIATION_PEAK_H
#define SIDECOMB_MEASURE_DEVIATION_PEAK_H

#include <stdbool.h>

#include <sidecomb/deviation.h>

#include "measure/amplitudes.h"
#include "measure/extremes.h"
#include "measure/occupied.h"

#define MEASURE_PEAK_SHARE 1e-3 /* of a peak between samples: its uncertainty */

struct measure_peak_stream {
  struct measure_extremes extremes; /* kHz, from where the amplitudes are counted as well */
  const struct measure_amplitudes *amplitudes;
  struct measure_occupied *occupied;
  double rate_hz, frames, variance; /* kHz^2 */
  double offset_khz;                /* of the carrier, which the deviation is counted from */
};

/* In kHz. Not measured: where the noise is not known, or makes clicks. */
struct sc_quantity measure_peak_without_noise(const struct measure_peak_stream *stream,
                                              const struct sc_composite_noise *noise);
bool measure_peak_is_clicked(const struct sc_quantity *peak);

#endif
