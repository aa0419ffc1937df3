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
/* What stands above a table, of one of the result's two lists: its title, and how its lines were
 * searched for, or why not. */
const char *report_table_title(const struct sc_result *result, const struct sc_line_list *list);
void report_table_sentence(struct report_buffer *out, const struct sc_line_list *list);
/* The `most` strongest lines (0: all) in the order of frequency, `width` columns; nothing where
 * there is none. */
void report_line_table(struct report_buffer *out, const struct sc_result *result,
                       const struct sc_line_list *list, size_t most, size_t width);

#endif
