/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal is given back even when the program dies of a fault, and what libraries write
 * to standard error meanwhile is kept and comes out afterwards. */
#ifndef SIDECOMB_VIEW_RESCUE_H
#define SIDECOMB_VIEW_RESCUE_H

#include <stddef.h>

/* From now on, on a fatal signal: the terminal modes of `descriptor` as they are now, then
 * `restore` written to it, then the signal's usual end. Call before the modes change;
 * `restore` is copied. */
void view_rescue_arm(int descriptor, const char *restore, size_t length);
void view_rescue_disarm(void);

/* Standard error, where it is a terminal, goes to a file without a name ... */
void view_rescue_hold_errors(void);
/* ... and comes back, with what was written. */
void view_rescue_release_errors(void);

#endif
