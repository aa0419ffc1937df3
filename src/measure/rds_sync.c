/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Block synchronisation of RDS, and what is done with a block that is in its place. */
#include "measure/rds_sync.h"

#include <math.h>
#include <string.h>

enum {
  BITS = MEASURE_RDS_BLOCK_BITS,
  REACH = 26,          /* blocks looked back on */
  ENOUGH = 4,          /* earlier hits of those */
  ENOUGH_IN_A_ROW = 3, /* earlier hits of the three blocks before */
  KEEP = 3             /* clean ones of the last MEASURE_RDS_WATCHED */
};

static const double weak_enough = 0.9; /* sum of turned decisions, of a mean one */

void measure_rds_sync_start(struct measure_rds_sync *sync, measure_rds_take *take, void *context)
{
  memset(sync, 0, sizeof *sync);
  sync->take = take;
  sync->context = context;
  measure_rds_bursts_fill(&sync->bursts);
}

void measure_rds_sync_break(struct measure_rds_sync *sync)
{
  sync->locked = false;
  sync->valid_from = sync->count;
  sync->hit_count = 0;
}

static float soft_at(const struct measure_rds_sync *s, uint64_t index)
{
  return s->soft[index % MEASURE_RDS_RING];
}

/* The 26 differentially decoded bits that end with decision `end`. */
static uint32_t block_at(const struct measure_rds_sync *s, uint64_t end)
{
  uint32_t block = 0;
  for (uint64_t i = end - BITS + 1; i <= end; i++)
    block = block << 1 | ((soft_at(s, i) < 0) != (soft_at(s, i - 1) < 0));
  return block;
}

/* ---- correction */

/* Cost of turning decisions so that the pattern's bits change: from the left edge on when
 * `carry`. A pattern of odd weight turns all decisions on one side of it. */
static double cost_of(const struct measure_rds_sync *s, uint64_t end, uint32_t pattern, bool carry)
{
  bool turned = carry;
  double cost = turned ? fabs((double)soft_at(s, end - BITS)) : 0.0;
  for (int i = 0; i < BITS; i++) {
    turned ^= pattern >> (BITS - 1 - i) & 1U;
    if (turned)
      cost += fabs((double)soft_at(s, end - BITS + 1 + (uint64_t)i));
  }
  return cost;
}

static bool is_weak(const struct measure_rds_sync *s, uint64_t end, uint32_t pattern)
{
  double sum = 0.0;
  for (uint64_t i = end - BITS; i <= end; i++)
    sum += fabs((double)soft_at(s, i));
  const double least = fmin(cost_of(s, end, pattern, false), cost_of(s, end, pattern, true));
  return least <= weak_enough * sum / (BITS + 1);
}

static unsigned ones(uint32_t value)
{
  unsigned count = 0;
  for (; value != 0; value &= value - 1)
    count++;
  return count;
}

/* Which offset the block in this place has; the version in block B decides on the third. */
static enum measure_rds_offset expected(const struct measure_rds_sync *s, uint16_t remainder,
                                        bool *sure)
{
  *sure = true;
  if (s->place != 2)
    return (enum measure_rds_offset)s->place;
  if (s->group.state[1] != SC_RDS_BLOCK_LOST)
    return s->group.word[1] >> 11 & 1 ? MEASURE_RDS_C_PRIME : MEASURE_RDS_C;
  *sure = false;
  const enum measure_rds_offset seen = measure_rds_offset_of(remainder);
  return seen == MEASURE_RDS_C_PRIME ? seen : MEASURE_RDS_C;
}

static void judge(struct measure_rds_sync *s, uint64_t end)
{
  bool sure;
  const uint32_t block = block_at(s, end);
  const uint16_t remainder = measure_rds_remainder(block);
  const enum measure_rds_offset offset = expected(s, remainder, &sure);
  const uint16_t rest = remainder ^ measure_rds_offset_word(offset);
  const uint32_t pattern = s->bursts.pattern[rest];
  const bool corrected = rest != 0 && sure && pattern != 0 && is_weak(s, end, pattern);
  const bool lost = rest != 0 && !corrected;
  s->group.word[s->place] = lost ? 0 : (uint16_t)((block ^ (corrected ? pattern : 0)) >> 10);
  s->group.state[s->place] = lost        ? SC_RDS_BLOCK_LOST
                             : corrected ? SC_RDS_BLOCK_CORRECTED
                                         : SC_RDS_BLOCK_CLEAN;
  s->group.corrected[s->place] = corrected ? (uint8_t)ones(pattern) : 0;
  s->blocks++;
  s->corrected += corrected;
  s->lost += lost;
  s->recent[s->watched++ % MEASURE_RDS_WATCHED] = rest == 0;
}

