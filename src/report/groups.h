/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The groups of RDS as they came: a table, and the same as JSON. */
#ifndef SIDECOMB_REPORT_GROUPS_H
#define SIDECOMB_REPORT_GROUPS_H

#include <stddef.h>

#include <sidecomb/rds.h>

#include "report/buffer.h"
#include "report/json_write.h"

/* Nothing where no list was asked for. */
void report_group_table(struct report_buffer *out, const struct sc_rds_listing *listing,
                        size_t width);
/* Puts raw_groups and raw_groups_earlier into `object`, or the reason into its `why`. */
void report_json_groups(struct report_json *json, json_t *object,
                        const struct sc_rds_listing *listing);

#endif
