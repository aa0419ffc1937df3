/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What RDS groups say. Group layouts are from memory (IEC 62106-2); worked examples carry their
 * source. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "measure/rds_bits.h"
#include "measure/rds_groups.h"
#include "measure/rds_names.h"
#include "measure/suites.h"
#include "support/support.h"

static struct measure_rds_groups groups;
static struct sc_rds_data data;

static void begin(void)
{
  measure_rds_groups_start(&groups, SC_RDS_REGION_OPEN);
}

static void send(uint16_t b, uint16_t c, uint16_t d)
{
  const struct sc_rds_group group = rds_clean(0xc201, b, c, d, 0.0);
  measure_rds_groups_take(&groups, &group);
}

static const struct sc_rds_data *said(void)
{
  measure_rds_groups_result(&groups, &data);
  return &data;
}

/* ---- names and numbers */

/* Call letters and codes: KBYU to WYLC and KYHS read in a public list of pairs; the rest computed
 * by the formula of NRSC-4 (constants from memory). */
START_TEST(call_letters)
{
  static const struct {
    const char *call;
    uint16_t pi;
  } pairs[] = {{"KBYU", 0x1528}, {"KIAI", 0x2528}, {"KOBW", 0x3528}, {"KUDK", 0x4528},
               {"WAEY", 0x5528}, {"WGGM", 0x6528}, {"WMIA", 0x7528}, {"WSJO", 0x8528},
               {"WYLC", 0x9528}, {"KYHS", 0xa528}, {"KZZZ", 0x54a7}, {"WAAA", 0x54a8},
               {"WZZZ", 0x994f}, {"KAJW", 0xaf11}, {"KATS", 0xaf12}, {"KAAA", 0xafa1}};
  char letters[5];
  for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
    ck_assert(measure_rds_call_letters(pairs[i].pi, letters));
    ck_assert_str_eq(letters, pairs[i].call);
  }
  ck_assert(!measure_rds_call_letters(0x0fff, letters));
  ck_assert(!measure_rds_call_letters(0x9950, letters)); /* three letters: a fixed list */
  ck_assert(!measure_rds_call_letters(0xc201, letters));
}
END_TEST

/* 1997-12-01 and 1998-01-14: a geodetic survey's page; the others by day counts. */
START_TEST(dates)
{
  static const struct {
    uint32_t mjd;
    int year, month, day;
  } days[] = {{50783, 1997, 12, 1}, {50827, 1998, 1, 14},  {45218, 1982, 9, 6},
              {51544, 2000, 1, 1},  {61369, 2026, 11, 25}, {65536, 2038, 4, 23}};
  for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
    const struct measure_rds_date date = measure_rds_date_of(days[i].mjd);
    ck_assert_int_eq(date.year, days[i].year);
    ck_assert_int_eq(date.month, days[i].month);
    ck_assert_int_eq(date.day, days[i].day);
  }
}
END_TEST

/* The rule of EN 50067 annex G and EN 300 468 annex C (from memory), on every day it holds for. */
START_TEST(dates_follow_the_annex)
{
  for (uint32_t mjd = 15079; mjd < 88127; mjd += 13) {
    const int y = (int)((mjd - 15078.2) / 365.25);
    const int m = (int)((mjd - 14956.1 - (int)(y * 365.25)) / 30.6001);
    const int d = (int)mjd - 14956 - (int)(y * 365.25) - (int)(m * 30.6001);
    const int k = m == 14 || m == 15;
    const struct measure_rds_date date = measure_rds_date_of(mjd);
    ck_assert_int_eq(date.year, 1900 + y + k);
    ck_assert_int_eq(date.month, m - 1 - 12 * k);
    ck_assert_int_eq(date.day, d);
  }
}
END_TEST

/* Codes of IEC 62106-2 (from memory): 1 is 87.6 MHz, 204 is 107.9 MHz; 153 and 531 kHz on. */
START_TEST(af_codes)
{
  ck_assert_double_eq_tol(measure_rds_af_mhz(1), 87.6, 1e-9);
  ck_assert_double_eq_tol(measure_rds_af_mhz(92), 96.7, 1e-9);
  ck_assert_double_eq_tol(measure_rds_af_mhz(204), 107.9, 1e-9);
  ck_assert_double_eq(measure_rds_af_mhz(0), 0.0);
  ck_assert_double_eq(measure_rds_af_mhz(205), 0.0);
  ck_assert_double_eq_tol(measure_rds_af_low_mhz(1), 0.153, 1e-9);
  ck_assert_double_eq_tol(measure_rds_af_low_mhz(15), 0.279, 1e-9);
  ck_assert_double_eq_tol(measure_rds_af_low_mhz(16), 0.531, 1e-9);
  ck_assert_double_eq_tol(measure_rds_af_low_mhz(135), 1.602, 1e-9);
}
END_TEST

