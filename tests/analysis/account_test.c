/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole signals, made from scenarios and sent through the chain: each line is named as what was
 * put in. Levels are compared with what the account itself predicted from the composite. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/result.h>

#include "analysis/chain.h"
#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

static const struct sc_line *line_at(const struct sc_line_list *list, double hz)
{
  const struct sc_line *line = chain_line(list, hz);
  ck_assert_msg(line != NULL, "no line at %g Hz", hz);
  return line;
}

static void check(const struct sc_line_list *list, double hz, enum sc_verdict verdict,
                  const char *label)
{
  const struct sc_line *line = line_at(list, hz);
  ck_assert_msg(line->verdict == verdict && strstr(line->label, label) != NULL,
                "%g Hz is %s, %s: %s", hz, sc_verdict_name(line->verdict), line->label,
                line->cause);
}

static size_t count_of(const struct sc_line_list *list, enum sc_verdict verdict)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += list->lines[i].verdict == verdict;
  return count;
}

/* Lines of E of 46 dB and more are right to 0.1 dB. */
static void check_rests(const struct sc_line_list *list)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->tone.snr_db >= 46 && line->verdict == SC_VERDICT_EXPLAINED)
      ck_assert_msg(fabs(line->rest_db.value) < 0.1, "%g Hz: %g dB left", line->offset_hz.value,
                    line->rest_db.value);
  }
}

/* 50 dB in 200 kHz and 4 s. */
static const double limit_percent = 0.02;

START_TEST(a_clean_pilot_has_no_residual)
{
  unsigned scenes = support_trials(support_long() ? 200 : 1);
  double limit = 0, most = 0;
  for (unsigned seed = 1; seed <= scenes; seed++) {
    struct sc_result result = scene_told("seconds = 4.0;", seed);
    const struct sc_stereo *stereo = &result.stereo;
    const struct sc_line_list *air = &result.air_lines;
    check(air, 0, SC_VERDICT_EXPLAINED, "carrier");
    for (int side = -1; side <= 1; side += 2) {
      check(air, side * 19e3, SC_VERDICT_EXPLAINED, "pilot");
      check(air, side * 38e3, SC_VERDICT_EXPLAINED, "2 x pilot");
      check(air, side * 57e3, SC_VERDICT_EXPLAINED, "3 x pilot");
    }
    check_rests(air);
    check(&result.composite_lines, 19e3, SC_VERDICT_EXPLAINED, "pilot");
    ck_assert_ptr_null(chain_line(&result.composite_lines, 38e3));
    ck_assert_uint_eq(count_of(air, SC_VERDICT_SPURIOUS), 0);
    ck_assert_uint_eq(count_of(air, SC_VERDICT_RESIDUAL), 0);
    ck_assert_int_eq(stereo->residual_present, SC_NO);
    ck_assert_ptr_nonnull(strstr(line_at(air, 38e3)->cause, "second order of the pilot alone"));
    limit = fmax(limit, stereo->residual_limit_percent.value);
    most = fmax(most, stereo->residual_percent.value);
    sc_result_clear(&result);
  }
  printf("%u clean scenes: no residual, at most %.4f %% read, seen from %.4f %%\n", scenes, most,
         limit);
  ck_assert_double_le(limit, limit_percent);
}
END_TEST

/* 0.3 and 0.8 % of 75 kHz at any phase: found, right within three sigma as often as that should
 * be, and the line on air is that of both together. */
START_TEST(a_residual_is_found_at_any_phase)
{
  static const double percents[] = {0.3, 0.8};
  unsigned scenes = support_trials(support_long() ? 100 : 4), beyond = 0;
  double worst = 0;
  for (unsigned i = 0; i < scenes; i++) {
    char changes[128];
    double percent = percents[i % 2];
    snprintf(changes, sizeof changes, "station = { residual = { khz = %g; phase_deg = %g; }; };",
             0.75 * percent, fmod(137.5 * i, 360));
    struct sc_result result = scene_told(changes, 10 + i);
    const struct sc_quantity *found = &result.stereo.residual_percent;
    double sigmas = fabs(found->value - percent) / found->uncertainty;
    worst = fmax(worst, sigmas);
    beyond += sigmas > 3;
    ck_assert_int_eq(result.stereo.residual_present, SC_YES);
    check(&result.composite_lines, 38e3, SC_VERDICT_RESIDUAL, "38 kHz residual");
    for (int side = -1; side <= 1; side += 2) {
      check(&result.air_lines, side * 38e3, SC_VERDICT_EXPLAINED, "2 x pilot");
      ck_assert_ptr_nonnull(strstr(line_at(&result.air_lines, side * 38e3)->cause, "with"));
    }
    check_rests(&result.air_lines);
    sc_result_clear(&result);
  }
  printf("%u residuals found, %u beyond 3 sigma, worst %.1f\n", scenes, beyond, worst);
  ck_assert_uint_le(beyond, scenes / 50); /* 0.3 % by chance */
}
END_TEST

