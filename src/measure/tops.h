/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the peaks of a stream are cut off flat.
 *
 * A sine is within a share d of its peak for a time that grows as the square root of d, so that the
 * next six such shares below the topmost two hold as many samples at the least; what is made of
 * more than one part holds more of them. A stream that was cut off has nearly all of them at the
 * top (our own method; the square root is that of the cosine at its top). Where the classes below
 * are empty, as in a square wave, in coarse steps or in a tone at a share of the sample rate, the
 * stream does not tell. */
#ifndef SIDECOMB_MEASURE_TOPS_H
#define SIDECOMB_MEASURE_TOPS_H

#include <stddef.h>
#include <stdint.h>

/* Classes of the magnitude from 2^-24 to 2^21, 256 an octave. */
enum { MEASURE_TOPS_OCTAVES = 45, MEASURE_TOPS_CLASSES = 256 * MEASURE_TOPS_OCTAVES };

struct measure_tops {
  uint64_t count[2]
                [MEASURE_TOPS_CLASSES]; /* above zero, below; not those that come to be far down */
  float most[2];                        /* magnitude so far, of either */
  uint64_t frames;
};

/* One sample of `stride`. */
void measure_tops_add(struct measure_tops *tops, const float *samples, size_t stride,
                      size_t frames);
/* Share of all samples that stand at a top that is flat, both together; 0: none is. */
double measure_tops_flat(const struct measure_tops *tops);

#endif
