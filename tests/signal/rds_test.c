/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS: check words by long division and by known vectors, groups, shaping, and the way back. */
#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "signal/bank.h"
#include "signal/baseband.h"
#include "signal/rds_groups.h"
#include "signal/rds_text.h"
#include "signal/suites.h"
#include "signal/tools.h"

/* ---- check words */

/* Long division as on paper: a row of digits, the divisor subtracted wherever a 1 leads. */
static unsigned divide(uint32_t block)
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

/* Offset words: EN 50067:1998 annex A, from memory. */
static const unsigned offset_words[] = {0x0fc, 0x198, 0x168, 0x350, 0x1b4};

START_TEST(every_word_divides_to_its_offset)
{
  for (unsigned word = 0; word <= 0xffff; word += 7)
    for (int offset = 0; offset < 5; offset++) {
      const uint32_t block = signal_rds_block((uint16_t)word, offset);
      ck_assert_uint_eq(block >> 10, word);
      ck_assert_uint_eq(divide(block), offset_words[offset]);
    }
}
END_TEST

/* Computed once from the generator polynomial by another program. */
static const struct {
  uint16_t word;
  int offset;
  unsigned check;
} vectors[] = {
    {0xc201, SIGNAL_RDS_A, 0x26d}, {0x0148, SIGNAL_RDS_B, 0x270}, {0xe15c, SIGNAL_RDS_C, 0x35d},
    {0x5445, SIGNAL_RDS_D, 0x1fb}, {0x014f, SIGNAL_RDS_B, 0x3e6}, {0xcdcd, SIGNAL_RDS_C, 0x2b3},
    {0x2020, SIGNAL_RDS_D, 0x0dc}, {0x0949, SIGNAL_RDS_B, 0x090}, {0xc201, SIGNAL_RDS_C2, 0x1c1},
    {0x5354, SIGNAL_RDS_D, 0x1e9}, {0x1140, SIGNAL_RDS_B, 0x278}, {0x00e1, SIGNAL_RDS_C, 0x24f},
    {0x0000, SIGNAL_RDS_D, 0x1b4}, {0x2140, SIGNAL_RDS_B, 0x2dc}, {0x5445, SIGNAL_RDS_C, 0x127},
    {0x3156, SIGNAL_RDS_B, 0x247}, {0x0000, SIGNAL_RDS_C, 0x168}, {0x4bd7, SIGNAL_RDS_D, 0x31e},
    {0x4141, SIGNAL_RDS_B, 0x22d}, {0xdf72, SIGNAL_RDS_C, 0x383}, {0x8b42, SIGNAL_RDS_D, 0x0bb},
    {0xdf73, SIGNAL_RDS_C, 0x23a}, {0x7eea, SIGNAL_RDS_D, 0x089}, {0xa140, SIGNAL_RDS_B, 0x2ab},
    {0x4e45, SIGNAL_RDS_C, 0x0cd}, {0x5753, SIGNAL_RDS_D, 0x30f}, {0xb158, SIGNAL_RDS_B, 0x11c},
    {0x800a, SIGNAL_RDS_C, 0x16e}, {0x0924, SIGNAL_RDS_D, 0x3ab}, {0xe150, SIGNAL_RDS_B, 0x3f3},
    {0x4242, SIGNAL_RDS_C, 0x172}, {0xc204, SIGNAL_RDS_D, 0x1c1},
};

START_TEST(check_words_are_the_vectors)
{
  for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++)
    ck_assert_uint_eq(signal_rds_block(vectors[i].word, vectors[i].offset) & 0x3ff,
                      vectors[i].check);
}
END_TEST

START_TEST(bits_go_out_first_block_and_highest_bit_first)
{
  static const uint16_t group[4] = {0xc201, 0x0949, 0xc201, 0x5354}; /* 0B: C' */
  static const char expected[] = "11000010000000011001101101"        /* A */
                                 "00001001010010010010010000"        /* B */
                                 "11000010000000010111000001"        /* C' */
                                 "01010011010101000111101001" /* D */;
  uint8_t bits[SIGNAL_RDS_GROUP_BITS];
  signal_rds_bits(group, bits);
  for (size_t i = 0; i < SIGNAL_RDS_GROUP_BITS; i++)
    ck_assert_int_eq(bits[i], expected[i] - '0');
}
END_TEST