/* Three lines between 61 and 97 kHz look alike on air or on the composite; and a little hum. */
/* Hundreds of lines are explained, within 0.1 dB, and a carrier beside them is not. */
START_TEST(strong_tones_left_and_right_make_no_residuals)
{
  static const char *const programmes[] = {
      "{ kind = \"tone\"; to = \"left\"; hz = 1000; khz = 20; },"
      "{ kind = \"tone\"; to = \"right\"; hz = 2000; khz = 15; }",
      "{ kind = \"tone\"; to = \"left\"; hz = 997; khz = 20; },"
      "{ kind = \"tone\"; to = \"right\"; hz = 1213; khz = 20; }"};
  for (unsigned i = 0; i < 2; i += support_stride(2)) {
    char changes[384];
    snprintf(changes, sizeof changes,
             "seconds = 2.0; station = { programme = ( %s ); };"
             "receiver = { carriers = ( { name = \"s\"; hz = 71330; dbc = %d; } ); };",
             programmes[i], i == 0 ? -45 : -28);
    struct sc_result result = scene_told(changes, 30 + i);
    const struct sc_line_list *air = &result.air_lines;
    ck_assert_uint_gt(air->count, 200);
    check(air, 71210, SC_VERDICT_SPURIOUS, "carrier at +71.21 kHz");
    ck_assert_uint_eq(count_of(air, SC_VERDICT_EXPLAINED), air->count - 1);
    check_rests(air);
    sc_result_clear(&result);
  }
}
END_TEST

/* A tone of full deviation reaches the edges of a narrow capture, where its filter falls by 18 dB
 * over 10 kHz; each line there is what it is, and the loss is the capture's. */
START_TEST(a_narrow_captures_filter_is_no_residual)
{
  struct sc_result result = scene_told(
      "rate_hz = 384000; seconds = 1.5; receiver = { hz = 91.2e6; noise = { cnr_db = 60; };"
      "}; station = { offset_hz = 0; programme = ( { kind = \"tone\"; to = \"left\"; hz ="
      " 1000; khz = 60.75; } ); };",
      23);
  ck_assert_uint_eq(count_of(&result.air_lines, SC_VERDICT_RESIDUAL), 0);
  ck_assert_uint_eq(count_of(&result.air_lines, SC_VERDICT_SPURIOUS), 0);
  for (int side = -1; side <= 1; side += 2)
    for (int hz = 179000; hz <= 183000; hz += 1000) {
      const struct sc_line *line = line_at(&result.air_lines, side * hz);
      ck_assert_int_eq(line->verdict, SC_VERDICT_ARTEFACT);
      ck_assert_double_lt(line->rest_db.value, -2);
    }
  sc_result_clear(&result);
}
END_TEST

START_TEST(carriers_tones_and_am_are_told_apart)
{
  struct sc_result result =
      scene_told("station = { tones = ( { name = \"t\"; hz = 73210; khz = 0.5; } ); };"
                 "receiver = { carriers = ( { name = \"s\"; hz = 71330; dbc = -40; } );"
                 "am = ( { name = \"a\"; hz = 83470; percent = 0.8; },"
                 "{ name = \"hum\"; hz = 100; percent = 1.0; } ); };",
                 21);
  const struct sc_line_list *air = &result.air_lines, *composite = &result.composite_lines;
  check(air, 71210, SC_VERDICT_SPURIOUS, "carrier at +71.21 kHz");
  check(air, 73210, SC_VERDICT_EXPLAINED, "73.21 kHz");
  check(air, -73210, SC_VERDICT_EXPLAINED, "73.21 kHz");
  for (int side = -1; side <= 1; side += 2) {
    check(air, side * 83470, SC_VERDICT_SPURIOUS, "AM 83.47 kHz");
    check(air, side * 100, SC_VERDICT_SPURIOUS, "AM 100 Hz");
    check(air, side * 19100, SC_VERDICT_SPURIOUS, "AM 100 Hz");
    check(air, side * (83470 - 19e3), SC_VERDICT_SPURIOUS, "AM 83.47 kHz");
  }
  check(composite, 73210, SC_VERDICT_SPURIOUS, "tone at 73.21 kHz");
  check(composite, 71210, SC_VERDICT_ARTEFACT, "beat");
  check(composite, 71210 - 19e3, SC_VERDICT_ARTEFACT, "beat");
  check(composite, 71210 + 19e3, SC_VERDICT_ARTEFACT, "beat");
  ck_assert_uint_eq(count_of(composite, SC_VERDICT_SPURIOUS), 1);
  check_rests(air);
  sc_result_clear(&result);
}
END_TEST

