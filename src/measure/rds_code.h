/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Blocks of RDS: check words, offset words, and bursts of errors.
 *
 * A block is 16 information and 10 check bits of a shortened cyclic code, generator
 * g(x) = x^10 + x^8 + x^7 + x^5 + x^4 + x^3 + 1, plus the offset word of its place in the group
 * (EN 50067:1998 annexes A and B; from memory, checked by the code's properties: every burst of up
 * to 5 bits has a remainder of its own, 367 patterns).
 *
 * The remainder of a clean block by g(x) is its offset word; the syndromes that annex B prints are
 * that remainder times x^325 (computed).
 */
#ifndef SIDECOMB_MEASURE_RDS_CODE_H
#define SIDECOMB_MEASURE_RDS_CODE_H

#include <stdint.h>

enum { MEASURE_RDS_BLOCK_BITS = 26, MEASURE_RDS_BURST_MAX = 5, MEASURE_RDS_REMAINDERS = 1024 };

enum measure_rds_offset {
  MEASURE_RDS_A,
  MEASURE_RDS_B,
  MEASURE_RDS_C,
  MEASURE_RDS_D,
  MEASURE_RDS_C_PRIME,
  MEASURE_RDS_OFFSETS,
  MEASURE_RDS_NO_OFFSET = -1
};

/* Offset word, 10 bits. */
uint16_t measure_rds_offset_word(enum measure_rds_offset offset);
/* Of 26 bits, the first received is bit 25. */
uint16_t measure_rds_remainder(uint32_t block);
/* Which offset word a remainder is; MEASURE_RDS_NO_OFFSET: none. */
enum measure_rds_offset measure_rds_offset_of(uint16_t remainder);

/* The burst of at most 5 bits that a remainder, less the offset word, stands for; 0: none. */
struct measure_rds_bursts {
  uint32_t pattern[MEASURE_RDS_REMAINDERS];
};
void measure_rds_bursts_fill(struct measure_rds_bursts *bursts);

#endif
