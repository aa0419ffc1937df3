/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectra of a whole capture: the one on air, and one in the resolution of each mask. */
#ifndef SIDECOMB_ANALYSIS_AIR_H
#define SIDECOMB_ANALYSIS_AIR_H

#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/mask.h>
#include <sidecomb/spectrum.h>

/* With so many records side by side a bin's mean is known to 2 %, 0.09 dB; what is read from the
 * spectra (noise floors, occupied bandwidth, limits of what was not found) takes many bins
 * together. A burst that falls between two counts for nothing in a mean of so many, and for the
 * held maximum one of 16 records is taken at the least; masks have spectra of their own, of all
 * of the capture. */
enum { ANALYSIS_RECORDS_ENOUGH = 2500 };

enum sc_error analysis_air_create(const struct sc_source_info *info, struct sc_spectrum **spectrum);
enum sc_error analysis_mask_spectrum_create(const struct sc_source_info *info,
                                            const struct sc_mask *mask,
                                            struct sc_spectrum **spectrum);

#endif
