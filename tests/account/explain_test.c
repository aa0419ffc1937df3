/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account of results that are made up line by line, so that each verdict can be provoked. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"
#include "account/made.h"
#include "account/scene.h"
#include "account/suites.h"

/* A search that found more lines than it keeps has lost its weakest: that says nothing of lines
 * that another one found. */
START_TEST(a_full_search_speaks_for_its_own_lines)
{
  struct sc_line lines[] = {{.alongside = true}, {.alongside = false}};
  const struct sc_line_list list = {
      .lines = lines,
      .count = 2,
      .threshold_db = 13,
      .searches = {{.reach_hz = 120e3, .weakest_db = sc_measured(-75, 0.1)},
                   {.reach_hz = (double)INFINITY, .weakest_db = sc_not_measured("it kept all")}},
      .search_count = 2};
  for (size_t i = 0; i < 2; i++) {
    lines[i].tone.level_db = sc_measured(-70, 0.1);
    lines[i].tone.snr_db = 50;
  }
  ck_assert_double_eq_tol(account_margin_db(&list, &lines[0]), 5, 1e-9);
  ck_assert_double_eq_tol(account_margin_db(&list, &lines[1]), 37, 1e-9);
}
END_TEST

START_TEST(a_pilot_alone)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  explain(&made);
  check(&made.composite[0], SC_VERDICT_EXPLAINED, "pilot");
  ck_assert_str_eq(made.composite[0].label, "pilot");
  check(&made.air[0], SC_VERDICT_EXPLAINED, "the carrier: J0 of 1 tone");
  ck_assert_str_eq(made.air[0].label, "carrier");
  check(&made.air[2], SC_VERDICT_EXPLAINED, "first order of the pilot");
  check(&made.air[4], SC_VERDICT_EXPLAINED, "second order of the pilot");
  ck_assert_double_eq_tol(made.air[2].predicted_dbc.value, -15.15, 0.005);
  ck_assert_double_eq_tol(made.air[4].predicted_dbc.value, -36.13, 0.005);
  ck_assert_str_eq(made.air[4].label, "2 x pilot");
  ck_assert_uint_eq(made.air[3].order_count, 1);
  ck_assert_int_eq(made.air[3].orders[0], -2);
  for (size_t i = 0; i < made.result.air_lines.count; i++)
    ck_assert_double_eq_tol(made.air[i].rest_db.value, 0, 1e-6);
}
END_TEST

/* -J2 -+ j J0 J1 e^(+-jt) with t = 90 degrees: the two lines differ. */
START_TEST(a_pilot_with_a_residual)
{
  struct made made;
  start(&made);
  with_pilot(&made);
  double index = 0.375 / 38, first = j0(pilot_index) * j1(index), second = jn(2, pilot_index);
  add_tone(&made, 19e3, 6.75, -pi / 2);
  add_tone(&made, 38e3, 0.375, 0);
  add_air(&made, 0, j0(pilot_index) * j0(index));
  add_air(&made, -38e3, -second - first);
  add_air(&made, 38e3, -second + first);
  explain(&made);
  check(&made.composite[1], SC_VERDICT_RESIDUAL, "0.50 % of 75 kHz");
  ck_assert_str_eq(made.composite[1].label, "38 kHz residual");
  check(&made.air[1], SC_VERDICT_EXPLAINED,
        "second order of the pilot with first order of the 38 kHz residual, added by phase");
  check(&made.air[2], SC_VERDICT_EXPLAINED, "added by phase");
  ck_assert_double_eq_tol(made.air[2].predicted_dbc.value, -39.31, 0.02);
}
END_TEST

/* The same line as in the last test, without the residual on the composite. */
START_TEST(what_is_left_is_told)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  struct sc_line *line = &made.air[4];
  line->level_dbc.value += 1;
  explain(&made);
  check(line, SC_VERDICT_RESIDUAL, "second order of the pilot");
  ck_assert_double_eq_tol(line->rest_db.value, 1, 1e-6);
}
END_TEST

