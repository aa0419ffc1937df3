/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Levels in dBm, where the user knows what full scale stands for. */
#ifndef SIDECOMB_ANALYSIS_ABSOLUTE_H
#define SIDECOMB_ANALYSIS_ABSOLUTE_H

#include <sidecomb/analysis.h>

/* Of the carrier, of the lines on air, and of the strongest unwanted one. */
void analysis_absolute(const struct sc_analysis_settings *settings, struct sc_result *result);

#endif
