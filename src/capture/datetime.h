/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Times of day as SigMF writes them: ISO 8601 in UTC, "2026-01-31T23:59:59.25Z". */
#ifndef SIDECOMB_CAPTURE_DATETIME_H
#define SIDECOMB_CAPTURE_DATETIME_H

#include <stdbool.h>
#include <time.h>

#include <sidecomb/capture.h>

/* Seconds since 1970 as such a text, with as many decimals, 0 to 9. False: beyond the calendar. */
bool capture_datetime_write(const struct timespec *time, int decimals,
                            char out[SC_DATETIME_LENGTH]);
/* `text`, later by so many seconds; as it is when that is 0. False, and `out` empty: it is no such
 * text, or longer than nanoseconds make it. */
bool capture_datetime_move(const char *text, double by_s, char out[SC_DATETIME_LENGTH]);

#endif