START_TEST(without_a_pilot_nothing_is_called_so)
{
  struct made made;
  start(&made);
  made.result.pilot.present = SC_NO;
  add_tone(&made, 19e3, 6.75, 0);
  add_tone(&made, 38e3, 0.4, 0);
  explain(&made);
  ck_assert_ptr_null(strstr(made.composite[0].label, "pilot"));
  ck_assert_ptr_null(strstr(made.composite[1].label, "residual"));
}
END_TEST

/* Where Carson's bandwidth has ended, what is not predicted is no programme, whether its mirror can
 * be seen or not. */
START_TEST(beyond_the_modulation)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  made.result.occupancy.carson_hz = sc_measured(200e3, (double)NAN);
  add_air(&made, 110e3, 1e-4)->tone.snr_db = 14; /* 1 dB over the threshold, within 130 kHz */
  add_air(&made, 140e3, 1e-4)->tone.snr_db = 14;
  add_air(&made, 291e3, 1e-3); /* mirrored outside of the capture */
  add_pair(&made, 150e3, 0.005 * cexp(1.1 * I), -0.005 * cexp(-1.1 * I));
  explain(&made);
  check(&made.air[7], SC_VERDICT_UNKNOWN, "cannot be seen");
  check(&made.air[8], SC_VERDICT_SPURIOUS, "no programme reaches so far");
  ck_assert_str_eq(made.air[9].label, "carrier at +291 kHz");
  check(&made.air[9], SC_VERDICT_SPURIOUS, "no programme reaches so far");
  check(&made.air[11], SC_VERDICT_SPURIOUS, "like FM");
}
END_TEST

/* 25 kHz steps beside the carrier, and the 12th harmonic of 7.6 MHz 2 ppm off. */
START_TEST(lines_of_the_reference)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, 175e3, 1e-3);
  add_tone(&made, 75e3, 0.05, 0);
  add_air(&made, 171e3, 1e-3);
  made.result.capture.reference_hz = 25e3;
  explain(&made);
  check(&made.air[7], SC_VERDICT_SPURIOUS, "7 times the given reference of 25 kHz");
  check(&made.composite[1], SC_VERDICT_SPURIOUS, "3 times the given reference");
  ck_assert_str_eq(made.air[7].label, "7 x reference");
  check(&made.air[8], SC_VERDICT_SPURIOUS, "carrier of its own");
}
END_TEST

START_TEST(harmonics_of_the_reference)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  made.result.carrier_frequency_hz = sc_measured(91.1e6, 1);
  double right = 12 * 7.6e6 - 91.1e6;
  add_air(&made, right + 182, 1e-3);
  add_air(&made, right + 5200, 1e-3); /* 57 ppm: not it */
  made.result.capture.reference_hz = 7.6e6;
  explain(&made);
  check(&made.air[7], SC_VERDICT_SPURIOUS,
        "harmonic 12 of the given reference of 7600 kHz, within 2.0");
  check(&made.air[8], SC_VERDICT_SPURIOUS, "carrier of its own");
}
END_TEST

/* 2 x 101 - 121 = 81 kHz; 2 x 121 - 101 = 141 kHz, but stronger than its parents. */
/* A programme of 31 Hz that changes is no tone of the composite, and FM has it beside each of the
 * pilot's lines, up to the third order at 57 kHz (Bessel functions): 2 x 19.031 - (-18.969) kHz.
 * That is no mixing of carriers, and as far as the pilot's own lines reach modulation does. */
START_TEST(products_of_unseen_fm_are_no_carriers)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  made.result.occupancy.carson_hz = sc_measured(52e3, (double)NAN); /* 2 x (6.75 + 19) kHz */
  for (int side = -1; side <= 1; side += 2)
    add_pair(&made, 19e3 + side * 31.0, 0.015, -0.015);
  add_air(&made, 57.031e3, 8e-5)->tone.snr_db = 14; /* 1 dB over the threshold: no mirror is seen */
  explain(&made);
  check(&made.air[11], SC_VERDICT_UNKNOWN, "cannot be seen");
}
END_TEST

