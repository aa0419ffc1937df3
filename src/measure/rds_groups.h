/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Group decoder of RDS: what the groups say, once it is sure. Layouts of the groups from memory
 * (IEC 62106-2); every type is counted. */
#ifndef SIDECOMB_MEASURE_RDS_GROUPS_H
#define SIDECOMB_MEASURE_RDS_GROUPS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/rds.h>

#include "measure/rds_cells.h"

enum { MEASURE_RDS_AF_CODES = 256 };

struct measure_rds_af {
  struct measure_rds_cell seen[MEASURE_RDS_AF_CODES], low[MEASURE_RDS_AF_CODES];
  uint8_t order[SC_RDS_AF_LIST_MAX]; /* codes as they came first; those of low are in `is_low` */
  bool is_low[SC_RDS_AF_LIST_MAX];
  size_t count;
  uint8_t tuned;              /* first code after a list's length */
  unsigned pairs, with_tuned; /* of the list that is coming in */
  char method;                /* 0: open */
};

struct measure_rds_other {
  bool used;
  uint16_t pi;
  unsigned weight; /* of the name: seen in so many clean groups */
  struct measure_rds_text ps;
  struct measure_rds_cell pty, tp, ta;
  struct measure_rds_cell af[SC_RDS_OTHER_AF_MAX];
};

struct measure_rds_oda {
  struct measure_rds_cell message; /* with the group type above it */
  uint16_t id;
  bool used;
};

struct measure_rds_clock {
  double time_s;   /* of the group */
  int64_t minutes; /* since MJD 0 */
  int half_hours;
  bool known, confirmed;
};

struct measure_rds_groups {
  enum sc_rds_region region;
  uint64_t groups, counts[SC_RDS_GROUP_TYPES];
  struct measure_rds_cell pi;
  struct measure_rds_cell tp, pty, ta, music, di[4];
  struct measure_rds_text ps, rt, ptyn;
  int rt_flag, ptyn_flag; /* -1: none yet */
  int rt_version;         /* 0: 64 characters, 1: 32 */
  size_t rt_last;         /* highest segment since the text began */
  bool rt_round;          /* segments began anew */
  size_t rt_segment;
  struct measure_rds_cell ecc, language, pin;
  struct measure_rds_clock clock;
  struct measure_rds_af af;
  struct measure_rds_other others[SC_RDS_EON_MAX];
  struct measure_rds_oda oda[SC_RDS_ODA_MAX];
  struct measure_rds_cell tags; /* the 37 bits of RT+ */
};

void measure_rds_groups_start(struct measure_rds_groups *groups, enum sc_rds_region region);
void measure_rds_groups_take(struct measure_rds_groups *groups, const struct sc_rds_group *group);
void measure_rds_groups_result(const struct measure_rds_groups *groups, struct sc_rds_data *data);

/* rds_groups_more.c: what is not about this programme's own name. `weight` of blocks C and D. */
void measure_rds_af_take(struct measure_rds_af *af, uint16_t word, unsigned weight);
void measure_rds_clock_take(struct measure_rds_groups *groups, const struct sc_rds_group *group);
void measure_rds_oda_take(struct measure_rds_groups *groups, const uint16_t word[4],
                          unsigned weight);
void measure_rds_tags_take(struct measure_rds_groups *groups, unsigned type, const uint16_t word[4],
                           unsigned weight);
void measure_rds_other_take(struct measure_rds_groups *groups, const struct sc_rds_group *group);
void measure_rds_more_result(const struct measure_rds_groups *groups, struct sc_rds_data *data);

/* rds_region.c: whose tables hold, by the settings or by what was received into `data` so far. */
void measure_rds_region_result(const struct measure_rds_groups *groups, struct sc_rds_data *data);

/* Characters of RadioText so far: up to the highest segment that was seen. */
size_t measure_rds_rt_length(const struct measure_rds_groups *groups);
/* What a block's state is worth. */
unsigned measure_rds_weight(const struct sc_rds_group *group, unsigned first, unsigned second);

#endif
