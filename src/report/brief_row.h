/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files share that say answers in short: words of a row, and the rows of lines. */
#ifndef SIDECOMB_REPORT_BRIEF_ROW_H
#define SIDECOMB_REPORT_BRIEF_ROW_H

#include <sidecomb/brief.h>

/* Appends to the row's text; what has no room is cut off. */
SC_PRINTF(2, 3) void report_brief_add(struct sc_brief_row *row, const char *format, ...);
/* A measured quantity, with as many digits as its uncertainty deserves, `decimals` where it has
 * none; the uncertainty itself stands below. */
void report_brief_quantity(struct sc_brief_row *row, struct sc_quantity quantity, int decimals,
                           const char *unit);

/* Lines on air, and of the composite, that nothing explains. */
void report_brief_air(struct sc_brief_row *row, const struct sc_result *result);
void report_brief_composite(struct sc_brief_row *row, const struct sc_result *result);

#endif