START_TEST(mixing_of_two_carriers)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, 101e3, 1e-2);
  add_air(&made, 121e3, 1e-2);
  add_air(&made, 81e3, 1e-3);
  add_air(&made, 141e3, 2e-2);
  add_air(&made, 61.01e3, 1e-3); /* 10 Hz beside 2 x 81 - 101 */
  explain(&made);
  check(&made.air[9], SC_VERDICT_SPURIOUS, "twice the line at +101.000 kHz less that at +121.000");
  check(&made.air[10], SC_VERDICT_SPURIOUS, "carrier of its own");
  check(&made.air[11], SC_VERDICT_SPURIOUS, "carrier of its own");
}
END_TEST

/* Amplitudes that an ideal limiter makes of two equal tones: its products are a third of each
 * (cos x cos 3 y / 3 against cos x cos y in the product of two square waves). Six in equal steps,
 * of one level, may not be that, whichever is taken for a parent. */
START_TEST(mixing_makes_no_comb_of_one_level)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, 101e3, 1.00e-2);
  add_air(&made, 121e3, 1.00e-2);
  add_air(&made, 81e3, 0.33e-2);
  add_air(&made, 141e3, 0.34e-2);
  explain(&made);
  check(&made.air[9], SC_VERDICT_SPURIOUS, "mixing product, twice the line at +101.000 kHz");
  check(&made.air[10], SC_VERDICT_SPURIOUS, "mixing product, twice the line at +121.000 kHz");
  start(&made);
  add_pilot_alone(&made);
  for (int i = 0; i < 6; i++)
    add_air(&made, 81e3 + 20e3 * i, 1e-2 + 1e-5 * fabs(i - 2.5));
  explain(&made);
  for (size_t i = 7; i < 13; i++)
    ck_assert_ptr_null(strstr(made.air[i].cause, "mixing"));
}
END_TEST

/* l = conj(u): AM (the phases of both lines are those of the carrier). */
START_TEST(amplitude_modulation)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  double complex half = 0.005 * j0(pilot_index) * cexp(0.4 * I);
  add_pair(&made, 100, half, conj(half));
  explain(&made);
  check(&made.air[8], SC_VERDICT_SPURIOUS, "amplitude modulation of 1 % at 100 Hz");
  ck_assert_double_eq_tol(made.air[8].am_part_dbc.value, 20 * log10(cabs(half)), 0.01);
  ck_assert_ptr_nonnull(made.air[8].fm_part_dbc.why);
  ck_assert_ptr_nonnull(made.air[8].one_sided_dbc.why);
}
END_TEST

/* l = -conj(u): FM of which the composite shows nothing is no AM and no carrier. */
START_TEST(a_pair_of_unseen_fm)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  double complex half = 0.005 * cexp(1.1 * I);
  add_pair(&made, 71e3, half, -conj(half));
  explain(&made);
  check(&made.air[8], SC_VERDICT_UNKNOWN, "like FM");
  ck_assert_double_eq_tol(made.air[8].fm_part_dbc.value, -46.02, 0.01);
  ck_assert_ptr_nonnull(made.air[8].am_part_dbc.why);
}
END_TEST

/* The relations of a pair by themselves, referred to the carrier: FM of two lines that the
 * composite makes, a line above only, and AM of 0.6 % at 38 kHz that shares its place with the
 * pilot's second order. */
START_TEST(pairs_are_divided)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  double complex am = 0.003 * cexp(2.1 * I);
  add_air(&made, 71e3, 0.004);
  struct sc_line *upper = &made.air[4], *lower = &made.air[3];
  double complex u = jn(2, pilot_index) + am, l = jn(2, pilot_index) + conj(am);
  upper->level_dbc.value = 20 * log10(cabs(u));
  lower->level_dbc.value = 20 * log10(cabs(l));
  set_phase(upper, cabs(u), carg(u));
  set_phase(lower, cabs(l), carg(l));
  explain(&made);
  const struct sc_line *pilot = &made.air[2], *alone = &made.air[7];
  ck_assert_double_eq_tol(pilot->fm_part_dbc.value, -15.15, 0.01);
  ck_assert_ptr_nonnull(pilot->am_part_dbc.why);
  ck_assert_ptr_nonnull(pilot->one_sided_dbc.why);
  ck_assert_double_eq_tol(alone->one_sided_dbc.value, 20 * log10(0.004), 0.01);
  ck_assert_ptr_nonnull(alone->am_part_dbc.why);
  ck_assert_ptr_nonnull(alone->fm_part_dbc.why);
  ck_assert_double_eq_tol(upper->am_part_dbc.value, 20 * log10(0.003), 0.05);
  ck_assert_double_eq_tol(upper->fm_part_dbc.value, -36.13, 0.01);
  ck_assert_ptr_nonnull(upper->one_sided_dbc.why);
  check(upper, SC_VERDICT_RESIDUAL, "second order of the pilot; what is left, -50.5 dBc, is AM");
}
END_TEST