/* 0.5 dB and 3 degrees, 30 kHz beside the middle: the image lies in the channel, and its beats on
 * the composite. Nothing is blamed on the transmitter. */
START_TEST(unequal_i_and_q_are_the_receivers)
{
  struct sc_result result = scene_told(
      "station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000; khz = 2; } );"
      "}; receiver = { hz = 91.17e6; noise = { cnr_db = 40; };"
      "iq = { gain_db = 0.5; phase_deg = 3; }; dc = { i = 0.003; q = 0.002; }; };",
      31);
  const struct sc_line_list *air = &result.air_lines, *composite = &result.composite_lines;
  check(air, -60240, SC_VERDICT_ARTEFACT, "mirror image");
  check(air, -60240 + 19e3, SC_VERDICT_ARTEFACT, "mirror image");
  check(air, -60240 - 1e3, SC_VERDICT_ARTEFACT, "mirror image");
  check(air, -30120, SC_VERDICT_ARTEFACT, "direct current");
  check(composite, 60240, SC_VERDICT_ARTEFACT, "beat");
  check(composite, 30120, SC_VERDICT_ARTEFACT, "beat");
  ck_assert_uint_eq(count_of(air, SC_VERDICT_SPURIOUS), 0);
  ck_assert_uint_eq(count_of(air, SC_VERDICT_RESIDUAL), 0);
  ck_assert_uint_eq(count_of(composite, SC_VERDICT_SPURIOUS), 0);
  check_rests(air);
  sc_result_clear(&result);
}
END_TEST

/* A band of noise of 15 kHz rms at 76 kHz: exp(-s / 2) with s = (15 / 76)^2 is -0.17 dB. */
START_TEST(noise_on_the_composite_lowers_all_lines)
{
  struct sc_result result =
      scene_told("station = { bands = ( { hz = 76000; width_hz = 20000; rms_khz = 15; } ); };", 41);
  const struct sc_line *carrier = line_at(&result.air_lines, 0);
  check(&result.air_lines, 0, SC_VERDICT_EXPLAINED, "carrier");
  ck_assert_double_eq_tol(carrier->predicted_dbc.value - 20 * log10(j0(6.75 / 19)), -0.17, 0.03);
  check(&result.air_lines, 38e3, SC_VERDICT_EXPLAINED, "2 x pilot");
  sc_result_clear(&result);
}
END_TEST

/* An FM subcarrier that a tone of 400 or 100 Hz swings by 5 kHz is 40 or more than 100 tones of the
 * composite (an index of 12.5 or 50; Bessel functions beyond the index fall off), beside two of the
 * programme. There is nothing else in the scene. */
START_TEST(the_tones_of_a_subcarrier_leave_no_residual)
{
  static const unsigned tones_hz[] = {400, 100};
  for (size_t i = 0; i < sizeof tones_hz / sizeof *tones_hz; i++) {
    char changes[600];
    snprintf(changes, sizeof changes,
             "seconds = 2.0; station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000;"
             " khz = 40; }, { kind = \"tone\"; to = \"right\"; hz = 1600; khz = 40; } );"
             " subcarriers = ( { hz = 67000; khz = 7.5; limit_hz = 5000; programme = ( { kind ="
             " \"tone\"; to = \"left\"; hz = %u; khz = 5; } ); } ); };",
             tones_hz[i]);
    struct sc_result result = scene_told(changes, 21);
    size_t residual = 0;
    ck_assert_uint_gt(result.air_lines.count, 1000);
    ck_assert_double_eq(result.unwanted.count.value, 0);
    for (size_t k = 0; k < result.air_lines.count; k++)
      residual += result.air_lines.lines[k].verdict == SC_VERDICT_RESIDUAL;
    ck_assert_uint_le(1000 * residual, result.air_lines.count); /* one of a thousand by chance */
    sc_result_clear(&result);
  }
}
END_TEST

