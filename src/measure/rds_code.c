/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Remainders by the generator polynomial of RDS, and the bursts they tell. */
#include "measure/rds_code.h"

#include <string.h>

static const uint32_t generator = 0x5b9;
static const uint16_t offset_words[MEASURE_RDS_OFFSETS] = {0x0fc, 0x198, 0x168, 0x1b4, 0x350};

uint16_t measure_rds_offset_word(enum measure_rds_offset offset)
{
  return offset_words[offset];
}

uint16_t measure_rds_remainder(uint32_t block)
{
  uint32_t rest = block;
  for (unsigned bit = MEASURE_RDS_BLOCK_BITS - 1; bit >= 10; bit--)
    if (rest >> bit & 1U)
      rest ^= generator << (bit - 10);
  return (uint16_t)rest;
}

enum measure_rds_offset measure_rds_offset_of(uint16_t remainder)
{
  for (int i = 0; i < MEASURE_RDS_OFFSETS; i++)
    if (offset_words[i] == remainder)
      return (enum measure_rds_offset)i;
  return MEASURE_RDS_NO_OFFSET;
}

void measure_rds_bursts_fill(struct measure_rds_bursts *bursts)
{
  memset(bursts, 0, sizeof *bursts);
  for (uint32_t shape = 1; shape < 1U << MEASURE_RDS_BURST_MAX; shape += 2)
    for (unsigned at = 0; at < MEASURE_RDS_BLOCK_BITS; at++) {
      const uint32_t pattern = shape << at;
      if (pattern >> MEASURE_RDS_BLOCK_BITS == 0)
        bursts->pattern[measure_rds_remainder(pattern)] = pattern;
    }
}
