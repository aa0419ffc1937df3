/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A short averaged spectrum of everything, and the library's search in it. */
#include <stdlib.h>

#include "view/scout.h"

static const double look_s = 0.1, rbw_hz = 1000;

struct view_scout {
  double rate_hz;
  uint64_t left; /* frames */
  struct sc_spectrum *spectrum;
};

struct view_scout *view_scout_create(const struct sc_source_info *info)
{
  struct view_scout *scout = calloc(1, sizeof *scout);
  struct sc_spectrum_settings settings = {.sample_rate_hz = info->sample_rate_hz,
                                          .complex_input = true,
                                          .rbw_hz = rbw_hz,
                                          .window = SC_WINDOW_HANN,
                                          .overlap = -1};
  if (scout == NULL)
    return NULL;
  scout->rate_hz = info->sample_rate_hz;
  scout->left = (uint64_t)(look_s * info->sample_rate_hz);
  if (sc_spectrum_create(&settings, &scout->spectrum) == SC_OK)
    return scout;
  free(scout);
  return NULL;
}

bool view_scout_feed(struct view_scout *scout, const struct sc_block *block)
{
  sc_spectrum_feed(scout->spectrum, block->samples, block->frames, block->discontinuity);
  scout->left -= block->frames < scout->left ? block->frames : scout->left;
  return scout->left == 0;
}

struct sc_channel_guess view_scout_result(struct view_scout *scout)
{
  struct sc_trace trace;
  sc_spectrum_result(scout->spectrum, &trace);
  if (trace.points == 0)
    return (struct sc_channel_guess){.present = SC_UNKNOWN};
  return sc_channel_find(&trace, scout->rate_hz);
}

void view_scout_destroy(struct view_scout *scout)
{
  if (scout == NULL)
    return;
  sc_spectrum_destroy(scout->spectrum);
  free(scout);
}
