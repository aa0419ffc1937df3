/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A measured trace as the extent that it has in each column of a picture, and round numbers. */
#ifndef SIDECOMB_COMMON_CURVE_H
#define SIDECOMB_COMMON_CURVE_H

#include <sidecomb/spectrum.h>

/* Fills low[] and high[] (`columns` each) with the lowest and highest level of
 * `power` within each column from low_hz to high_hz, in dB plus `offset_db`; between points that
 * stand wider than columns it goes straight. NAN where the trace has nothing. */
void common_curve(const struct sc_trace *trace, const float *power, double low_hz, double high_hz,
                  double offset_db, int columns, float *low, float *high);

/* 1, 2 or 5 times a power of ten, the smallest that divides `range` into at most `most` parts. */
double common_round_step(double range, int most);

#endif
