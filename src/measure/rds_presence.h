/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether there is a suppressed carrier near 57 kHz with a bit clock of its 48th part.
 *
 * The square of the matched filter's output is, for such a signal, a line at twice the
 * subcarrier's offset and two more a bit clock above and below (W. A. Gardner, IEEE Signal
 * Processing Magazine 8, 1991, on cyclostationary signals). Both of the two must stand together,
 * at places that one offset explains, out of what is measured beside them; the middle one alone,
 * which any double side band has, is no evidence. */
#ifndef SIDECOMB_MEASURE_RDS_PRESENCE_H
#define SIDECOMB_MEASURE_RDS_PRESENCE_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

#include "measure/rds_band.h"

enum {
  MEASURE_RDS_SLICE_BITS = 15,
  MEASURE_RDS_SLICES = 1024,
  MEASURE_RDS_PADDED = 4 * MEASURE_RDS_SLICES
};

struct measure_rds_finding {
  size_t slices; /* 0: nothing looked at */
  double ratio;  /* weaker of the two lines over the noise beside them */
  bool found;
  double offset_hz, offset_uncertainty_hz; /* of the subcarrier from 57 kHz */
  double amplitude, amplitude_uncertainty; /* of the pulse w(x) in the composite */
  double limit;                            /* amplitude that would be found with 99 % probability */
};

struct measure_rds_presence;
enum sc_error measure_rds_presence_create(struct measure_rds_presence **presence);
/* Goes on to what the band holds; the time before which it needs nothing any more. */
double measure_rds_presence_run(struct measure_rds_presence *presence,
                                const struct measure_rds_band *band);
/* After a gap the record begins anew. */
void measure_rds_presence_break(struct measure_rds_presence *presence);
/* The limit of the longest record, were there nothing but noise of that power at the matched
 * filter's output. */
double measure_rds_presence_limit(const struct measure_rds_presence *presence, double noise);
/* The best record so far; the limit is that of the longest. */
struct measure_rds_finding measure_rds_presence_result(struct measure_rds_presence *presence);
void measure_rds_presence_destroy(struct measure_rds_presence *presence);

#endif
