/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The answers to what is asked first, in a dozen rows. */
#ifndef SIDECOMB_REPORT_BRIEF_H
#define SIDECOMB_REPORT_BRIEF_H

#include <stddef.h>

#include <sidecomb/report.h>

#include "report/buffer.h"

/* Prints what is not explained, what was found in each part of the signal, and which limits are not
 * kept: those given, else those that the standards set. Every number of it stands in a section
 * below, with all of its digits. Nothing where nothing was measured. */
void report_brief(struct report_buffer *out, const struct sc_result *result,
                  const struct sc_report_settings *settings, size_t label_columns, size_t width);

#endif
