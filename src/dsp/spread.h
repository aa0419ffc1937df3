/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Deals frames out to phases in turn. */
#ifndef SIDECOMB_DSP_SPREAD_H
#define SIDECOMB_DSP_SPREAD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DSP_SPREAD_WIDE_MOST = 6, DSP_SPREAD_LANES = 16 };

struct dsp_spread {
  unsigned components, phases;
  bool wide; /* vectors of 16 floats, where the processor has them */
  /* For each phase, which floats of what it has so far and of the next vector it takes. */
  int32_t picks[DSP_SPREAD_WIDE_MOST * (DSP_SPREAD_WIDE_MOST - 1)][DSP_SPREAD_LANES];
};

/* Frames of 1 or 2 floats; `wide`: the processor has AVX-512. */
void dsp_spread_set(struct dsp_spread *spread, unsigned components, unsigned phases, bool wide);

/* Of `groups` times `phases` frames the oldest of a group goes to the last phase; phases are
 * `stride` floats apart. */
void dsp_spread_run(const struct dsp_spread *spread, const float *in, size_t groups, float *out,
                    size_t stride);

#endif
