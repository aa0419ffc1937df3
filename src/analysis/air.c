/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of the spectra of a whole capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/air.h"

#include "dsp/window.h"

/* A power of two is transformed in two thirds of the time of its neighbours. */
enum { AIR_POINTS = 4096 };

enum sc_error analysis_air_create(const struct sc_source_info *info, struct sc_spectrum **spectrum)
{
  const double rate = info->sample_rate_hz;
  const double bins = dsp_window_noise_bandwidth(SC_WINDOW_BLACKMAN_HARRIS, 0);
  const struct sc_spectrum_settings settings = {.sample_rate_hz = rate,
                                                .complex_input = true,
                                                .rbw_hz = bins * rate / AIR_POINTS,
                                                .window = SC_WINDOW_BLACKMAN_HARRIS,
                                                .overlap = 0.5,
                                                .records_enough = ANALYSIS_RECORDS_ENOUGH,
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
