/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that grow in memory. */
#ifndef SIDECOMB_REPORT_ROWS_H
#define SIDECOMB_REPORT_ROWS_H

#include <sidecomb/rows.h>

#include "report/buffer.h"

/* Zero-initialise. A failed allocation is remembered. */
struct report_rows {
  struct sc_row *at;
  size_t count, size;
  bool failed;
};

/* Adds a row with a clean copy of `text`. */
void report_row(struct report_rows *rows, struct sc_row row, const char *text);
/* The same with what the buffer holds, which is empty then. */
void report_row_take(struct report_rows *rows, struct sc_row row, struct report_buffer *text);

#endif
