/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of lines, on air and on the composite. */
#ifndef SIDECOMB_REPORT_TABLE_H
#define SIDECOMB_REPORT_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/result.h>

#include "report/buffer.h"

/* Nothing explains the line, and the receiver did not make it. */
bool report_line_is_open(const struct sc_line *line);
/* The `most` strongest lines (0: all) in the order of frequency, `width` columns. */
void report_air_table(struct report_buffer *out, const struct sc_line_list *list, size_t most,
                      size_t width);
/* The lines of the composite, or of the audio. */
void report_composite_table(struct report_buffer *out, const struct sc_result *result, size_t most,
                            size_t width);

#endif
