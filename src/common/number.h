/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A number as text. */
#ifndef SIDECOMB_COMMON_NUMBER_H
#define SIDECOMB_COMMON_NUMBER_H

#include <stdbool.h>

enum { COMMON_NUMBER_LENGTH = 24 };

struct common_number {
  char text[COMMON_NUMBER_LENGTH];
};

/* "-12.30"; `sign`: with a plus what is above zero. What rounds to zero has no sign, since "-0.0"
 * would tell of a side that the digits do not show. Too long for `text`, or no number: as %g. */
struct common_number common_number(double value, int decimals, bool sign);

#endif