/* The same without phases: nothing is said of parts. */
/* AM of 0.7 % at 38 kHz of a pilot: every line has two more of it, some on top of the modulation's
 * own. Its own pair stands for it; the others are modulation with it, or AM alone. */
START_TEST(am_that_lies_on_modulation)
{
  struct made made;
  start(&made);
  with_pilot(&made);
  add_tone(&made, 19e3, 6.75, 0);
  double complex half = 0.0035 * cexp(0.9 * I);
  for (int n = 0; n <= 4; n++) {
    double complex u =
        jn(n, pilot_index) + half * jn(n - 2, pilot_index) + conj(half) * jn(n + 2, pilot_index);
    double complex l =
        jn(-n, pilot_index) + half * jn(-n - 2, pilot_index) + conj(half) * jn(-n + 2, pilot_index);
    if (n == 0)
      add_air(&made, 0, u);
    else
      add_pair(&made, 19e3 * n, u, l);
  }
  explain(&made);
  check(&made.air[4], SC_VERDICT_RESIDUAL, "what is left is AM of 0.7 % at 38 kHz");
  check(&made.air[2], SC_VERDICT_EXPLAINED, "first order of the pilot");
  check(&made.air[6], SC_VERDICT_EXPLAINED, "third order of the pilot, with the AM at 38 kHz");
  check(&made.air[8], SC_VERDICT_SPURIOUS, "beside a line of the modulation");
}
END_TEST

START_TEST(pairs_of_other_records_are_not_divided)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  for (size_t i = 0; i < made.result.air_lines.count; i++)
    made.air[i].alongside = false;
  explain(&made);
  check(&made.air[4], SC_VERDICT_EXPLAINED, "second order of the pilot");
  ck_assert_ptr_nonnull(made.air[4].parts_limit_dbc.why);
}
END_TEST

START_TEST(free_tones_and_difference_tones)
{
  struct made made;
  start(&made);
  with_pilot(&made);
  add_tone(&made, 1000, 5, 0);
  add_tone(&made, 19e3, 6.75, 0);
  add_tone(&made, 37e3, 2, 0);
  add_tone(&made, 39e3, 2, 0);
  add_tone(&made, 57321, 0.1, 0);
  add_tone(&made, 73210, 0.3, 0);
  add_tone(&made, 2000, 0.05, 0);
  add_tone(&made, 41500, 0.3, 0);
  explain(&made);
  check(&made.composite[0], SC_VERDICT_EXPLAINED, "1000 Hz in the sum");
  check(&made.composite[2], SC_VERDICT_EXPLAINED, "side band of 1000 Hz at 38 kHz");
  check(&made.composite[3], SC_VERDICT_EXPLAINED, "side band of 1000 Hz at 38 kHz");
  check(&made.composite[4], SC_VERDICT_UNKNOWN, "data band");
  check(&made.composite[5], SC_VERDICT_SPURIOUS, "no standard");
  check(&made.composite[6], SC_VERDICT_UNKNOWN, "possible product: 2 x 1000 Hz");
  check(&made.composite[7], SC_VERDICT_UNKNOWN, "without a twin");
}
END_TEST

/* Modulation that is no tone takes 0.5 dB from every line. */
START_TEST(a_common_loss)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  for (size_t i = 0; i < made.result.air_lines.count; i++)
    made.air[i].level_dbc.value -= 0.5;
  explain(&made);
  check(&made.air[0], SC_VERDICT_EXPLAINED, "0.50 dB less on all lines");
  check(&made.air[3], SC_VERDICT_EXPLAINED, "second order");
  ck_assert_double_eq_tol(made.air[3].rest_db.value, 0, 1e-6);
}
END_TEST