/* ---- groups */

static void send_name(const char *name)
{
  for (unsigned s = 0; s < 4; s++)
    send((uint16_t)(0x0548 | s), s == 0 ? 0xe15c : 0xcdcd,
         (uint16_t)((unsigned char)name[2 * s] << 8 | (unsigned char)name[2 * s + 1]));
}

START_TEST(nothing_is_sure_at_first_sight)
{
  begin();
  send_name("FELLSIDE");
  ck_assert_str_eq(said()->pi, "C201"); /* four times by now */
  ck_assert_str_eq(said()->ps, "");
  ck_assert_uint_eq(said()->ps_characters[3].times, 1);
  ck_assert_str_eq(said()->ps_characters[3].utf8, "L");
  send_name("FELLSIDE");
  ck_assert_str_eq(said()->ps, "FELLSIDE");
  ck_assert_uint_eq(said()->ps_characters[7].times, 2);
  ck_assert_int_eq(said()->tp, SC_YES);
  ck_assert_int_eq(said()->ta, SC_NO);
  ck_assert_int_eq(said()->music, SC_YES);
  ck_assert_double_eq(said()->pty, 10.0);
  ck_assert_uint_eq(said()->af_count, 1);
  ck_assert_double_eq_tol(said()->af_mhz[0], 96.7, 1e-9);
  ck_assert_uint_eq(said()->group_counts[0], 8);
}
END_TEST

/* A name that has begun to change is no longer certain, and none is mixed of two. */
START_TEST(a_changing_name_is_not_shown)
{
  begin();
  send_name("FELLSIDE");
  send_name("FELLSIDE");
  send(0x0548, 0xe15c, 0x5858);
  ck_assert_str_eq(said()->ps, "");
}
END_TEST

START_TEST(corrected_blocks_count_half)
{
  begin();
  struct sc_rds_group group = rds_clean(0xc201, 0x0148, 0xe15c, 0x5445, 0.0);
  memset(group.state, SC_RDS_BLOCK_CORRECTED, sizeof group.state);
  measure_rds_groups_take(&groups, &group);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->pi, "");
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->pi, "C201");
}
END_TEST

/* Of a name that came often, one segment in a corrected block that says something else: false
 * corrections do that. In a clean block it is the beginning of another name. */
START_TEST(a_false_correction_changes_nothing)
{
  begin();
  for (int i = 0; i < 4; i++)
    send_name("FELLSIDE");
  struct sc_rds_group group = rds_clean(0xc201, 0x0548, 0xe15c, 0x4c4c, 0.0);
  group.state[3] = SC_RDS_BLOCK_CORRECTED;
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ps, "FELLSIDE");
  ck_assert_str_eq(said()->ps_characters[0].utf8, "F");
  ck_assert_uint_eq(said()->ps_characters[0].times, 2);
  for (int i = 0; i < 3; i++)
    measure_rds_groups_take(&groups, &group); /* again and again: then it is no accident */
  ck_assert_str_eq(said()->ps, "");
}
END_TEST

static void send_text(const char *text, size_t length, unsigned flag)
{
  for (unsigned s = 0; 4 * s < length; s++) {
    unsigned char c[4];
    for (unsigned i = 0; i < 4; i++)
      c[i] = 4 * s + i < length ? (unsigned char)text[4 * s + i] : ' ';
    send((uint16_t)(0x2140 | flag << 4 | s), (uint16_t)(c[0] << 8 | c[1]),
         (uint16_t)(c[2] << 8 | c[3]));
  }
}

START_TEST(text_ends_and_changes)
{
  static const char first[] = "Wind from the west\r", second[] = "Rain tomorrow, then fair";
  begin();
  send_text(first, sizeof first - 1, 0);
  ck_assert_str_eq(said()->rt, "");
  send_text(first, sizeof first - 1, 0);
  ck_assert_str_eq(said()->rt, "Wind from the west");
  ck_assert_str_eq(said()->rt_flag, "A");
  send_text(second, sizeof second - 1, 1); /* without a code that ends it */
  ck_assert_str_eq(said()->rt, "");
  ck_assert_str_eq(said()->rt_flag, "B");
  send_text(second, sizeof second - 1, 1);
  ck_assert_str_eq(said()->rt, "Rain tomorrow, then fair");
}
END_TEST