/* Two tones in left and right have lines at all multiples of 200 Hz, and hum of the supply's 100 Hz
 * on the amplitude a pair beside each, of a hundredth: its own is among the weakest. */
START_TEST(hum_on_the_amplitude_is_told_among_many_lines)
{
  struct sc_result result = scene_told(
      "seconds = 2.0; station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000;"
      " khz = 40; }, { kind = \"tone\"; to = \"right\"; hz = 1600; khz = 40; } ); };"
      "receiver = { am = ( { hz = 100; percent = 2; } ); };",
      23);
  size_t of_am = 0;
  for (size_t i = 0; i < result.air_lines.count; i++) {
    const struct sc_line *line = &result.air_lines.lines[i];
    const bool between = fabs(remainder(line->offset_hz.value, 200)) > 50;
    if (!between || line->level_dbc.value < -75)
      continue;
    ck_assert_int_eq(line->verdict, SC_VERDICT_SPURIOUS);
    ck_assert_msg(strstr(line->cause, "amplitude modulation of 2 % at 100 Hz") != NULL, "%s",
                  line->cause);
    ck_assert_double_eq_tol(line->am_hz, 100, 0.05);
    of_am++;
  }
  ck_assert_uint_gt(of_am, 100);
  ck_assert_msg(strstr(result.account, "of one amplitude modulation, of 100 Hz") != NULL, "%s",
                result.account);
  sc_result_clear(&result);
}
END_TEST

/* A rectifier's ripple has multiples of twice the mains' frequency (common practice, no source).
 * The mean of the envelope that is taken away follows it and mirrors it, to 700 Hz beside each line
 * for one: nothing else is spurious. */
START_TEST(ripple_is_told_in_short_and_makes_nothing_else)
{
  struct sc_result result = scene_told(
      "seconds = 4.0; station = { }; receiver = { noise = { cnr_db = 50; }; am = ("
      " { hz = 100; percent = 1; }, { hz = 200; percent = 0.4; }, { hz = 300; percent = 0.2; } ); "
      "};",
      24);
  ck_assert_msg(strstr(result.account, " lines are of amplitude modulation, of 100 Hz, 200 Hz and "
                                       "300 Hz: multiples of the mains'") != NULL,
                "%s", result.account);
  for (size_t i = 0; i < result.air_lines.count; i++) {
    const struct sc_line *line = &result.air_lines.lines[i];
    ck_assert_msg(!line->beneath, "%s: %s", line->label, line->cause);
    ck_assert(line->verdict == SC_VERDICT_EXPLAINED || strncmp(line->label, "AM ", 3) == 0);
  }
  sc_result_clear(&result);
}
END_TEST

/* Tones of 0.3 and 0.2 kHz have sqrt((0.09 + 0.04) / 2) kHz rms, re 75 / sqrt(2) kHz; 50 us take
 * 0.002 dB off at 100 Hz. A test tone at the 20th multiple of 50 Hz is none of the mains (common
 * practice, no source), and beside a programme nothing is silent. */
START_TEST(hum_is_no_programme)
{
  const double hum_db = 10 * log10((0.09 + 0.04) / 75 / 75);
  struct sc_result result =
      scene_told("seconds = 2.0; station = { tones = ( { hz = 50; khz = 0.3; },"
                 " { hz = 100; khz = 0.2; } ); };",
                 24);
  ck_assert_int_eq(result.stereo.mode, SC_MODE_PILOT_ONLY);
  ck_assert_ptr_nonnull(strstr(result.stereo.evidence, "mains hum"));
  ck_assert_double_eq_tol(result.noise.fm_noise_db.value, hum_db, 0.03);
  sc_result_clear(&result);
  static const char *const programmes[] = {
      "seconds = 2.0; station = { programme = ( { kind = \"tone\"; to = \"both\"; hz = 1000;"
      " khz = 0.3; } ); };",
      "seconds = 2.0; station = { programme = ( { kind = \"pink\"; to = \"both\"; khz = 0.2; } );"
      " tones = ( { hz = 50; khz = 0.3; }, { hz = 100; khz = 0.2; } ); };"};
  for (size_t i = 0; i < sizeof programmes / sizeof *programmes; i++) {
    result = scene_told(programmes[i], 25);
    ck_assert_int_eq(result.stereo.mode, SC_MODE_MONO);
    ck_assert_ptr_nonnull(result.noise.fm_noise_db.why);
    sc_result_clear(&result);
  }
}
END_TEST