/* ---- groups */

static struct sc_rds_content *content(void)
{
  static struct sc_rds_content c;
  memset(&c, 0, sizeof c);
  c.khz = 2;
  c.pi = 0xc201;
  c.pty = 10;
  strcpy(c.ps, "TEST");
  return &c;
}

static void next(struct signal_rds_coder *coder, unsigned b, unsigned c, unsigned d)
{
  uint16_t group[4];
  signal_rds_coder_next(coder, 0, 0.0876, group);
  ck_assert_uint_eq(group[0], 0xc201);
  ck_assert_uint_eq(group[1], b);
  ck_assert_uint_eq(group[2], c);
  ck_assert_uint_eq(group[3], d);
}

START_TEST(basic_groups_carry_name_switches_and_frequencies)
{
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  c->music = c->stereo = true;
  c->af_count = 1;
  c->af_mhz[0] = 96.7;
  ck_assert(signal_rds_coder_init(&coder, c));
  next(&coder, 0x0148, 0xe15c, 0x5445);
  next(&coder, 0x0149, 0xe15c, 0x5354);
  next(&coder, 0x014a, 0xe15c, 0x2020);
  next(&coder, 0x014f, 0xe15c, 0x2020);
  next(&coder, 0x0148, 0xe15c, 0x5445);
}
END_TEST

START_TEST(frequencies_follow_method_a)
{
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  c->tp = c->ta = true;
  c->af_count = 4;
  for (size_t i = 0; i < 4; i++)
    c->af_mhz[i] = 87.6 + 0.1 * (double)i;
  ck_assert(signal_rds_coder_init(&coder, c));
  next(&coder, 0x0550, 0xe401, 0x5445);
  next(&coder, 0x0551, 0x0203, 0x5354);
  next(&coder, 0x0552, 0x04cd, 0x2020);
  next(&coder, 0x0553, 0xe401, 0x2020);
}
END_TEST

START_TEST(radiotext_alternates_and_is_ended)
{
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  strcpy(c->text, "TEST!");
  ck_assert(signal_rds_coder_init(&coder, c));
  ck_assert_uint_eq(coder.text_groups, 2);
  next(&coder, 0x0140, 0xe0cd, 0x5445);
  next(&coder, 0x2140, 0x5445, 0x5354);
  next(&coder, 0x0141, 0xe0cd, 0x5354);
  next(&coder, 0x2141, 0x210d, 0x2020);
}
END_TEST

START_TEST(what_is_sent_now_and_then_follows_a_round)
{
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  strcpy(c->ptyn, "NEWS");
  c->ecc = 0xe1;
  c->group_count = 1;
  memcpy(c->groups[0], (const uint16_t[4]){0xc201, 0x3156, 0, 0x4bd7}, sizeof c->groups[0]);
  ck_assert(signal_rds_coder_init(&coder, c));
  for (int i = 0; i < 4; i++) {
    uint16_t group[4];
    signal_rds_coder_next(&coder, 0, 0.0876, group);
    ck_assert_uint_eq(group[1] >> 11, 0);
  }
  next(&coder, 0xa140, 0x4e45, 0x5753);
  next(&coder, 0xa141, 0x2020, 0x2020);
  next(&coder, 0x1140, 0x00e1, 0x0000);
  next(&coder, 0x3156, 0x0000, 0x4bd7);
  next(&coder, 0x0140, 0xe0cd, 0x5445);
}
END_TEST

static void check_clock(int64_t utc_s, int half_hours, unsigned b, unsigned c, unsigned d)
{
  uint16_t group[4];
  struct sc_rds_content *from = content();
  from->clock_half_hours = half_hours;
  signal_rds_clock(from, utc_s, group);
  ck_assert_uint_eq(group[1], b);
  ck_assert_uint_eq(group[2], c);
  ck_assert_uint_eq(group[3], d);
}