/* Untrusted: an escape sequence, a C1 code, a line feed. */
START_TEST(text_cannot_reach_the_terminal)
{
  static const char nasty[] = "\033[2J\n\x9b"
                              "end\r";
  begin();
  send_text(nasty, sizeof nasty - 1, 0);
  send_text(nasty, sizeof nasty - 1, 0);
  ck_assert_str_eq(said()->rt, "?[2J?\xc3\xa7"
                               "end"); /* 9B is c with a cedilla in this set */
  ck_assert_str_eq(said()->rt_characters[0].utf8, "?");
}
END_TEST

START_TEST(characters_are_those_of_the_set)
{
  begin();
  send_name("\x91\xe1\x24\x99"
            "\xaa\x5f\x82\x8d"); /* table E.1 */
  send_name("\x91\xe1\x24\x99"
            "\xaa\x5f\x82\x8d");
  ck_assert_str_eq(said()->ps, "\xc3\xa4\xc3\x85\xc2\xa4\xc3\xbc\xc2\xa3_\xc3\xa9\xc3\x9f");
}
END_TEST

/* Vectors of the fact sheet: 2026-11-25 08:45 UTC, one hour east, and 23:59, five west. */
START_TEST(clock)
{
  begin();
  struct sc_rds_group group = rds_clean(0xc201, 0x4141, 0xdf72, 0x8b42, 7.0);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ct, "2026-11-25T08:45Z (+01:00)");
  ck_assert(!said()->ct_confirmed);
  group = rds_clean(0xc201, 0x4141, 0xdf72, 0x8b82, 67.0);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ct, "2026-11-25T08:46Z (+01:00)");
  ck_assert(said()->ct_confirmed);
  group = rds_clean(0xc201, 0x4141, 0xdf73, 0x7eea, 80.0);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ct, "2026-11-25T23:59Z (-05:00)");
  ck_assert(!said()->ct_confirmed);
  group = rds_clean(0xc201, 0x4141, 0xdf73, 0x8f02, 80.0); /* 24 o'clock, minute 60 */
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ct, "2026-11-25T23:59Z (-05:00)");
}
END_TEST

START_TEST(country_region_and_call_letters)
{
  begin();
  for (int i = 0; i < 2; i++) {
    struct sc_rds_group group = rds_clean(0x2528, 0x1140, 0x00a0, 0, 0.0);
    measure_rds_groups_take(&groups, &group);
    if (i == 0)
      ck_assert_str_eq(said()->call_letters, "");
  }
  struct sc_rds_group group = rds_clean(0x2528, 0x1140, 0x3009, 0, 0.0);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->ecc, "A0");
  ck_assert_str_eq(said()->country, "United States");
  ck_assert_str_eq(said()->call_letters, "maybe KIAI");
  ck_assert_str_eq(said()->pty_name, "Country");
  ck_assert_str_eq(said()->language, "");
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->language, "English");
}
END_TEST

static void send_twice(uint16_t pi, uint16_t b, uint16_t c)
{
  for (int i = 0; i < 2; i++) {
    const struct sc_rds_group group = rds_clean(pi, b, c, 0x2020, 0.0);
    measure_rds_groups_take(&groups, &group);
  }
}

/* ECC E1 is of Europe, A0 of the United States (IEC 62106-4, from memory); AF code 92 is 96.7 MHz,
 * 93 is 96.8 MHz, which 47 CFR 73.201 has no channel for. PTY 10. */