START_TEST(no_composite_explains_nothing)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  made.result.composite_why = "the carrier is below the FM threshold";
  explain(&made);
  check(&made.air[0], SC_VERDICT_UNKNOWN, "no composite to explain it by");
}
END_TEST

/* 200 lines and as many tones on the composite as there may be. */
START_TEST(a_crowd_is_explained)
{
  static struct sc_line air[200], composite[200];
  struct made made;
  start(&made);
  made.result.air_lines = list_of(air);
  made.result.composite_lines = list_of(composite);
  for (size_t i = 0; i < 200; i++) {
    struct sc_line *line = &air[i];
    double hz = ((double)i - 100) * 331.7 + 3e-3 * (double)(i * i);
    *line = (struct sc_line){.mirror = -1, .offset_hz = sc_measured(hz, 1e-3)};
    line->level_dbc = line->tone.level_db = sc_measured(-20 - 0.2 * (double)i, 0.1);
    line->tone.frequency_hz = sc_measured(hz + carrier_hz, 1e-3);
    struct sc_line *tone = &composite[i];
    *tone = (struct sc_line){.mirror = -1, .offset_hz = sc_measured(100 + 431.3 * (double)i, 1e-3)};
    tone->deviation_khz = sc_measured(0.2, 1e-4);
    tone->tone.level_db = sc_measured(-14, 1e-3);
    tone->tone.frequency_hz = tone->offset_hz;
  }
  made.result.air_lines.count = made.result.composite_lines.count = 200;
  ck_assert_int_eq(account_explain(&made.result, NULL), SC_OK);
  for (size_t i = 0; i < 200; i++)
    ck_assert_uint_gt(strlen(air[i].cause), 0);
}
END_TEST

/* 47 CFR 73.322(a): sum and difference carry up to 15 kHz; a tone of just that is measured a little
 * beside, and is one of theirs. */
START_TEST(the_highest_tone_of_the_programme_is_one)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  const struct sc_line *highest = add_tone(&made, 15e3 + 2e-3, 1e-3, 0);
  const struct sc_line *beyond = add_tone(&made, 15.1e3, 1e-3, 0);
  explain(&made);
  check(highest, SC_VERDICT_EXPLAINED, "in the sum of left and right");
  ck_assert_int_ne(beyond->verdict, SC_VERDICT_EXPLAINED);
}
END_TEST

Suite *explain_suite(void)
{
  Suite *suite = suite_create("explain");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, a_pilot_alone);
  tcase_add_test(lines, the_highest_tone_of_the_programme_is_one);
  tcase_add_test(lines, a_pilot_with_a_residual);
  tcase_add_test(lines, what_is_left_is_told);
  tcase_add_test(lines, without_a_pilot_nothing_is_called_so);
  tcase_add_test(lines, beyond_the_modulation);
  tcase_add_test(lines, lines_of_the_reference);
  tcase_add_test(lines, harmonics_of_the_reference);
  tcase_add_test(lines, products_of_unseen_fm_are_no_carriers);
  tcase_add_test(lines, mixing_of_two_carriers);
  tcase_add_test(lines, mixing_makes_no_comb_of_one_level);
  tcase_add_test(lines, amplitude_modulation);
  tcase_add_test(lines, a_pair_of_unseen_fm);
  tcase_add_test(lines, pairs_are_divided);
  tcase_add_test(lines, am_that_lies_on_modulation);
  tcase_add_test(lines, pairs_of_other_records_are_not_divided);
  tcase_add_test(lines, free_tones_and_difference_tones);
  tcase_add_test(lines, a_common_loss);
  tcase_add_test(lines, no_composite_explains_nothing);
  tcase_add_test(lines, a_crowd_is_explained);
  tcase_add_test(lines, a_full_search_speaks_for_its_own_lines);
  suite_add_tcase(suite, lines);
  return suite;
}
