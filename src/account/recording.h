/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said first of a recording of a radio's output, whatever sounds in it. */
#ifndef SIDECOMB_ACCOUNT_RECORDING_H
#define SIDECOMB_ACCOUNT_RECORDING_H

#include <stddef.h>

#include <sidecomb/result.h>

/* Silence, a channel without sound, tops that are cut off, and lines of the mains: clauses that
 * begin with "; ", nothing where there is none of them. */
void account_recording_words(const struct sc_result *result, char *text, size_t size);

#endif