START_TEST(region_by_evidence_or_wish)
{
  static const struct {
    enum sc_rds_region wish;
    unsigned ecc, af;
    const char *name, *type, *evidence;
  } cases[] = {
      {SC_RDS_REGION_OPEN, 0, 92, NULL, "Pop music (North America: Country)", ""},
      {SC_RDS_REGION_OPEN, 0, 93, "world", "Pop music",
       "it lists frequencies that are no channels in North America"},
      {SC_RDS_REGION_OPEN, 0xe1, 92, "world", "Pop music",
       "the extended country code is not North American"},
      {SC_RDS_REGION_OPEN, 0xa0, 93, "north-america", "Country",
       "the extended country code is North American, but 96.8 MHz, which it lists, is no channel "
       "there"},
      {SC_RDS_REGION_RBDS, 0, 92, "north-america", "Country", "the user has chosen it"},
      {SC_RDS_REGION_RBDS, 0xe1, 92, "north-america", "Country",
       "the user has chosen it, but the extended country code is not North American"},
      {SC_RDS_REGION_RDS, 0xa0, 92, "world", "Pop music",
       "the user has chosen it, but the extended country code is North American"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    measure_rds_groups_start(&groups, cases[i].wish);
    send_twice(0x2528, 0x0148, (uint16_t)(0xe100 | cases[i].af));
    if (cases[i].ecc != 0)
      send_twice(0x2528, 0x1140, (uint16_t)cases[i].ecc);
    ck_assert((said()->region_name == NULL) == (cases[i].name == NULL));
    if (cases[i].name != NULL)
      ck_assert_str_eq(said()->region_name, cases[i].name);
    ck_assert_str_eq(said()->pty_name, cases[i].type);
    ck_assert_str_eq(said()->pty_names[0], "Pop music");
    ck_assert_str_eq(said()->pty_names[1], "Country");
    ck_assert_str_eq(said()->region_evidence, cases[i].evidence);
    ck_assert_str_eq(said()->call_letters,
                     said()->region == SC_RDS_REGION_RBDS ? "maybe KIAI" : "");
  }
}
END_TEST

/* Method B repeats the tuned frequency in each pair, method A does not. */
START_TEST(af_methods)
{
  begin();
  for (int i = 0; i < 3; i++) {
    send(0x0148, 0xe35c, 0x2020); /* three follow, the first 96.7 */
    send(0x0149, 0x1020, 0x2020);
    send(0x0149, 0x3040, 0x2020);
  }
  ck_assert_str_eq(said()->af_method, "A");
  ck_assert_uint_eq(said()->af_count, 5);
  begin();
  for (int i = 0; i < 3; i++) {
    send(0x0148, 0xe55c, 0x2020);
    send(0x0149, 0x5c20, 0x2020);
    send(0x0149, 0x105c, 0x2020);
  }
  ck_assert_str_eq(said()->af_method, "B");
  ck_assert_str_eq(said()->af_list, "96.7, 90.7, 89.1");
}
END_TEST

/* RT+ announced on 11A; artist at 0, 6 characters, title at 9, 5 characters (fact sheet vector). */
START_TEST(tags)
{
  static const char text[] = "Alba M - Tides\r";
  begin();
  for (int i = 0; i < 3; i++) {
    send(0x3156, 0x0000, 0x4bd7);
    send_text(text, sizeof text - 1, 0);
    send(0xb158, 0x800a, 0x0924);
  }
  ck_assert_uint_eq(said()->oda_count, 1);
  ck_assert_uint_eq(said()->oda[0].id, 0x4bd7);
  ck_assert_str_eq(said()->oda[0].name, "RT+");
  ck_assert_str_eq(sc_rds_group_name(said()->oda[0].type), "11A");
  ck_assert_uint_eq(said()->tag_count, 2);
  ck_assert_str_eq(said()->tags[0].name, "artist");
  ck_assert_str_eq(said()->tags[0].text, "Alba M");
  ck_assert_str_eq(said()->tags[1].name, "title");
  ck_assert_str_eq(said()->tags[1].text, "Tides");
}
END_TEST

START_TEST(other_networks)
{
  static const char name[] = "BBFELL 2";
  begin();
  for (int i = 0; i < 2; i++) {
    for (unsigned s = 0; s < 4; s++)
      send((uint16_t)(0xe150 | s),
           (uint16_t)((unsigned char)name[2 * s] << 8 | (unsigned char)name[2 * s + 1]), 0xc204);
    send(0xe15d, 0x5001, 0xc204); /* PTY 10, TA */
    send(0xe154, 0xe122, 0xc204); /* one AF: 90.9 MHz */
    send(0xe155, 0x5c41, 0xc204); /* tuned to 96.7 it is on 94.0 MHz */
  }
  ck_assert_uint_eq(said()->eon_count, 1);
  ck_assert_uint_eq(said()->eon[0].pi, 0xc204);
  ck_assert_str_eq(said()->eon[0].ps, "BBFELL 2");
  ck_assert_int_eq(said()->eon[0].pty, 10);
  ck_assert_int_eq(said()->eon[0].tp, SC_YES);
  ck_assert_int_eq(said()->eon[0].ta, SC_YES);
  ck_assert_uint_eq(said()->eon[0].af_count, 2);
  ck_assert_double_eq_tol(said()->eon[0].af_mhz[0], 90.9, 1e-9);
  ck_assert_double_eq_tol(said()->eon[0].af_mhz[1], 94.0, 1e-9);
  for (int i = 0; i < 2; i++)
    send(0xe950, 0xc201, 0xc204); /* 14B: TP, TA ended */
  ck_assert_int_eq(said()->eon[0].ta, SC_NO);
}
END_TEST

/* 1A and 1B, IEC 62106-2 from memory: day 5 bits, hour 5, minute 6. */
START_TEST(programme_item)
{
  begin();
  for (int i = 0; i < 2; i++)
    send(0x1940, 0xc201, 25 << 11 | 8 << 6 | 45);
  ck_assert_str_eq(said()->pin, "day 25, 08:45");
  for (int i = 0; i < 2; i++) {
    send(0x1140, 0x00e1, 0);                      /* none */
    send(0x1140, 0x00e1, 26 << 11 | 24 << 6 | 1); /* 24 o'clock */
  }
  ck_assert_str_eq(said()->pin, "day 25, 08:45");
}
END_TEST

/* 15B carries TA, MS and DI as 0B does: segment 3 is d0, 0 is d3. */
START_TEST(fast_switching)
{
  begin();
  for (int i = 0; i < 2; i++) {
    send(0xf95f, 0xc201, 0xf95f);
    send(0xf95c, 0xc201, 0xf95c);
  }
  ck_assert_int_eq(said()->ta, SC_YES);
  ck_assert_int_eq(said()->music, SC_YES);
  ck_assert_str_eq(said()->di, "stereo, dynamic PTY");
}
END_TEST

/* A change of its flag begins a new name. */
START_TEST(type_name)
{
  begin();
  for (int i = 0; i < 2; i++) {
    send(0xa140, 0x4e45, 0x5753); /* "NEWS" */
    send(0xa141, 0x2020, 0x2020);
  }
  ck_assert_str_eq(said()->ptyn, "NEWS");
  send(0xa150, 0x524f, 0x434b); /* "ROCK" */
  ck_assert_str_eq(said()->ptyn, "");
  ck_assert_str_eq(said()->ptyn_characters[0].utf8, "R");
}
END_TEST

/* After 250 a code is of long or medium wave: 16 is 531 kHz. */
START_TEST(af_below_vhf)
{
  begin();
  for (int i = 0; i < 2; i++) {
    send(0x0148, 0xe25c, 0x2020);
    send(0x0149, 0xfa10, 0x2020);
  }
  ck_assert_str_eq(said()->af_list, "96.7, 0.531");
}
END_TEST

START_TEST(another_station_begins_anew)
{
  begin();
  send_name("FELLSIDE");
  send_name("FELLSIDE");
  struct sc_rds_group group = rds_clean(0xd318, 0x2140, 0x4142, 0x4344, 0.0);
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->pi, "C201"); /* once is not enough */
  ck_assert_str_eq(said()->ps, "FELLSIDE");
  measure_rds_groups_take(&groups, &group);
  ck_assert_str_eq(said()->pi, "D318");
  ck_assert_str_eq(said()->ps, "");
}
END_TEST

