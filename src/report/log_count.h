/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What both forms of a log share: a line's count and its verdict. */
#ifndef SIDECOMB_REPORT_LOG_COUNT_H
#define SIDECOMB_REPORT_LOG_COUNT_H

#include <sidecomb/log.h>

void report_log_count(struct sc_log *log, const struct sc_result *result);
/* Of all limits together; SC_YES where there are none. */
enum sc_truth report_log_judge(const struct sc_log *log, const struct sc_result *result);
const char *report_log_verdict(enum sc_truth kept);

#endif
