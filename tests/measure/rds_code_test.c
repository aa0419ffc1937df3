/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS blocks: check words, offset words, syndromes, bursts, synchronisation. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "measure/rds_bits.h"
#include "measure/rds_code.h"
#include "measure/rds_sync.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

/* Offset words and the syndromes of annex B of EN 50067:1998: words from memory, syndromes
 * computed from the polynomial by another program and as remembered from the annex. */
static const struct {
  enum measure_rds_offset offset;
  unsigned word, syndrome;
} offsets[] = {{MEASURE_RDS_A, 0x0fc, 0x3d8},
               {MEASURE_RDS_B, 0x198, 0x3d4},
               {MEASURE_RDS_C, 0x168, 0x25c},
               {MEASURE_RDS_C_PRIME, 0x350, 0x3cc},
               {MEASURE_RDS_D, 0x1b4, 0x258}};

START_TEST(remainders_are_those_of_long_division)
{
  uint64_t random = support_seed("remainders_are_those_of_long_division", 6);
  for (int i = 0; i < 20000; i++) {
    const uint32_t block = (uint32_t)(support_random(&random) >> 38);
    ck_assert_uint_eq(measure_rds_remainder(block), rds_divide(block));
  }
}
END_TEST

/* Remainder times x^325 by g(x): shifting left with the polynomial fed back. */
static unsigned annex_syndrome(unsigned remainder)
{
  for (int i = 0; i < 325; i++)
    remainder = remainder & 0x200 ? (remainder << 1 ^ 0x5b9) & 0x3ff : remainder << 1;
  return remainder;
}

START_TEST(offsets_and_syndromes)
{
  for (size_t i = 0; i < sizeof offsets / sizeof offsets[0]; i++) {
    const uint32_t block = rds_block(0xc201, offsets[i].word);
    ck_assert_uint_eq(measure_rds_offset_word(offsets[i].offset), offsets[i].word);
    ck_assert_int_eq(measure_rds_offset_of(measure_rds_remainder(block)), offsets[i].offset);
    ck_assert_uint_eq(annex_syndrome(measure_rds_remainder(block)), offsets[i].syndrome);
  }
  ck_assert_int_eq(measure_rds_offset_of(0), MEASURE_RDS_NO_OFFSET);
}
END_TEST

/* 367 bursts of up to 5 bits in 26, each with a remainder of its own (computed by exhaustion). */
START_TEST(every_short_burst_is_told)
{
  static struct measure_rds_bursts bursts;
  size_t told = 0;
  measure_rds_bursts_fill(&bursts);
  for (uint32_t shape = 1; shape < 32; shape++)
    for (unsigned at = 0; at < 26; at++) {
      const uint32_t pattern = shape << at;
      if (pattern < 1U << 26)
        ck_assert_uint_eq(bursts.pattern[rds_divide(pattern)], pattern);
    }
  for (size_t i = 0; i < MEASURE_RDS_REMAINDERS; i++)
    told += bursts.pattern[i] != 0;
  ck_assert_uint_eq(told, 367);
}
END_TEST

/* ---- synchronisation */

enum { GROUPS = 60, BITS = GROUPS * 104 };

struct sink {
  struct sc_rds_group groups[GROUPS + 20];
  size_t count;
};

static void take(void *context, const struct sc_rds_group *group)
{
  struct sink *sink = context;
  if (sink->count < sizeof sink->groups / sizeof sink->groups[0])
    sink->groups[sink->count++] = *group;
}

static void words_of(size_t index, uint16_t word[4])
{
  word[0] = 0xc201;
  word[1] = (uint16_t)(index % 3 == 0 ? 0x0940 | (index & 3) : 0x2140 | (index & 15));
  word[2] = word[1] & 0x800 ? 0xc201 : (uint16_t)(index * 257);
  word[3] = (uint16_t)(0x4000 + index);
}

/* Decisions of all groups, differentially coded; `inverted`: all turned over. */
static void decisions_of(float *soft, bool inverted)
{
  bool last = inverted;
  for (size_t g = 0; g < GROUPS; g++) {
    uint16_t word[4];
    uint8_t bits[104];
    words_of(g, word);
    rds_group_bits(word, bits);
    for (size_t i = 0; i < 104; i++) {
      last ^= bits[i];
      soft[g * 104 + i] = last ? 1.0F : -1.0F;
    }
  }
}

static void run(const float *soft, size_t count, struct sink *sink, struct measure_rds_sync *sync)
{
  memset(sink, 0, sizeof *sink);
  measure_rds_sync_start(sync, take, sink);
  for (size_t i = 0; i < count; i++)
    measure_rds_sync_feed(sync, soft[i], (double)i * 48.0 / 57e3);
}

static float soft[BITS + 1];
static struct sink sink;
static struct measure_rds_sync sync;

