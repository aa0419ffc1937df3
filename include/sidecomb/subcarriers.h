/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of standard positions in the FM composite: where pilot, subcarriers and their
 * services stand. A position alone is no evidence: a line is not a pilot because it is near
 * 19 kHz. Frequencies in hertz; strings live as long as the program. */
#ifndef SIDECOMB_SUBCARRIERS_H
#define SIDECOMB_SUBCARRIERS_H

#include <stddef.h>

#include <sidecomb/api.h>

/* One standard position on the composite. */
struct sc_position {
  double position_hz;
  double lower_hz, upper_hz; /* what it occupies; equal to position_hz for a bare line */
  double tolerance_hz;       /* how far a line may sit and still be called by this name */
  const char *key;           /* short, for commands: "pilot", "rds" */
  const char *name;          /* "pilot", "data subcarrier (RDS)" */
  const char *injection;     /* customary injection in words, with its source */
  const char *source;        /* standard and clause, or "common practice, no source" */
};

/* By position; *count is set. */
SC_API const struct sc_position *sc_subcarriers(size_t *count);
/* The position nearest to |frequency_hz| (of two at the same distance the lower one) and, in
 * *distance_hz, |frequency_hz| minus that position. */
SC_API const struct sc_position *sc_subcarrier_nearest(double frequency_hz, double *distance_hz);

#endif
