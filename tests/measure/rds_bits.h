/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups as the tests write them, and their bits by long division, which shares nothing with the
 * code under test. */
#ifndef SIDECOMB_TESTS_MEASURE_RDS_BITS_H
#define SIDECOMB_TESTS_MEASURE_RDS_BITS_H

#include <stdint.h>

#include <sidecomb/rds.h>

/* Remainder of 26 bits by the generator polynomial, as on paper. */
unsigned rds_divide(uint32_t block);
/* A block: word, check word, offset word. */
uint32_t rds_block(uint16_t word, unsigned offset);
/* 104 bits of a group, one a byte, before differential coding. */
void rds_group_bits(const uint16_t word[4], uint8_t *bits);
/* A group received without an error at a time. */
struct sc_rds_group rds_clean(uint16_t a, uint16_t b, uint16_t c, uint16_t d, double time_s);

#endif