/* The first group lacks the decision before it; what came before the lock is not lost. */
START_TEST(all_groups_arrive)
{
  for (int inverted = 0; inverted < 2; inverted++) {
    decisions_of(soft, inverted);
    run(soft, BITS, &sink, &sync);
    ck_assert_uint_ge(sink.count, GROUPS - 1);
    const size_t missing = GROUPS - sink.count;
    for (size_t i = 0; i < sink.count; i++) {
      uint16_t word[4];
      words_of(i + missing, word);
      ck_assert_mem_eq(sink.groups[i].word, word, sizeof word);
      const double end_s = ((double)(i + missing + 1) * 104.0 - 1.0) * 48.0 / 57e3;
      ck_assert_double_eq_tol(sink.groups[i].time_s, end_s, 1e-9);
    }
    ck_assert_uint_eq(sync.lost + sync.corrected, 0);
  }
}
END_TEST

/* A decision that is wrong and weak is put right; the same decision, strong, is not. */
START_TEST(weak_decisions_are_corrected)
{
  for (int strong = 0; strong < 2; strong++) {
    decisions_of(soft, false);
    for (size_t g = 10; g < GROUPS; g++)
      soft[g * 104 + 30 + g % 20] *= strong ? -1.0F : -0.2F; /* in block B */
    run(soft, BITS, &sink, &sync);
    const size_t missing = GROUPS - sink.count;
    for (size_t i = 10; i + missing < GROUPS; i++) {
      uint16_t word[4];
      words_of(i + missing, word);
      const struct sc_rds_group *group = &sink.groups[i];
      ck_assert_int_eq(group->state[1], strong ? SC_RDS_BLOCK_LOST : SC_RDS_BLOCK_CORRECTED);
      ck_assert_uint_eq(group->word[1], strong ? 0 : word[1]);
      ck_assert_uint_eq(group->corrected[1], strong ? 0 : 2);
    }
  }
}
END_TEST

/* A lost and an added decision: the search goes on beside the old place. */
START_TEST(slips_are_found)
{
  decisions_of(soft, false);
  memmove(soft + 3000, soft + 3001, (BITS - 3001) * sizeof *soft);
  run(soft, BITS - 1, &sink, &sync);
  ck_assert_uint_ge(sink.count, GROUPS - 5);
  uint16_t word[4];
  words_of(GROUPS - 1, word);
  ck_assert_mem_eq(sink.groups[sink.count - 1].word, word, sizeof word);
}
END_TEST

/* The chance of a false lock was computed as 2e-6 in 10 s: none may occur in so many bits. */
START_TEST(noise_is_no_data)
{
  const unsigned records = support_trials(support_long() ? 2000 : 20);
  uint64_t random = support_seed("noise_is_no_data", 61);
  memset(&sink, 0, sizeof sink);
  measure_rds_sync_start(&sync, take, &sink);
  for (unsigned i = 0; i < records * 11875; i++)
    measure_rds_sync_feed(&sync, (float)support_uniform(&random), 0.0);
  printf("%u records of 10 s of noise: %zu groups\n", records, sink.count);
  ck_assert_uint_eq(sink.count, 0);
}
END_TEST

/* Of blocks in noise that stands in for a lost signal, how many are "corrected": 36 % by the code
 * alone (computed). */
START_TEST(false_corrections_are_few)
{
  uint64_t random = support_seed("false_corrections_are_few", 62);
  unsigned corrected = 0, seen = 0;
  const unsigned trials = support_trials(support_long() ? 4000 : 200);
  for (unsigned i = 0; i < trials; i++) {
    decisions_of(soft, false);
    for (size_t k = 20 * 104; k < 21 * 104; k++)
      soft[k] = (float)support_normal(&random);
    run(soft, 22 * 104, &sink, &sync);
    for (size_t g = 0; g < sink.count; g++)
      if (sink.groups[g].time_s > 20.9 * 104 * 48.0 / 57e3 &&
          sink.groups[g].time_s < 21.0 * 104 * 48.0 / 57e3)
        for (int b = 0; b < 4; b++, seen++)
          corrected += sink.groups[g].state[b] == SC_RDS_BLOCK_CORRECTED;
  }
  const double share = (double)corrected / seen;
  printf("of %u random blocks in step %.2f %% are corrected to something\n", seen, 100.0 * share);
  ck_assert_uint_eq(seen, 4 * trials);
  ck_assert_double_lt(share, 0.12);
}
END_TEST

Suite *rds_code_suite(void)
{
  Suite *suite = suite_create("rds code");
  TCase *tests = tcase_create("rds code");
  tcase_set_timeout(tests, 600);
  tcase_add_test(tests, remainders_are_those_of_long_division);
  tcase_add_test(tests, offsets_and_syndromes);
  tcase_add_test(tests, every_short_burst_is_told);
  tcase_add_test(tests, all_groups_arrive);
  tcase_add_test(tests, weak_decisions_are_corrected);
  tcase_add_test(tests, slips_are_found);
  tcase_add_test(tests, noise_is_no_data);
  tcase_add_test(tests, false_corrections_are_few);
  suite_add_tcase(suite, tests);
  return suite;
}
