/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectra of a whole capture: the one on air, and one in the resolution of each mask. */
#ifndef SIDECOMB_ANALYSIS_AIR_H
#define SIDECOMB_ANALYSIS_AIR_H

#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/mask.h>
#include <sidecomb/spectrum.h>

enum sc_error analysis_air_create(const struct sc_source_info *info, struct sc_spectrum **spectrum);
enum sc_error analysis_mask_spectrum_create(const struct sc_source_info *info,
                                            const struct sc_mask *mask,
                                            struct sc_spectrum **spectrum);

#endif
