/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/variation.h"

#include <string.h>

void analysis_variation_feed(struct analysis_variation *variation, const struct sc_block *block)
{
  const size_t channels = block->channels < 2 ? 1 : 2;
  if (variation->varies || block->frames == 0)
    return;
  if (!variation->begun)
    memcpy(variation->first, block->samples, channels * sizeof *variation->first);
  variation->begun = true;
  for (size_t n = 0; n < block->frames && !variation->varies; n++)
    for (size_t c = 0; c < channels; c++)
      variation->varies |= block->samples[n * block->channels + c] != variation->first[c];
}

const char *analysis_nothing_told(const struct analysis_variation *variation,
                                  const struct sc_capture_facts *facts, uint64_t other_settings)
{
  if (facts->frames == 0 && other_settings > 0)
    return "its samples were taken at another tuned frequency or rate than the capture's first";
  if (facts->frames == 0)
    return "the capture holds no samples";
  return variation->varies ? NULL : "the samples never change";
}
