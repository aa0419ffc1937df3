/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as people write them in the trade, and back. */
#ifndef SIDECOMB_VIEW_FORMAT_H
#define SIDECOMB_VIEW_FORMAT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/quantity.h>

enum { VIEW_NUMBER_LENGTH = 64 };

struct view_number {
  char text[VIEW_NUMBER_LENGTH];
};

/* Decimals that show two digits of an uncertainty: 0 to 6. Not finite: `otherwise`. */
int view_decimals(double uncertainty, int otherwise);
/* "19 000.012" with thousands apart; `sign`: a plus before positive values. */
struct view_number view_grouped(double value, int decimals, bool sign);
/* "+19 000.012 ±0.004 Hz", "19 000 Hz" without an uncertainty. */
struct view_number view_hertz(struct sc_quantity hz, bool sign);
/* "-26.42 dBc"; decimals follow the uncertainty, one at least, two at most. */
struct view_number view_decibels(struct sc_quantity level, const char *unit);
/* A frequency in the unit that suits it, for a table: "+19.000 kHz", "100.1 MHz", "47 Hz".
 * `resolution_hz` says which digits carry meaning. */
struct view_number view_frequency(double hz, double resolution_hz, bool sign);
/* "0.21 s", "12.3 s", "4:05.0", "1:02:03". */
struct view_number view_time(double seconds, double resolution_s);

/* "19k", "19 kHz", "100.1M", "+38000", "-1.5e3". False: not a frequency, *hz untouched. */
bool view_parse_frequency(const char *text, double *hz);
/* "2.5", "2.5 s", "300 ms", "1:23.5", "1:02:03". */
bool view_parse_time(const char *text, double *seconds);
/* A bare number, "dB" after it allowed. */
bool view_parse_level(const char *text, double *db);

/* Adds to the text in `out`; what does not fit is cut. */
void view_append(char *out, size_t size, const char *format, ...) SC_PRINTF(3, 4);

#endif
