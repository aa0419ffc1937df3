/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain sentences about a capture, and names of files as they may be shown. */
#ifndef SIDECOMB_CAPTURE_NOTICE_H
#define SIDECOMB_CAPTURE_NOTICE_H

#include <stddef.h>

#include <sidecomb/capture.h>

/* Adds a sentence, cleaned; when the list is full it is dropped. */
void capture_notice(struct sc_notices *notices, const char *format, ...) SC_PRINTF(2, 3);

enum { CAPTURE_SHOWN_LENGTH = 192 };
/* A path for messages: clean, and where it is long its end, which tells most. `out` holds
 * CAPTURE_SHOWN_LENGTH bytes and is returned. */
const char *capture_shown(char *out, const char *path);

#endif
