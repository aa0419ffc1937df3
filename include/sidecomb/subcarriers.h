/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of standard positions in the FM composite, and labels by evidence. */
#ifndef SIDECOMB_SUBCARRIERS_H
#define SIDECOMB_SUBCARRIERS_H

#include <stddef.h>

#include <sidecomb/api.h>

/* One standard position on the composite. */
struct sc_subcarrier {
  double position_hz;
  double lower_hz, upper_hz; /* what it occupies; equal to position_hz for a bare line */
  double tolerance_hz;       /* how far a line may sit and still be called by this name */
  const char *key;           /* short, for commands: "pilot", "rds" */
  const char *name;          /* "pilot", "data subcarrier (RDS)" */
  const char *injection;     /* customary injection in words, with its source */
  const char *source;        /* standard and clause, or "common practice, no source" */
};

/* By position; *count is set. */
SC_API const struct sc_subcarrier *sc_subcarriers(size_t *count);
/* The position nearest to |frequency_hz| and, in *distance_hz, how far it is (signed). */
SC_API const struct sc_subcarrier *sc_subcarrier_nearest(double frequency_hz, double *distance_hz);

#endif
