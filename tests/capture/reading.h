/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and reading a container, as most tests of this room do. */
#ifndef SIDECOMB_TESTS_CAPTURE_READING_H
#define SIDECOMB_TESTS_CAPTURE_READING_H

#include <stddef.h>

#include "capture/container.h"

/* Must succeed. type may be NULL, rate 0. */
struct capture *reading_open(const char *path, const char *type, double rate_hz);
/* Must fail with this code and one line that holds `part`. */
void reading_refused(const char *path, const char *type, double rate_hz, enum sc_error code,
                     const char *part);
/* Reads up to `frames` frames in as many calls as it takes; returns how many came. */
size_t reading_frames(struct capture *capture, float *samples, size_t frames);
/* Whether one of the notices holds `part`. */
bool reading_noticed(const struct capture *capture, const char *part);
/* Fails unless `text` is one printable line. */
void reading_check_line(const char *text);

#endif
