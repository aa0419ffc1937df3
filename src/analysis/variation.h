/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether samples change at all: an input that is dead says the same for ever. */
#ifndef SIDECOMB_ANALYSIS_VARIATION_H
#define SIDECOMB_ANALYSIS_VARIATION_H

#include <stdbool.h>
#include <stdint.h>

#include <sidecomb/result.h>

struct analysis_variation {
  bool begun;
  float first[2]; /* sample, of two channels at most, and ... */
  bool varies;    /* ... whether one differs from it */
};

/* Costs nothing where samples do vary: the second one tells. */
void analysis_variation_feed(struct analysis_variation *variation, const struct sc_block *block);

/* Why nothing at all can be measured in what came; NULL: something may be. `info`: kind and rate of
 * the samples; `facts`: what came of them. Of samples that are all
 * the same, a carrier exactly at the centre, without noise and modulation, would be direct current
 * as well: they do not tell it from an input that is dead. */
const char *analysis_nothing_told(const struct analysis_variation *variation,
                                  const struct sc_source_info *info,
                                  const struct sc_capture_facts *facts, uint64_t other_settings);

#endif
