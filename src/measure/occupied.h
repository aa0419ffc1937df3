/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The composite in the frequencies that it uses: what is nothing but noise is left out, so that a
 * held peak holds less of it.
 *
 * Blocks of 16384 frames that overlap by half, through a window whose squares add up to one
 * (Kaiser-Bessel-derived, alpha 4). A bin stays when it or its surroundings stand out of the noise
 * of a discriminator, which rises with the square of the frequency and is taken from the quietest
 * tenth of the bins from 20 to 90 kHz: on the average so far, or for the moment. What stays has
 * not been changed. After ten seconds a quarter is looked at, and what goes beyond all of that.
 * Whether what was left out had more power than noise has, is for the caller to
 * compare.
 */
#ifndef SIDECOMB_MEASURE_OCCUPIED_H
#define SIDECOMB_MEASURE_OCCUPIED_H

#include <stddef.h>

#include <sidecomb/error.h>

#include "measure/amplitudes.h"
#include "measure/extremes.h"

struct measure_occupied;
enum sc_error measure_occupied_create(double rate_hz, struct measure_occupied **occupied);
void measure_occupied_feed(struct measure_occupied *occupied, const float *composite,
                           size_t frames);
/* After a gap; what was found stays. */
void measure_occupied_restart(struct measure_occupied *occupied);
void measure_occupied_reset(struct measure_occupied *occupied);

/* `extremes` do not reach the first and last quarter of a block of a stretch between gaps; there
 * `ends` hold all below the highest frequency that stayed, but for the outermost 256 frames. */
struct measure_occupied_result {
  double frames;                    /* in `lost` and amplitudes, that were looked at; 0: none yet */
  struct measure_extremes extremes; /* of all but that */
  double lost;                      /* mean square of what was left out, kHz^2 */
  double noise_hz3;                 /* of f^2 over the bins that stayed, on the average */
  double noise_most_hz3;            /* the most of any moment */
  struct measure_extremes ends;     /* of the first and last block of all stretches */
  double ends_frames;               /* in them */
  double ends_noise_hz3;            /* of f^2 over all bins below that frequency */
  double ends_bandwidth_hz;         /* that frequency */
  double bandwidth_hz;              /* of these */
  const struct measure_amplitudes *amplitudes;
};
struct measure_occupied_result measure_occupied_result(struct measure_occupied *occupied);
void measure_occupied_destroy(struct measure_occupied *occupied);

#endif
