/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Windows in their periodic (DFT-even) form; coefficients and figures in spectrum.h's terms. */
#ifndef SIDECOMB_DSP_WINDOW_H
#define SIDECOMB_DSP_WINDOW_H

#include <stddef.h>

#include <sidecomb/spectrum.h>

void dsp_window_fill(enum sc_window window, double parameter, size_t n, double *out);

#endif