START_TEST(every_type_is_counted)
{
  begin();
  for (unsigned type = 0; type < 32; type++)
    for (unsigned i = 0; i <= type; i++)
      send((uint16_t)(type << 11), 0xc201, 0);
  for (unsigned type = 0; type < 32; type++)
    ck_assert_uint_eq(said()->group_counts[type], type + 1);
  ck_assert_uint_eq(said()->groups, 528);
  ck_assert_str_eq(sc_rds_group_name(29), "14B");
}
END_TEST

Suite *rds_groups_suite(void)
{
  Suite *suite = suite_create("rds groups");
  TCase *tests = tcase_create("rds groups");
  tcase_add_test(tests, call_letters);
  tcase_add_test(tests, dates);
  tcase_add_test(tests, dates_follow_the_annex);
  tcase_add_test(tests, af_codes);
  tcase_add_test(tests, nothing_is_sure_at_first_sight);
  tcase_add_test(tests, a_changing_name_is_not_shown);
  tcase_add_test(tests, corrected_blocks_count_half);
  tcase_add_test(tests, a_false_correction_changes_nothing);
  tcase_add_test(tests, text_ends_and_changes);
  tcase_add_test(tests, text_cannot_reach_the_terminal);
  tcase_add_test(tests, characters_are_those_of_the_set);
  tcase_add_test(tests, clock);
  tcase_add_test(tests, country_region_and_call_letters);
  tcase_add_test(tests, region_by_evidence_or_wish);
  tcase_add_test(tests, af_methods);
  tcase_add_test(tests, tags);
  tcase_add_test(tests, af_below_vhf);
  tcase_add_test(tests, other_networks);
  tcase_add_test(tests, programme_item);
  tcase_add_test(tests, fast_switching);
  tcase_add_test(tests, type_name);
  tcase_add_test(tests, another_station_begins_anew);
  tcase_add_test(tests, every_type_is_counted);
  suite_add_tcase(suite, tests);
  return suite;
}
