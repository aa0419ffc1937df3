/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Long division of RDS blocks. */
#include "measure/rds_bits.h"

#include <stdlib.h>

unsigned rds_divide(uint32_t block)
{
  static const char divisor[] = "10110111001"; /* x^10 + x^8 + x^7 + x^5 + x^4 + x^3 + 1 */
  char digits[27] = {0};
  for (int i = 0; i < 26; i++)
    digits[i] = block >> (25 - i) & 1 ? '1' : '0';
  for (int i = 0; i <= 26 - 11; i++)
    if (digits[i] == '1')
      for (int k = 0; k < 11; k++)
        digits[i + k] = digits[i + k] == divisor[k] ? '0' : '1';
  return (unsigned)strtoul(digits + 16, NULL, 2);
}

uint32_t rds_block(uint16_t word, unsigned offset)
{
  const uint32_t shifted = (uint32_t)word << 10;
  return shifted | (rds_divide(shifted) ^ offset);
}

void rds_group_bits(const uint16_t word[4], uint8_t *bits)
{
  /* EN 50067:1998 annex A, from memory */
  const unsigned offsets[4] = {0x0fc, 0x198, word[1] >> 11 & 1 ? 0x350u : 0x168u, 0x1b4};
  for (int b = 0; b < 4; b++) {
    const uint32_t block = rds_block(word[b], offsets[b]);
    for (int i = 25; i >= 0; i--)
      *bits++ = block >> i & 1;
  }
}

struct sc_rds_group rds_clean(uint16_t a, uint16_t b, uint16_t c, uint16_t d, double time_s)
{
  const uint8_t clean = SC_RDS_BLOCK_CLEAN;
  return (struct sc_rds_group){
      .time_s = time_s, .word = {a, b, c, d}, .state = {clean, clean, clean, clean}};
}
