/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of the spectra of a whole capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/air.h"

#include "dsp/window.h"

/* A power of two is transformed in two thirds of the time of its neighbours. */
enum { AIR_POINTS = 4096 };
/* With so many records side by side a bin's mean is known to 2 %, 0.09 dB. Overlap would make 1.4 %
 * of it, for twice the transforms; what is read from this spectrum (noise floors, occupied
 * bandwidth, limits of what was not found) takes many bins together. A burst that lasts for less
 * than a record and falls between two is weighed down, but in a mean of so many it counts for
 * nothing; masks, which may look for bursts, have spectra of their own. */
static const double records_enough = 2500;

static double overlap(uint64_t expected_frames)
{
  return (double)expected_frames >= records_enough * AIR_POINTS ? 0 : 0.5;
}

enum sc_error analysis_air_create(const struct sc_source_info *info, struct sc_spectrum **spectrum)
{
  const double rate = info->sample_rate_hz;
  const double bins = dsp_window_noise_bandwidth(SC_WINDOW_BLACKMAN_HARRIS, 0);
  const struct sc_spectrum_settings settings = {.sample_rate_hz = rate,
                                                .complex_input = true,
                                                .rbw_hz = bins * rate / AIR_POINTS,
                                                .window = SC_WINDOW_BLACKMAN_HARRIS,
                                                .overlap = overlap(info->frames),
                                                .expected_frames = info->frames};
  return sc_spectrum_create(&settings, spectrum);
}

enum sc_error analysis_mask_spectrum_create(const struct sc_source_info *info,
                                            const struct sc_mask *mask,
                                            struct sc_spectrum **spectrum)
{
  const struct sc_spectrum_settings settings = {.sample_rate_hz = info->sample_rate_hz,
                                                .complex_input = true,
                                                .rbw_hz = mask->resolution_hz,
                                                .window = SC_WINDOW_FLAT_TOP,
                                                .overlap = -1,
                                                .expected_frames = info->frames};
  return sc_spectrum_create(&settings, spectrum);
}