/* Hum of 2 kHz and its multiples, 13 mHz off 50 Hz and alone: no generator and no instrument in
 * tune (ISO 16:1975, equal temperament: G1 is 49.00 Hz) stands there, so nothing is sent, and
 * sqrt((4 + 1 + 0.16) / 2) kHz is the hum. As exactly at 50 Hz as test tones are it may be some. */
START_TEST(strong_hum_alone_is_silence)
{
  const double hum_db = 10 * log10((4 + 1 + 0.16) / 75 / 75);
  struct sc_result result =
      scene_told("seconds = 2.0; station = { tones = ( { hz = 50.013; khz = 2; },"
                 " { hz = 100.026; khz = 1; }, { hz = 150.039; khz = 0.4; } ); };",
                 29);
  ck_assert_int_eq(result.stereo.mode, SC_MODE_PILOT_ONLY);
  ck_assert_double_eq_tol(result.noise.fm_noise_db.value, hum_db, 0.03);
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    if (line->offset_hz.value < 200)
      ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS, "%s", line->cause);
  }
  sc_result_clear(&result);
  result = scene_told("seconds = 2.0; station = { tones = ( { hz = 50.0; khz = 2; },"
                      " { hz = 100.0; khz = 1; }, { hz = 150.0; khz = 0.4; } ); };",
                      30);
  ck_assert_int_eq(result.stereo.mode, SC_MODE_MONO);
  for (size_t i = 0; i < result.composite_lines.count; i++)
    ck_assert_int_ne(result.composite_lines.lines[i].verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&result);
}
END_TEST

/* The same hum as strong as programmes are, under one: three multiples of a supply's frequency
 * (common practice, no source), of 1.5 kHz and less beneath 30 kHz. */
START_TEST(strong_hum_is_told_under_a_programme)
{
  static const char *const causes[] = {"mains hum: 1 times 50.0", "mains hum: 2 times 50.0",
                                       "mains hum: 3 times 50.0"};
  struct sc_result result = scene_told(
      "seconds = 4.0; station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000;"
      " khz = 30; }, { kind = \"pink\"; to = \"both\"; khz = 1; } ); tones = ( { hz = 50; khz = "
      "1.5; }, { hz = 100; khz = 0.8; }, { hz = 150; khz = 0.2; } ); };",
      28);
  size_t seen = 0;
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    const size_t times = (size_t)lround(line->offset_hz.value / 50);
    if (times < 1 || times > 3 || fabs(line->offset_hz.value - 50 * (double)times) > 0.1)
      continue;
    ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS &&
                      strstr(line->cause, causes[times - 1]) != NULL,
                  "at %g Hz: %s", line->offset_hz.value, line->cause);
    seen++;
  }
  ck_assert_uint_eq(seen, 3);
  sc_result_clear(&result);
}
END_TEST

/* A difference about 38 kHz has its tones in pairs about it (ITU-R BS.450-3, 2.1), also where the
 * pilot that a decoder needs is missing. */
START_TEST(a_difference_without_its_pilot_is_told)
{
  struct sc_result result = scene_told(
      "seconds = 2.0; station = { pilot = { khz = 0; }; programme = ( { kind = \"tone\"; to ="
      " \"left\"; hz = 1000; khz = 20; }, { kind = \"tone\"; to = \"right\"; hz = 1600; khz = 20; "
      "} );"
      " };",
      26);
  static const double at_hz[] = {36400, 37000, 39000, 39600};
  ck_assert_ptr_nonnull(strstr(result.account, "no stereo pilot, but the difference"));
  for (size_t i = 0; i < sizeof at_hz / sizeof *at_hz; i++) {
    const struct sc_line *line = NULL;
    for (size_t k = 0; k < result.composite_lines.count; k++)
      if (fabs(result.composite_lines.lines[k].offset_hz.value - at_hz[i]) < 1)
        line = &result.composite_lines.lines[k];
    ck_assert_ptr_nonnull(line);
    ck_assert_int_eq(line->verdict, SC_VERDICT_EXPLAINED);
    ck_assert_ptr_nonnull(strstr(line->cause, "at 38 kHz, a stereo difference without a pilot"));
  }
  sc_result_clear(&result);
}
END_TEST

