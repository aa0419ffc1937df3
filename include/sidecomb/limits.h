/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits for the numbers of a report: read from text, judged one by one. A limit that is kept is
 * a measurement, never a certificate.
 *
 * One limit a line, '#' begins a comment, what follows ';' is the limit's source:
 *
 *     pilot.deviation_khz   from 6 to 7.5       ; 47 CFR 73.322(a)(2)
 *     pilot.frequency_error_hz  within 2        ; to either side of 0
 *     deviation.peak_khz    at most 75
 *     carrier.cnr_db        at least 40
 *     pilot.present         is yes
 *
 * The first word is the key of the JSON report: section, dot, key. Numbers are in the unit that
 * ends the key and may carry k, M or G.
 */
#ifndef SIDECOMB_LIMITS_H
#define SIDECOMB_LIMITS_H

#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/fields.h>
#include <sidecomb/quantity.h>
#include <sidecomb/result.h>

enum { SC_LIMITS_MAX = 64, SC_LIMIT_SOURCE_LENGTH = 120 };

struct sc_limit {
  const struct sc_section *section;
  const struct sc_field *field;
  double lower, upper;  /* of a number; -INFINITY and INFINITY: no bound */
  enum sc_truth wanted; /* of a yes or no; SC_UNKNOWN for a number */
  char source[SC_LIMIT_SOURCE_LENGTH];
};

struct sc_limits {
  struct sc_limit limits[SC_LIMITS_MAX];
  size_t count;
};

/* `name` stands in the message, with the number of the line. SC_BAD_FORMAT for what is no limit,
 * SC_BAD_ARGUMENT never. */
SC_API SC_MUST_USE enum sc_error sc_limits_parse(const char *text, const char *name,
                                                 struct sc_limits *limits,
                                                 struct sc_message *message);

/* Limits in this language that the standards set, each with its source: carrier frequency, peak
 * deviation, composite power, pilot, residual subcarrier. */
SC_API const char *sc_limits_standard(void);

/* SC_YES: kept; SC_NO: not kept; SC_UNKNOWN: open, and `why` says why: the number was not measured,
 * or it goes by a sample clock whose uncertainty nobody stated, or is so large that the verdict
 * would not be sure, or what may be hidden does not keep the limit. `bound`, where its field is not
 * NULL, is what was judged in place of a number that was not seen: it is no less, or no more.
 * `margin` is the distance to the nearer end of the limit, positive inside; NAN where nothing was
 * judged. A margin below twice the uncertainty is no sure verdict either way, and `sure` is false.
 */
struct sc_limit_verdict {
  enum sc_truth kept;
  struct sc_value value;
  struct sc_value bound;
  const char *why;
  double margin;
  bool sure;
};
SC_API struct sc_limit_verdict sc_limit_judge(const struct sc_limit *limit,
                                              const struct sc_result *result);

#endif
