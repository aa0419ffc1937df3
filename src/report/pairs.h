/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Table of both sides of the carrier. */
#ifndef SIDECOMB_REPORT_PAIRS_H
#define SIDECOMB_REPORT_PAIRS_H

#include <stddef.h>

#include <sidecomb/result.h>

#include "report/buffer.h"

/* The `most` strongest pairs (0: all) and every one that is no FM alone, by distance from the
 * carrier. Nothing where no pair was divided. */
void report_pair_table(struct report_buffer *out, const struct sc_line_list *list, size_t most,
                       size_t width);

#endif