START_TEST(the_clock_counts_days_of_the_modified_julian_date)
{
  check_clock(INT64_C(1795596300), 2, 0x4141, 0xdf72, 0x8b42);           /* 2026-11-25 08:45 UTC */
  check_clock(INT64_C(1795651140), -10, 0x4141, 0xdf73, 0x7eea);         /* 23:59 */
  check_clock(INT64_C(946684800), 0, 0x4141, (51544u & 0x7fff) << 1, 0); /* 2000-01-01: 51544 */
  check_clock(INT64_C(2155593600), 0, 0x4142, 0, 0);                     /* 2038-04-23: 65536 */
}
END_TEST

START_TEST(the_clock_goes_out_with_the_group_nearest_the_minute)
{
  const double length = 104 / 1187.5;
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  c->clock = true;
  c->clock_s = INT64_C(1795596300) - 2; /* the minute begins at 2 s */
  ck_assert(signal_rds_coder_init(&coder, c));
  int clocks = 0;
  for (int i = 0; i < 800; i++) {
    uint16_t group[4];
    signal_rds_coder_next(&coder, i * length, (i + 1) * length, group);
    if (group[1] >> 12 != 4)
      continue;
    CHECK_BELOW(fabs((i + 1) * length - (2 + 60 * clocks)), 0.1);
    ck_assert_uint_eq(group[3], 0x8b40u + 64u * (unsigned)clocks);
    clocks++;
  }
  ck_assert_int_eq(clocks, 2);
}
END_TEST

/* ---- text */

START_TEST(text_is_encoded_in_the_standards_set)
{
  uint8_t codes[16];
  size_t count;
  ck_assert(signal_rds_text("A$\xc3\xa4\xe2\x82\xac~", codes, 16, &count) == false);
  ck_assert(signal_rds_text("A$\xc3\xa4\xe2\x82\xac", codes, 16, &count));
  ck_assert_uint_eq(count, 4);
  ck_assert_mem_eq(codes, "A\xab\x91\xa9", 4);
  ck_assert(!signal_rds_text("\xc3", codes, 16, &count));
  ck_assert(!signal_rds_text("\xff", codes, 16, &count));
  ck_assert(!signal_rds_text("12345678901234567", codes, 16, &count));
  ck_assert(!signal_rds_text("a\nb", codes, 16, &count));
}
END_TEST

/* ---- the wave */

/* Its spectrum is that of two impulses half a bit apart behind cos(pi f td / 4) up to 2 / td
 * (EN 50067:1998 clause 1.7); f in cycles a bit, td 1. */
START_TEST(a_bit_has_the_standards_spectrum)
{
  enum { STEPS = 64 * 200 };
  const double step = 200.0 / STEPS;
  for (double f = 0.05; f < 2.6; f += 0.05) {
    double complex sum = 0;
    for (int i = 0; i < STEPS; i++) {
      const double x = -100 + (i + 0.5) * step;
      sum += signal_rds_pulse(x) * cexp(-I * TWO_PI * f * x) * step;
    }
    const double filter = f < 2 ? cos(TWO_PI / 8 * f) : 0;
    const double complex exact = TWO_PI / 16 * filter * (1 - cexp(-I * TWO_PI / 2 * f));
    CHECK_BELOW(cabs(sum - exact), 2e-4); /* what is beyond 100 bits */
  }
}
END_TEST

/* Peaks 931 Hz from 57 kHz, -3 dB at 460 and 1444 Hz (computed from the shape). */
START_TEST(the_crest_is_that_of_random_bits)
{
  CHECK_CLOSE(20 * log10(signal_rds_crest() * sqrt(2)), 6.2, 0.05);
  double worst = 0;
  for (double u = 0; u < 1; u += 1.0 / 512) {
    double sum = 0;
    for (int k = -40; k <= 40; k++)
      sum += fabs(signal_rds_pulse(u - k));
    worst = fmax(worst, sum);
  }
  CHECK_CLOSE(worst, 1.13335, 5e-5);
}
END_TEST

enum { SAMPLES = 60000 };
static const double wave_rate = 92307.6923;
static const double bit_rate = 1187.5;

static double *wave(const struct sc_rds_content *c)
{
  static double re[SAMPLES];
  double im[SIGNAL_BLOCK];
  struct signal_baseband *baseband;
  ck_assert_int_eq(signal_baseband_rds(c, bit_rate, wave_rate, &baseband), SC_OK);
  signal_baseband_start(baseband, 0);
  for (size_t i = 0; i < SAMPLES; i += 100)
    signal_baseband_run(baseband, re + i, im, 100);
  signal_baseband_destroy(baseband);
  return re;
}

