/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole records through the RDS meter. */
#ifndef SIDECOMB_TESTS_MEASURE_RDS_RECORD_H
#define SIDECOMB_TESTS_MEASURE_RDS_RECORD_H

#include <sidecomb/rds.h>
#include <sidecomb/scenario.h>

#include "measure/rds_signal.h"

enum { RDS_RECORD_GROUPS = 256, RDS_RECORD_FRAMES = 10 * 192000 };

struct rds_record {
  double seconds;
  double gap_s; /* > 0: half a second is missing there */
  enum sc_rds_region region;
  struct sc_rds rds;
  struct sc_rds_group groups[RDS_RECORD_GROUPS]; /* the latest */
  size_t group_count;
};

/* Of a composite of 192 kS/s made straight. */
void rds_record_signal(struct rds_signal *signal, struct rds_record *record);
/* Of a scenario: a composite, with noise of N0 / C = `noise_ratio` added; or IQ, whose noise is the
 * scenario's own, through channel filter and discriminator. */
void rds_record_scenario(const struct sc_scenario *scenario, double noise_ratio,
                         struct rds_record *record);

/* The two halves of that: a composite without noise, of at most RDS_RECORD_FRAMES, returns its
 * frames; and a record of it with noise. */
size_t rds_record_make(const struct sc_scenario *scenario, double seconds, float *khz);
void rds_record_made(const float *khz, size_t frames, double noise_ratio, uint64_t seed,
                     struct rds_record *record);

/* A composite of 192 kS/s, or IQ of 384 kS/s, with pilot and without data. `more` is the text of
 * further assignments. */
struct sc_scenario rds_scenario(enum sc_scenario_what what, const char *more);

#endif