/* 0.3 s do not tell a pilot from a line at its place; the pairs about 38 kHz are of a difference
 * (ITU-R BS.450-3, 2.1) and no tones where no standard has any. */
START_TEST(a_difference_in_a_short_record_is_told)
{
  struct sc_result result = scene_told(
      "seconds = 0.3; station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000;"
      " khz = 20; }, { kind = \"tone\"; to = \"right\"; hz = 1600; khz = 20; } ); };",
      31);
  size_t seen = 0;
  ck_assert_int_eq(result.pilot.present, SC_UNKNOWN);
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    ck_assert_msg(line->verdict != SC_VERDICT_SPURIOUS, "%g Hz: %s", line->offset_hz.value,
                  line->cause);
    seen += strstr(line->cause, "a stereo difference whose pilot is not told") != NULL;
  }
  ck_assert_uint_eq(seen, 4);
  sc_result_clear(&result);
}
END_TEST

/* Outer pairs of 400 Hz beside 67 kHz are in the band of the data, and there is no data. */
START_TEST(without_data_no_line_is_of_data)
{
  struct sc_result result =
      scene_told("seconds = 2.0; station = { subcarriers = ( { hz = 67000; khz = 7.5; limit_hz = "
                 "5000; programme"
                 " = ( { kind = \"tone\"; to = \"both\"; hz = 400; khz = 7; } ); } ); };",
                 27);
  size_t in_band = 0;
  ck_assert_int_eq(result.rds.present, SC_NO);
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    in_band += line->offset_hz.value > 54600 && line->offset_hz.value < 59450;
    ck_assert_ptr_null(strstr(line->cause, "random data"));
    ck_assert_msg(line->verdict != SC_VERDICT_SPURIOUS, "at %g Hz: %s", line->offset_hz.value,
                  line->cause);
  }
  ck_assert_uint_gt(in_band, 0);
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_neighbour_is_no_fault)
{
  struct sc_result result =
      scene_told("receiver = { hz = 91.21e6; noise = { cnr_db = 40; };"
                 "neighbours = ( { offset_hz = 120000; level_db = -20; pilot_khz = 6;"
                 "tone_hz = 400; tone_khz = 1; } ); };",
                 51);
  const struct sc_line_list *air = &result.air_lines;
  check(air, 119880, SC_VERDICT_UNKNOWN, "other signal +119.88 kHz");
  check(air, 119880 + 19e3 + 400, SC_VERDICT_UNKNOWN, "other signal");
  check(air, 19e3, SC_VERDICT_EXPLAINED, "pilot");
  ck_assert_uint_eq(count_of(air, SC_VERDICT_SPURIOUS), 0);
  ck_assert_uint_eq(count_of(&result.composite_lines, SC_VERDICT_SPURIOUS), 0);
  sc_result_clear(&result);
}
END_TEST

/* One without programme has five lines, and there may be more than one. */
START_TEST(neighbours_without_programme_are_no_faults)
{
  struct sc_result result =
      scene_told("rate_hz = 1024000; receiver = { hz = 91.2e6; noise = { cnr_db = 40; };"
                 "neighbours = ( { offset_hz = 250000; level_db = -15; pilot_khz = 6.75; },"
                 "{ offset_hz = -310000; level_db = -5; pilot_khz = 6; tone_hz = 3000;"
                 "tone_khz = 40; } ); };",
                 51);
  const struct sc_line_list *air = &result.air_lines;
  check(air, 249880, SC_VERDICT_UNKNOWN, "other signal +249.88 kHz");
  check(air, 249880 + 19e3, SC_VERDICT_UNKNOWN, "other signal +249.88 kHz");
  check(air, 249880 - 38e3, SC_VERDICT_UNKNOWN, "other signal +249.88 kHz");
  check(air, -310120 + 42e3, SC_VERDICT_UNKNOWN, "other signal -310.12 kHz");
  check(air, 19e3, SC_VERDICT_EXPLAINED, "pilot");
  ck_assert_uint_eq(count_of(air, SC_VERDICT_SPURIOUS), 0);
  sc_result_clear(&result);
}
END_TEST

/* ---- random scenes */

