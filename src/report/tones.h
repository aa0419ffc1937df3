/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Table of response and separation over frequency. */
#ifndef SIDECOMB_REPORT_TONES_H
#define SIDECOMB_REPORT_TONES_H

#include <stddef.h>

#include <sidecomb/audio.h>

#include "report/buffer.h"

/* Nothing where no tone of the test audio was measured. */
void report_tone_table(struct report_buffer *out, const struct sc_audio *audio, size_t width);

#endif
