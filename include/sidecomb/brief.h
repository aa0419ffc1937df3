/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The answers to what is asked first, in a dozen rows: what nothing explains, what was found in
 * each part of the signal, and which limits are not kept. Every number of a row is a member of the
 * result, where its uncertainty stands; here it has the digits that the uncertainty deserves.
 */
#ifndef SIDECOMB_BRIEF_H
#define SIDECOMB_BRIEF_H

#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/limits.h>
#include <sidecomb/result.h>

enum { SC_BRIEF_ROWS_MAX = 16, SC_BRIEF_TEXT_LENGTH = 1000 };

struct sc_brief_row {
  const char *label;               /* a leading blank: it tells more of the row above */
  char text[SC_BRIEF_TEXT_LENGTH]; /* UTF-8, free of control characters */
};

struct sc_brief {
  struct sc_brief_row rows[SC_BRIEF_ROWS_MAX];
  size_t count;
};

/* limits: NULL: those that the standards set. No rows where nothing was measured; what this
 * capture cannot tell has none. */
SC_API void sc_brief_make(const struct sc_result *result, const struct sc_limits *limits,
                          struct sc_brief *brief);

#endif
