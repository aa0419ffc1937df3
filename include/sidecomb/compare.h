/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Captures side by side: before and after a repair, steps of power, a unit that is known to be
 * good. Every number of a result against the first capture's, and whether they differ by more
 * than their uncertainties allow.
 *
 * Two numbers differ when |b - a| > k sqrt(u_a^2 + u_b^2) (JCGM 100:2008, 5.1.2, inputs taken as
 * independent). k is chosen so that captures of one and the same signal show any difference at
 * all in one comparison of a hundred, were the errors normal (Bonferroni's inequality over all
 * that is compared). What both captures share, the receiver's clock for one, makes the
 * uncertainties too wide for a difference, never too narrow.
 *
 * Lines are paired by offset: within the coarser of the two resolutions, or k times the
 * uncertainty of their distance. A line that is missing in one capture is a difference where that
 * search would have found it, its amplitude being k of its uncertainties above the threshold; else
 * it was found in some captures only, near the limit of detection.
 */
#ifndef SIDECOMB_COMPARE_H
#define SIDECOMB_COMPARE_H

#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/fields.h>
#include <sidecomb/report.h>
#include <sidecomb/result.h>

#define SC_COMPARISON_SCHEMA "sidecomb-comparison/1"

enum { SC_COMPARED_MAX = 8 };

/* How a row stands. */
enum sc_likeness {
  SC_LIKE_SAME,      /* within the uncertainty; words: equal */
  SC_LIKE_DIFFERENT, /* at least one capture differs from the first */
  SC_LIKE_UNJUDGED,  /* numbers without a stated uncertainty that are not equal */
  SC_LIKE_PARTLY     /* in some of the captures only, which proves no difference */
};
SC_API const char *sc_likeness_name(enum sc_likeness likeness);

/* One quantity or word of the report. */
struct sc_compared {
  const struct sc_section *section;
  const struct sc_field *field;
  struct sc_value value[SC_COMPARED_MAX];
  struct sc_quantity difference[SC_COMPARED_MAX]; /* from the first; [0] says why not */
  bool differs[SC_COMPARED_MAX];
  enum sc_likeness likeness;
};

/* One line on air, or of the composite. NULL: not found in that capture. */
struct sc_compared_line {
  double offset_hz;
  const struct sc_line *line[SC_COMPARED_MAX];
  struct sc_quantity difference_db[SC_COMPARED_MAX];
  bool differs[SC_COMPARED_MAX];
  double contrast_db; /* largest change of level; of a missing line, how far it stood above the
                         threshold of detection */
  enum sc_likeness likeness;
};

struct sc_compared_lines {
  struct sc_compared_line *lines; /* by offset */
  size_t count;
};

struct sc_comparison {
  const struct sc_result *results[SC_COMPARED_MAX]; /* the caller's; must outlive it */
  size_t captures;
  double sigmas;            /* k */
  struct sc_compared *rows; /* in the order of the report */
  size_t row_count;
  struct sc_compared_lines air, composite;
};

/* SC_BAD_ARGUMENT: fewer than two results or more than SC_COMPARED_MAX, or of different kinds
 * (see result->capture.info.kind). Free with sc_comparison_clear. */
SC_API SC_MUST_USE enum sc_error sc_compare(const struct sc_result *const *results, size_t count,
                                            struct sc_comparison *comparison);
SC_API void sc_comparison_clear(struct sc_comparison *comparison);

/* As sc_report_text and sc_report_json. settings->limits is not used. */
SC_API SC_MUST_USE enum sc_error sc_comparison_text(const struct sc_comparison *comparison,
                                                    const struct sc_report_settings *settings,
                                                    char **text);
SC_API SC_MUST_USE enum sc_error sc_comparison_json(const struct sc_comparison *comparison,
                                                    char **text);

#endif
