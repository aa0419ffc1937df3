/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lists of RDS in the report, beside the fields of the tables. */
#ifndef SIDECOMB_REPORT_JSON_RDS_H
#define SIDECOMB_REPORT_JSON_RDS_H

#include <stdbool.h>

#include <jansson.h>

#include <sidecomb/rds.h>

/* Adds group_counts, af_mhz, eon, oda and rt_plus to `object`. False: out of memory. */
bool report_json_rds(json_t *object, const struct sc_rds *rds);

#endif