/* The bits read off the wave at the place of each impulse, the differential code undone. */
START_TEST(the_wave_gives_back_the_groups)
{
  struct signal_rds_coder coder;
  struct sc_rds_content *c = content();
  strcpy(c->text, "What goes out comes back");
  const double *re = wave(c);
  ck_assert(signal_rds_coder_init(&coder, c));
  const double length = SIGNAL_RDS_GROUP_BITS / bit_rate;
  int last = -1;
  for (int g = 0; g < 7; g++) {
    uint16_t group[4];
    uint8_t bits[SIGNAL_RDS_GROUP_BITS];
    signal_rds_coder_next(&coder, g * length, (g + 1) * length, group);
    signal_rds_bits(group, bits);
    for (int i = 0; i < SIGNAL_RDS_GROUP_BITS; i++) {
      const double at = (g * SIGNAL_RDS_GROUP_BITS + i) * wave_rate / bit_rate;
      const int now =
          re[(size_t)lround(at)] - re[(size_t)lround(at + wave_rate / bit_rate / 2)] > 0;
      if (last >= 0)
        ck_assert_int_eq(now ^ last, bits[i]);
      last = now;
    }
  }
}
END_TEST

START_TEST(the_wave_reaches_its_peak_and_never_more)
{
  const double *re = wave(content());
  double peak = 0;
  for (size_t i = 0; i < SAMPLES; i++)
    peak = fmax(peak, fabs(re[i]));
  ck_assert_double_le(peak, 2 + 1e-6);
  ck_assert_double_ge(peak, 1.97);
}
END_TEST

/* Nothing of the wave lies beyond 2375 Hz: by a window of -110 dB at the end of the record. */
START_TEST(the_wave_stays_in_its_band)
{
  enum { N = 32768 };
  static double complex x[N];
  const double *re = wave(content());
  for (size_t i = 0; i < N; i++) {
    const double a = TWO_PI * (double)i / N;
    x[i] = re[i] * (0.35875 - 0.48829 * cos(a) + 0.14128 * cos(2 * a) - 0.01168 * cos(3 * a));
  }
  transform(x, N);
  double inside = 0, outside = 0;
  for (size_t i = 0; i < N / 2; i++) {
    const double hz = (double)i * wave_rate / N;
    *(hz < 2400 ? &inside : &outside) += cabs(x[i]) * cabs(x[i]);
  }
  CHECK_BELOW(10 * log10(outside / inside), -80);
}
END_TEST

Suite *rds_suite(void)
{
  Suite *suite = suite_create("rds");
  TCase *words = tcase_create("check words");
  tcase_add_test(words, every_word_divides_to_its_offset);
  tcase_add_test(words, check_words_are_the_vectors);
  tcase_add_test(words, bits_go_out_first_block_and_highest_bit_first);
  suite_add_tcase(suite, words);
  TCase *groups = tcase_create("groups");
  tcase_add_test(groups, basic_groups_carry_name_switches_and_frequencies);
  tcase_add_test(groups, frequencies_follow_method_a);
  tcase_add_test(groups, radiotext_alternates_and_is_ended);
  tcase_add_test(groups, what_is_sent_now_and_then_follows_a_round);
  tcase_add_test(groups, the_clock_counts_days_of_the_modified_julian_date);
  tcase_add_test(groups, the_clock_goes_out_with_the_group_nearest_the_minute);
  tcase_add_test(groups, text_is_encoded_in_the_standards_set);
  suite_add_tcase(suite, groups);
  TCase *shape = tcase_create("wave");
  tcase_add_test(shape, a_bit_has_the_standards_spectrum);
  tcase_add_test(shape, the_crest_is_that_of_random_bits);
  tcase_add_test(shape, the_wave_gives_back_the_groups);
  tcase_add_test(shape, the_wave_reaches_its_peak_and_never_more);
  tcase_add_test(shape, the_wave_stays_in_its_band);
  suite_add_tcase(suite, shape);
  return suite;
}
