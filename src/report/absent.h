/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a section has no number for, in a sentence for each reason. */
#ifndef SIDECOMB_REPORT_ABSENT_H
#define SIDECOMB_REPORT_ABSENT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/fields.h>

#include "report/rows.h"

/* Whether people see the row at all: some are for the JSON only, and nothing is counted of what is
 * not there. */
bool report_is_shown(const struct sc_field *field, const void *base);

/* A yes or no that the row itself cannot tell is open, and stands in its own row. */
bool report_is_open(const struct sc_field *field, const struct sc_value *value);

/* What a row is called away from its place, in three pieces: "level" alone would be the level of
 * anything. The field is one of the section's. */
struct report_label {
  const char *above, *colon, *own;
};
struct report_label report_label(const struct sc_section *section, const struct sc_field *field);

/* Adds one sentence for all that is absent for the same reason. What tells more of an absent row,
 * or bounds it, goes without saying; of many rows the first few are named. */
void report_absent(struct report_rows *rows, const struct sc_section *section, const void *base);

#endif
