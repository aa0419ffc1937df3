/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From decisions to groups: differential decoding, block synchronisation, correction.
 *
 * In step when 5 of 27 blocks in a row show their offset words each at its place, or 4 in a row do
 * (noise does that less than once in 1e6 records of 10 s, computed); out of step when fewer than 3
 * of the last 52 do. The search never stops, so that a slipped bit is found as soon as the other
 * place has more. What was received before is decoded afterwards.
 *
 * A wrong block is corrected where a burst of up to 5 bits (the standard's limit) explains it and
 * the decisions that it turns over were weak ones: together below 0.9 of a mean decision. That
 * keeps out most of the false corrections that the code alone would make (36 % of random blocks).
 */
#ifndef SIDECOMB_MEASURE_RDS_SYNC_H
#define SIDECOMB_MEASURE_RDS_SYNC_H

#include <stdbool.h>
#include <stdint.h>

#include <sidecomb/rds.h>

#include "measure/rds_code.h"

enum { MEASURE_RDS_RING = 1024, MEASURE_RDS_HITS = 64, MEASURE_RDS_WATCHED = 52 };

struct measure_rds_hit {
  uint64_t end; /* index of the block's last decision */
  uint8_t place;
};

typedef void measure_rds_take(void *context, const struct sc_rds_group *group);

struct measure_rds_sync {
  measure_rds_take *take;
  void *context;
  struct measure_rds_bursts bursts;
  float soft[MEASURE_RDS_RING];
  double ends_s[MEASURE_RDS_RING]; /* of the decisions */
  uint64_t count, valid_from;      /* decisions so far; the first since the last gap */
  uint32_t window;
  struct measure_rds_hit hits[MEASURE_RDS_HITS];
  uint64_t hit_count;
  bool locked;
  uint64_t next_end, taken_end; /* of the next block; of the last one taken */
  unsigned place;
  struct sc_rds_group group;
  bool recent[MEASURE_RDS_WATCHED]; /* which of the last blocks were clean */
  unsigned watched;
  uint64_t blocks, corrected, lost;
};

void measure_rds_sync_start(struct measure_rds_sync *sync, measure_rds_take *take, void *context);
/* One decision before differential decoding; its size is how sure it is. `time_s`: its end. */
void measure_rds_sync_feed(struct measure_rds_sync *sync, float soft, double time_s);
/* After a gap. */
void measure_rds_sync_break(struct measure_rds_sync *sync);

#endif