static unsigned clean_of_recent(const struct measure_rds_sync *s)
{
  unsigned clean = 0;
  const unsigned seen = s->watched < MEASURE_RDS_WATCHED ? s->watched : MEASURE_RDS_WATCHED;
  for (unsigned i = 0; i < seen; i++)
    clean += s->recent[i];
  return clean;
}

static void take_block(struct measure_rds_sync *s)
{
  const uint64_t end = s->next_end;
  judge(s, end);
  s->taken_end = end;
  s->next_end = end + BITS;
  s->place = (s->place + 1) % 4;
  if (s->place == 0) {
    s->group.time_s = s->ends_s[end % MEASURE_RDS_RING];
    s->take(s->context, &s->group);
  }
  if (s->watched >= MEASURE_RDS_WATCHED && clean_of_recent(s) < KEEP)
    s->locked = false;
}

/* ---- synchronisation */

/* Whether an earlier hit keeps step with one at `end`, place `place`; how many blocks before. */
static uint64_t step_back(const struct measure_rds_hit *hit, uint64_t end, unsigned place)
{
  const uint64_t apart = end - hit->end;
  if (apart == 0 || apart % BITS != 0 || apart / BITS > REACH)
    return 0;
  return (hit->place + apart / BITS) % 4 == place ? apart / BITS : 0;
}

struct support {
  unsigned hits, in_a_row;
  uint64_t earliest; /* blocks back */
};

static struct support support_of(const struct measure_rds_sync *s, uint64_t end, unsigned place)
{
  struct support support = {0, 0, 0};
  const uint64_t kept = s->hit_count < MEASURE_RDS_HITS ? s->hit_count : MEASURE_RDS_HITS;
  for (uint64_t i = 0; i < kept; i++) {
    const uint64_t back = step_back(&s->hits[i], end, place);
    support.hits += back > 0;
    support.in_a_row += back > 0 && back <= ENOUGH_IN_A_ROW;
    support.earliest = back > support.earliest ? back : support.earliest;
  }
  return support;
}

static bool keeps_step(const struct measure_rds_sync *s, uint64_t end, unsigned place)
{
  const uint64_t ahead = s->next_end + (uint64_t)BITS * 4 * REACH - end;
  return ahead % BITS == 0 && (place + ahead / BITS) % 4 == s->place;
}

/* The first block of a group at or after the earliest hit's own group that is still held. */
static void lock(struct measure_rds_sync *s, uint64_t end, unsigned place, uint64_t earliest)
{
  const uint64_t first_place = (place + 4 * REACH - earliest) % 4;
  uint64_t least = s->valid_from + BITS; /* a block needs the decision before it */
  if (s->count > MEASURE_RDS_RING && s->count - MEASURE_RDS_RING + BITS > least)
    least = s->count - MEASURE_RDS_RING + BITS;
  if (s->blocks > 0 && s->taken_end + BITS > least)
    least = s->taken_end + BITS;
  uint64_t start = end - earliest * BITS;
  start =
      start >= first_place * BITS ? start - first_place * BITS : start + (4 - first_place) * BITS;
  while (start < least)
    start += (uint64_t)4 * BITS;
  s->locked = true;
  s->next_end = start;
  s->place = 0;
  s->watched = 0;
  memset(s->recent, 0, sizeof s->recent);
}

static void note_hit(struct measure_rds_sync *s, uint64_t end, unsigned place)
{
  const struct support support = support_of(s, end, place);
  s->hits[s->hit_count++ % MEASURE_RDS_HITS] = (struct measure_rds_hit){end, (uint8_t)place};
  if (support.hits < ENOUGH && support.in_a_row < ENOUGH_IN_A_ROW)
    return;
  if (!s->locked)
    lock(s, end, place, support.earliest);
  else if (!keeps_step(s, end, place) && support.in_a_row >= ENOUGH_IN_A_ROW)
    lock(s, end, place, ENOUGH_IN_A_ROW);
}

static void search(struct measure_rds_sync *s, uint64_t end)
{
  if (end < s->valid_from + BITS)
    return;
  const enum measure_rds_offset offset = measure_rds_offset_of(measure_rds_remainder(s->window));
  if (offset != MEASURE_RDS_NO_OFFSET)
    note_hit(s, end, offset == MEASURE_RDS_C_PRIME ? 2 : (unsigned)offset);
}

void measure_rds_sync_feed(struct measure_rds_sync *sync, float soft, double time_s)
{
  const uint64_t index = sync->count++;
  sync->soft[index % MEASURE_RDS_RING] = soft;
  sync->ends_s[index % MEASURE_RDS_RING] = time_s;
  if (index == sync->valid_from)
    return;
  const uint32_t bit = (soft < 0) != (soft_at(sync, index - 1) < 0);
  sync->window = (sync->window << 1 | bit) & ((1U << BITS) - 1);
  search(sync, index);
  while (sync->locked && sync->next_end <= index)
    take_block(sync);
}
