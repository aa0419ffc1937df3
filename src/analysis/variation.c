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
                                  const struct sc_source_info *info,
                                  const struct sc_capture_facts *facts, uint64_t other_settings)
{
  if (facts->frames == 0 && other_settings > 0)
    return "its samples were taken at another tuned frequency or rate than the capture's first";
  if (facts->frames == 0)
    return "the capture holds no samples";
  if (facts->invalid == facts->frames)
    return "every sample is NaN, infinite or absurd";
  if (info->kind == SC_KIND_IQ &&
      (double)facts->frames < SC_CARRIER_SHORTEST_S * info->sample_rate_hz)
    return "less than 10 ms were captured, too short to tell a carrier";
  return variation->varies ? NULL : "the samples never change";
}
