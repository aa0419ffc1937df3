/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mains hum among the lines of a composite, by which silence with hum is told from a programme. */
#ifndef SIDECOMB_ANALYSIS_HUM_H
#define SIDECOMB_ANALYSIS_HUM_H

#include <sidecomb/result.h>

/* Mean square in kHz^2 of the weak lines at the first multiples of 50 or 60 Hz, whichever is more,
 * where the strongest of them is the first or the second; 0: none, or the scale is not known. */
double analysis_hum_power(const struct sc_line_list *composite_lines);

#endif