/* Each scene has a tone, a one-sided carrier, AM, and two of a kind 19 kHz apart, all between 61
 * and 97 kHz. */
enum { TONE, CARRIER, AM, FIRST, SECOND, RANDOM_LINES };
enum pair { INDEPENDENT, PRODUCT, CARRIERS, AMS, PAIRS };

/* -69 dBc is 10 dB over what a line needs at 40 dB in 200 kHz and 1 s: the mean is checked. */
static const double weak = 3.4e-4, over_db = 10, over_spread_db = 1.5;

static double between(uint64_t *state, double low, double high)
{
  return low + (high - low) * (support_uniform(state) + 1) / 2;
}

/* Neither they nor what the pilot makes of them comes within 100 Hz of another, and none is at a
 * standard position. */
static bool apart(const double *hz)
{
  for (int i = 0; i < RANDOM_LINES; i++) {
    double distance;
    const struct sc_position *nearest = sc_subcarrier_nearest(hz[i], &distance);
    if (fabs(distance) <= nearest->tolerance_hz)
      return false;
  }
  for (int i = 0; i < RANDOM_LINES; i++)
    for (int k = 0; k < i; k++)
      for (int n = -4; n <= 4; n++)
        if (fabs(hz[i] - hz[k] - 19e3 * n) < 100 && !(i == SECOND && k == FIRST))
          return false;
  return true;
}

static void choose(uint64_t *state, double *hz, double off_hz)
{
  do {
    for (int i = 0; i < SECOND; i++)
      hz[i] = between(state, 61e3, i == FIRST ? 77e3 : 97e3);
    hz[SECOND] = hz[FIRST] + 19e3 + off_hz;
  } while (!apart(hz));
}

struct words {
  char tones[512], carriers[256], ams[256];
};

static void add_part(char *list, size_t size, double hz, const char *key, double amount,
                     double degrees)
{
  size_t length = strlen(list);
  snprintf(list + length, size - length, "%s{ hz = %.4f; %s = %.6f; phase_deg = %.1f; }",
           length > 0 ? ", " : "", hz, key, amount, degrees);
}

static void add_source(struct words *words, int kind, double hz, double times, uint64_t *state)
{
  double degrees = between(state, 0, 360);
  if (kind == TONE)
    add_part(words->tones, sizeof words->tones, hz, "khz", 2e-3 * times * weak * hz, degrees);
  else if (kind == CARRIER)
    add_part(words->carriers, sizeof words->carriers, hz + 120, "dbc", 20 * log10(times * weak),
             degrees);
  else
    add_part(words->ams, sizeof words->ams, hz, "percent", 200 * times * weak, degrees);
}

static double margin_db(const struct sc_line_list *list, double hz)
{
  return line_at(list, hz)->tone.snr_db - list->threshold_db;
}

static void check_am(const struct sc_line_list *air, double hz)
{
  check(air, hz, SC_VERDICT_SPURIOUS, "AM");
  check(air, -hz, SC_VERDICT_SPURIOUS, "AM");
  ck_assert_ptr_null(line_at(air, hz)->am_part_dbc.why);
  ck_assert_ptr_nonnull(line_at(air, hz)->one_sided_dbc.why);
}

static void check_carrier(const struct sc_result *result, double hz)
{
  check(&result->air_lines, hz, SC_VERDICT_SPURIOUS, "carrier at +");
  check(&result->composite_lines, hz, SC_VERDICT_ARTEFACT, "beat");
  ck_assert_ptr_null(line_at(&result->air_lines, hz)->one_sided_dbc.why);
}

/* Ten sigma off the exact sum and more. */
static void check_off(const struct sc_result *result, const double *hz, double off_hz)
{
  const struct sc_line *first = line_at(&result->composite_lines, hz[FIRST]);
  const struct sc_line *second = line_at(&result->composite_lines, hz[SECOND]);
  ck_assert_double_ge(fabs(off_hz),
                      10 * hypot(first->offset_hz.uncertainty, second->offset_hz.uncertainty));
}

static void check_pair(const struct sc_result *result, const double *hz, enum pair pair,
                       double off_hz)
{
  const struct sc_line_list *composite = &result->composite_lines;
  if (pair == INDEPENDENT)
    check_off(result, hz, off_hz);
  for (int i = FIRST; i <= SECOND; i++) {
    if (pair == CARRIERS)
      check_carrier(result, hz[i]);
    else if (pair == AMS)
      check_am(&result->air_lines, hz[i]);
    else if (pair == INDEPENDENT || i == FIRST)
      check(composite, hz[i], SC_VERDICT_SPURIOUS, "tone at");
    else
      check(composite, hz[i], SC_VERDICT_UNKNOWN, "pilot?");
  }
}

