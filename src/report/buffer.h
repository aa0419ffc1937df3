/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows in memory. A failed allocation is remembered and ends the growing; it is asked
 * for once, at the end. */
#ifndef SIDECOMB_REPORT_BUFFER_H
#define SIDECOMB_REPORT_BUFFER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>

/* Zero-initialise. */
struct report_buffer {
  char *text; /* ended by 0; NULL while nothing was added */
  size_t used, size;
  bool failed;
};

void report_add(struct report_buffer *buffer, const char *format, ...) SC_PRINTF(2, 3);
/* The text, to be freed by the caller, or NULL when memory failed. The buffer is empty then. */
char *report_take(struct report_buffer *buffer);

#endif
