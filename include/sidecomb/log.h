/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Repeated measurements as lines for other programs: chosen quantities of each result, as CSV (RFC
 * 4180, with a heading) or as one JSON object a line, and what they amount to at the end.
 *
 * A quantity goes by the keys of the JSON report, section, dot, key; its uncertainty stands beside
 * it. What was not measured is an empty cell, or null.
 */
#ifndef SIDECOMB_LOG_H
#define SIDECOMB_LOG_H

#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/fields.h>
#include <sidecomb/limits.h>
#include <sidecomb/result.h>

enum { SC_LOG_COLUMNS_MAX = 48 };

/* What the lines so far amount to, for one column of numbers. */
struct sc_log_tally {
  uint64_t measured; /* in so many lines */
  double least, most, sum;
};

struct sc_log {
  struct {
    const struct sc_section *section;
    const struct sc_field *field;
  } columns[SC_LOG_COLUMNS_MAX];
  size_t count;
  const struct sc_limits *limits; /* judged in every line; NULL: none */
  struct sc_log_tally tallies[SC_LOG_COLUMNS_MAX];
  uint64_t failures[SC_LIMITS_MAX], open[SC_LIMITS_MAX]; /* of each limit, in lines */
  uint64_t lines, failed_lines, open_lines;
  uint64_t unmeasured_lines;  /* whose result says that it could not be measured, ... */
  const char *unmeasured_why; /* ... and why the first could not; NULL: none */
};

/* Columns by their keys, parted by commas; NULL: what is usual for the kind of capture. The keys
 * of `limits` (the caller's, may be NULL) follow. SC_BAD_ARGUMENT with a message: a key that no
 * quantity has, or too many. */
SC_API SC_MUST_USE enum sc_error sc_log_begin(struct sc_log *log, const char *keys,
                                              enum sc_kind kind, const struct sc_limits *limits,
                                              struct sc_message *message);
/* Whether a column needs the search for lines, which costs most of a measurement. */
SC_API bool sc_log_needs_lines(const struct sc_log *log);

/* Each allocates *text, to be freed by the caller; a line with its newline. SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_log_heading(const struct sc_log *log, char **text);
/* `utc`: when the line was measured, NULL: unknown. Both also count the line. */
SC_API SC_MUST_USE enum sc_error sc_log_csv(struct sc_log *log, double start_s, const char *utc,
                                            const struct sc_result *result, char **text);
SC_API SC_MUST_USE enum sc_error sc_log_json(struct sc_log *log, double start_s, const char *utc,
                                             const struct sc_result *result, char **text);
/* Sentences for people, and one JSON object with its newline. */
SC_API SC_MUST_USE enum sc_error sc_log_summary(const struct sc_log *log, char **text);
SC_API SC_MUST_USE enum sc_error sc_log_summary_json(const struct sc_log *log, char **text);

#endif
