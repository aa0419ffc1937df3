/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Words into lines: wrapping, and plain ASCII for terminals without UTF-8. */
#ifndef SIDECOMB_REPORT_LAYOUT_H
#define SIDECOMB_REPORT_LAYOUT_H

#include <stddef.h>

#include "report/buffer.h"

/* Characters of valid UTF-8; each counts one column. */
size_t report_columns(const char *text);

/* Prints `text` word by word from column `column` on; lines that follow start at `indent` and
 * none exceeds `width` unless a word does. Ends with a newline. */
void report_wrap(struct report_buffer *out, const char *text, size_t column, size_t indent,
                 size_t width);

/* Text padded with blanks to `columns`, on the right (left-aligned) or on the left. */
void report_left(struct report_buffer *out, const char *text, size_t columns);
void report_right(struct report_buffer *out, const char *text, size_t columns);

/* Rewrites valid UTF-8 in place with ASCII look-alikes; never longer. */
void report_to_ascii(char *text);

#endif