/* Returns how far the one-sided carrier was over the threshold. */
static double try_scene(uint64_t *state, unsigned number)
{
  enum pair pair = (enum pair)(number % PAIRS);
  static const int kinds[PAIRS] = {TONE, TONE, CARRIER, AM};
  double hz[RANDOM_LINES], off_hz = 0;
  if (pair != PRODUCT)
    off_hz = between(state, 0.3, 3) * (support_uniform(state) < 0 ? -1 : 1);
  struct words words = {"", "", ""};
  char changes[1280];
  choose(state, hz, off_hz);
  add_source(&words, TONE, hz[TONE], 1, state);
  add_source(&words, CARRIER, hz[CARRIER], 1, state);
  add_source(&words, AM, hz[AM], 1, state);
  add_source(&words, kinds[pair], hz[FIRST], kinds[pair] == TONE ? 2 : 1, state);
  add_source(&words, kinds[pair], hz[SECOND], 1, state);
  snprintf(changes, sizeof changes,
           "station = { tones = ( %s ); };"
           "receiver = { noise = { cnr_db = 40; }; carriers = ( %s ); am = ( %s ); };",
           words.tones, words.carriers, words.ams);
  struct sc_result result = scene_told(changes, 1000 + number);
  check(&result.composite_lines, hz[TONE], SC_VERDICT_SPURIOUS, "tone at");
  check(&result.air_lines, hz[TONE], SC_VERDICT_EXPLAINED, "kHz");
  check_carrier(&result, hz[CARRIER]);
  double margin = margin_db(&result.air_lines, hz[CARRIER]);
  check_am(&result.air_lines, hz[AM]);
  check_pair(&result, hz, pair, off_hz);
  sc_result_clear(&result);
  return margin;
}

START_TEST(random_lines_are_told_apart)
{
  uint64_t state = support_seed("random_lines_are_told_apart", 20311);
  unsigned scenes = support_trials(support_long() ? 100 : 4);
  double sum_db = 0;
  for (unsigned i = 0; i < scenes; i++)
    sum_db += try_scene(&state, i);
  ck_assert_double_eq_tol(sum_db / scenes, over_db, over_spread_db);
  printf("%u random scenes told apart, lines %.1f dB over the threshold\n", scenes,
         sum_db / scenes);
}
END_TEST

Suite *account_suite(void)
{
  Suite *suite = suite_create("account");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, a_narrow_captures_filter_is_no_residual);
  tcase_add_test(lines, carriers_tones_and_am_are_told_apart);
  tcase_add_test(lines, strong_tones_left_and_right_make_no_residuals);
  tcase_add_test(lines, unequal_i_and_q_are_the_receivers);
  tcase_add_test(lines, noise_on_the_composite_lowers_all_lines);
  tcase_add_test(lines, the_tones_of_a_subcarrier_leave_no_residual);
  tcase_add_test(lines, hum_on_the_amplitude_is_told_among_many_lines);
  tcase_add_test(lines, ripple_is_told_in_short_and_makes_nothing_else);
  tcase_add_test(lines, hum_is_no_programme);
  tcase_add_test(lines, strong_hum_alone_is_silence);
  tcase_add_test(lines, strong_hum_is_told_under_a_programme);
  tcase_add_test(lines, a_difference_without_its_pilot_is_told);
  tcase_add_test(lines, a_difference_in_a_short_record_is_told);
  tcase_add_test(lines, without_data_no_line_is_of_data);
  tcase_add_test(lines, a_neighbour_is_no_fault);
  tcase_add_test(lines, neighbours_without_programme_are_no_faults);
  suite_add_tcase(suite, lines);
  TCase *clean = tcase_create("clean");
  tcase_add_test(clean, a_clean_pilot_has_no_residual);
  suite_add_tcase(suite, clean);
  TCase *residual = tcase_create("residual");
  tcase_add_test(residual, a_residual_is_found_at_any_phase);
  suite_add_tcase(suite, residual);
  TCase *random = tcase_create("random");
  tcase_add_test(random, random_lines_are_told_apart);
  suite_add_tcase(suite, random);
  return suite;
}
