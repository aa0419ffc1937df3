/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Instants of UTC as text (the profile of ISO 8601 in RFC 3339, with Z). */
#ifndef SIDECOMB_SIGNAL_INSTANT_H
#define SIDECOMB_SIGNAL_INSTANT_H

#include <stdbool.h>
#include <stdint.h>

/* "2031-05-17T09:30:00Z" to seconds since 1970; years 1900 to 2099. */
bool signal_instant_parse(const char *text, int64_t *seconds);

enum { SIGNAL_INSTANT_LENGTH = 20 };
/* The way back, in the same years. */
void signal_instant_print(int64_t seconds, char text[SIGNAL_INSTANT_LENGTH + 1]);

#endif
