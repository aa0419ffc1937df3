/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A result as text for people, or as JSON for programs.
 *
 * The JSON is one object, schema "sidecomb-report/1". Absent quantities are null, and the
 * object `why` beside them says for each null key the reason. Every estimate `x_unit` has
 * `x_uncertainty_unit` (k = 1) beside it.
 */
#ifndef SIDECOMB_REPORT_H
#define SIDECOMB_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/limits.h>
#include <sidecomb/result.h>

#define SC_REPORT_SCHEMA "sidecomb-report/1"

struct sc_report_settings {
  unsigned width;   /* columns of the text; 0: 80; at least 40 are used */
  bool utf8;        /* false: plain ASCII */
  size_t lines_max; /* strongest lines shown of each table; 0: all (the JSON has all) */
  const struct sc_limits *limits; /* judged and shown; NULL: none */
};

/* Both allocate *text, which the caller frees with free(); NULL after SC_NO_MEMORY. It is free of
 * control characters but newlines and valid in its encoding, whatever the result holds. */
SC_API SC_MUST_USE enum sc_error sc_report_text(const struct sc_result *result,
                                                const struct sc_report_settings *settings,
                                                char **text);
/* No newline at the end. */
SC_API SC_MUST_USE enum sc_error sc_report_json(const struct sc_result *result,
                                                const struct sc_report_settings *settings,
                                                char **text);

#endif
