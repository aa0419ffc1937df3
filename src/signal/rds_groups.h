/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS content to groups and bits.
 *
 * A group is four blocks of 16 information and 10 check bits. Check word: the remainder of
 * m(x) x^10 by g(x) = x^10 + x^8 + x^7 + x^5 + x^4 + x^3 + 1, plus the block's offset word
 * (EN 50067:1998 annexes A and B, IEC 62106; from memory, cross-checked by the properties of the
 * code). Layout of the groups: IEC 62106-2, from memory.
 */
#ifndef SIDECOMB_SIGNAL_RDS_GROUPS_H
#define SIDECOMB_SIGNAL_RDS_GROUPS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>

enum { SIGNAL_RDS_BLOCK_BITS = 26, SIGNAL_RDS_GROUP_BITS = 104 };
enum { SIGNAL_RDS_A, SIGNAL_RDS_B, SIGNAL_RDS_C, SIGNAL_RDS_C2, SIGNAL_RDS_D };

/* Information word and offset (SIGNAL_RDS_A ...) to the 26 bits, first sent is bit 25. */
uint32_t signal_rds_block(uint16_t word, int offset);
/* 104 bits, one a byte, in the order of sending. The version in block 2 chooses C or C'. */
void signal_rds_bits(const uint16_t group[4], uint8_t *bits);

struct signal_rds_coder {
  const struct sc_rds_content *content;
  uint8_t ps[8], text[64], ptyn[8];
  size_t text_groups; /* groups of RadioText */
  size_t ps_next, text_next, af_next, step;
};
/* False: text that cannot be sent. The content outlives the coder. */
bool signal_rds_coder_init(struct signal_rds_coder *coder, const struct sc_rds_content *content);
/* The group sent from `start_s` to `end_s` of the scenario's time. */
void signal_rds_coder_next(struct signal_rds_coder *coder, double start_s, double end_s,
                           uint16_t group[4]);

/* The layouts, one by one. */
void signal_rds_basic(const struct sc_rds_content *content, const uint8_t ps[8], unsigned segment,
                      size_t *af_next, uint16_t group[4]); /* 0A */
void signal_rds_clock(const struct sc_rds_content *content, int64_t utc_s, uint16_t group[4]);

#endif
