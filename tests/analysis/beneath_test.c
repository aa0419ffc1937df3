/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines beneath a running programme: found, told from what a limiter makes of them, and not found
 * where there are none. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "analysis/chain.h"
#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

/* What an ear calls a programme, and tones that make hundreds of lines. */
static const char *const programmes[] = {
    "{ kind = \"pink\"; to = \"left\"; khz = 8; }, { kind = \"pink\"; to = \"right\"; khz = 8; }",
    "{ kind = \"tone\"; to = \"left\"; hz = 397; khz = 10; },"
    "{ kind = \"tone\"; to = \"right\"; hz = 613; khz = 10; },"
    "{ kind = \"tone\"; to = \"both\"; hz = 3137; khz = 10; },"
    "{ kind = \"tone\"; to = \"left\"; hz = 7001; khz = 10; }",
    "{ kind = \"sweep\"; to = \"both\"; hz = 50; to_hz = 15000; period_s = 1.3; khz = 30; }",
    "{ kind = \"bursts\"; to = \"right\"; hz = 1370; period_s = 0.5; on_s = 0.2; khz = 25; }"};
enum { PROGRAMMES = sizeof programmes / sizeof programmes[0] };

static struct sc_result measure(size_t programme, const char *receiver, unsigned seed)
{
  char changes[768];
  snprintf(changes, sizeof changes,
           "seconds = 2.0; station = { programme = ( %s ); rds = { khz = 2; }; };"
           "receiver = { %s };",
           programmes[programme], receiver);
  return scene_told(changes, seed);
}

static size_t count_spurious(const struct sc_line_list *list)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += list->lines[i].verdict == SC_VERDICT_SPURIOUS;
  return count;
}

/* Of an offset from the carrier as it was made; where the programme moves the mean frequency, that
 * is not where it was measured. */
static const struct sc_line *line_of(const struct sc_result *result, double made_hz)
{
  const double centre_hz = result->carrier.offset_hz.value - 60e3 - 120;
  return chain_line(&result->air_lines, made_hz - 120 - centre_hz);
}

static void check_carrier(const struct sc_result *result, double made_hz, double made_dbc)
{
  const struct sc_line *line = line_of(result, made_hz);
  ck_assert_msg(line != NULL, "no line at %g Hz", made_hz);
  ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS && strstr(line->label, "carrier") != NULL,
                "%g Hz is %s, %s: %s", made_hz, sc_verdict_name(line->verdict), line->label,
                line->cause);
  ck_assert_double_eq_tol(line->level_dbc.value, made_dbc, 0.1 + 4 * line->level_dbc.uncertainty);
}

START_TEST(carriers_beneath_a_programme_are_found)
{
  struct sc_result result =
      measure((size_t)_i,
              "carriers = ( { name = \"a\"; hz = 25500; dbc = -50; }, { name = \"b\"; hz = -61234;"
              "dbc = -60; } );",
              7);
  check_carrier(&result, 25500, -50);
  check_carrier(&result, -61234, -60);
  ck_assert_uint_eq(count_spurious(&result.air_lines), 2);
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_programme_alone_has_none)
{
  struct sc_result result = measure((size_t)_i, "", 11);
  for (size_t i = 0; i < result.air_lines.count; i++)
    ck_assert_msg(!result.air_lines.lines[i].beneath, "%g Hz: %s",
                  result.air_lines.lines[i].offset_hz.value, result.air_lines.lines[i].cause);
  ck_assert_uint_eq(count_spurious(&result.air_lines), 0);
  ck_assert(result.noise.envelope_percent.why != NULL || result.noise.envelope_percent.value < 0.5);
  ck_assert_ptr_null(strstr(result.account, "envelope"));
  sc_result_clear(&result);
}
END_TEST

/* -40 dB of image: its lines are the receiver's, whether the spectrum shows them or not. */
START_TEST(an_image_beneath_is_no_carrier)
{
  struct sc_result result =
      measure(1, "hz = 91.17e6; iq = { gain_db = 0.12; phase_deg = 0.9; };", 13);
  ck_assert_uint_eq(count_spurious(&result.air_lines), 0);
  sc_result_clear(&result);
}
END_TEST

/* A receiver tuned within 2 kHz of the carrier: the limiter mirrors its direct current about the
 * carrier and gives it twice the modulation, far out, where no carrier is. */
START_TEST(direct_current_beside_the_carrier_makes_no_carriers)
{
  for (unsigned seed = 1; seed <= 3; seed += support_stride(3)) {
    struct sc_result result =
        scene_told("seconds = 2.0; station = { offset_hz = 886.3; programme = ("
                   "{ kind = \"tone\"; to = \"left\"; hz = 613; khz = 20; },"
                   "{ kind = \"tone\"; to = \"right\"; hz = 3137; khz = 20; } ); };"
                   "receiver = { hz = 91200000; dc = { i = 0.01; }; noise = { cnr_db = 25; }; };",
                   seed);
    const struct sc_line_list *air = &result.air_lines;
    size_t direct = 0;
    for (size_t i = 0; i < air->count; i++)
      direct += strncmp(air->lines[i].label, "direct current", 14) == 0;
    ck_assert_uint_eq(direct, 1);
    ck_assert_uint_eq(count_spurious(air), 0);
    sc_result_clear(&result);
  }
}
END_TEST

/* Far out, where its ghost reaches beyond half the channel's rate on the other side: that comes in
 * again at the carrier's own side, which a ghost never stands on. */
START_TEST(a_ghost_that_is_folded_is_no_carrier)
{
  struct sc_result result = scene_told(
      "rate_hz = 1.2e6; seconds = 4.0; station = { hz = 91000000; programme = ("
      "{ kind = \"tone\"; to = \"left\"; hz = 1000.7; khz = 20; },"
      "{ kind = \"tone\"; to = \"right\"; hz = 1000.7; khz = 4; } ); };"
      "receiver = { hz = 91250000; carriers = ( { name = \"a\"; hz = 171234; dbc = -60; } ); };",
      19);
  const struct sc_line *line = chain_line(&result.air_lines, 171234 - 120);
  ck_assert_ptr_nonnull(line);
  ck_assert_int_eq(line->verdict, SC_VERDICT_SPURIOUS);
  for (size_t i = 0; i < result.air_lines.count; i++)
    ck_assert_msg(!result.air_lines.lines[i].beneath, "%g Hz, %g dBc: %s",
                  result.air_lines.lines[i].offset_hz.value,
                  result.air_lines.lines[i].level_dbc.value, result.air_lines.lines[i].cause);
  ck_assert_uint_eq(count_spurious(&result.air_lines), 1);
  sc_result_clear(&result);
}
END_TEST

/* A tone of 15 kHz of deviation takes the carrier past the line 440 times a second: what the
 * envelope's mean follows then comes back 440 Hz and multiples of that beside it, where
 * nothing was sent. */
START_TEST(a_line_that_the_modulation_passes_has_no_side_lines)
{
  static const double places_hz[] = {-9912.6, 15759.8, -17131.9};
  for (unsigned seed = 1; seed <= (support_long() ? 6 : 3); seed += support_stride(3)) {
    const double at_hz = places_hz[seed % 3];
    char changes[512];
    snprintf(
        changes, sizeof changes,
        "seconds = 4.0; station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 6; },"
        "{ kind = \"tone\"; to = \"both\"; hz = 440; khz = 15; } ); rds = { khz = 2; }; };"
        "receiver = { noise = { cnr_db = 55; }; carriers = ( { name = \"a\"; hz = %g;"
        "dbc = -45; }, { name = \"b\"; hz = 41234; dbc = -70; } ); };",
        at_hz);
    struct sc_result result = scene_told(changes, seed);
    ck_assert_ptr_nonnull(line_of(&result, at_hz));
    ck_assert_int_eq(line_of(&result, at_hz)->verdict, SC_VERDICT_SPURIOUS);
    check_carrier(&result, 41234, -70);
    ck_assert_uint_eq(count_spurious(&result.air_lines), 2);
    sc_result_clear(&result);
  }
}
END_TEST

/* Two lines 2 Hz apart, which the search on air takes for none and that of what a limiter takes
 * away for one: their ghost stands where the pilot's line of twice the modulation is mirrored to.
 */
START_TEST(ghosts_of_lines_that_are_not_told_apart_are_no_carriers)
{
  for (unsigned seed = 1; seed <= 3; seed += support_stride(3)) {
    struct sc_result result =
        scene_told("rate_hz = 1.2e6; seconds = 2.0; station = { hz = 91e6; offset_hz = 20430; };"
                   "receiver = { hz = 91e6; carriers = ( { name = \"a\"; hz = 60000; dbc = -35; },"
                   "{ name = \"b\"; hz = 60002; dbc = -37; }, { name = \"c\"; hz = -30000;"
                   "dbc = -62; } ); };",
                   seed);
    const struct sc_line_list *air = &result.air_lines;
    const struct sc_line *line = chain_line(air, -30000 - 20430);
    ck_assert_ptr_nonnull(line);
    ck_assert_int_eq(line->verdict, SC_VERDICT_SPURIOUS);
    for (size_t i = 0; i < air->count; i++)
      ck_assert_msg(!air->lines[i].beneath, "%g Hz, %g dBc: %s", air->lines[i].offset_hz.value,
                    air->lines[i].level_dbc.value, air->lines[i].cause);
    sc_result_clear(&result);
  }
}
END_TEST

/* 1 % on both sides of each of the modulation's lines: one line of them says so. */
/* The same two lines, 2.4 Hz apart, beside an image of 43 dB (unequal by 0.08 dB and 0.6 degrees:
 * half of hypot(0.0092, 0.0105)), and perhaps another carrier of so much where it is. */
static struct sc_result measure_pair(bool pair, double other_dbc)
{
  char scene[512];
  snprintf(
      scene, sizeof scene,
      "rate_hz = 1.2e6; seconds = 2.0; station = { hz = 91e6; offset_hz = 20430; };"
      "receiver = { hz = 91e6; noise = { cnr_db = 60; }; iq = { gain_db = 0.08;"
      "phase_deg = 0.6; }; carriers = ( { hz = 60000; dbc = %d; }, { hz = 60002.4; dbc = %d; },"
      "{ hz = -60000; dbc = %g; } ); };",
      pair ? -35 : -110, pair ? -37 : -110, other_dbc);
  return scene_told(scene, 1);
}

/* An image of 43 dB of -35 dBc is one of -78 dBc: what is stronger, or where nothing stands that it
 * would be the image of, is a carrier. _i: the two lines alone; with another one; that one alone.
 */
START_TEST(an_image_of_lines_that_are_not_told_apart_is_no_carrier)
{
  static const double other_dbc[] = {-110, -66, -78};
  struct sc_result result = measure_pair(_i < 2, other_dbc[_i]);
  const struct sc_line *line = chain_line(&result.air_lines, -60000 - 20430);
  ck_assert_ptr_nonnull(line);
  ck_assert_msg(line->verdict == (_i == 0 ? SC_VERDICT_ARTEFACT : SC_VERDICT_SPURIOUS), "%s",
                line->cause);
  ck_assert_int_eq(_i == 0, strstr(line->cause, "not told apart") != NULL);
  for (size_t i = 0; i < result.air_lines.count && _i == 0; i++)
    ck_assert_int_ne(result.air_lines.lines[i].verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&result);
}
END_TEST

START_TEST(am_beneath_is_named)
{
  struct sc_result result =
      measure(1, "am = ( { name = \"switching supply\"; hz = 31000; percent = 1.0; } );", 17);
  size_t named = 0;
  for (size_t i = 0; i < result.air_lines.count; i++) {
    const struct sc_line *line = &result.air_lines.lines[i];
    named += strcmp(line->label, "AM 31 kHz") == 0;
    ck_assert_msg(!line->beneath || strncmp(line->label, "AM 31", 5) == 0, "%g Hz: %s",
                  line->offset_hz.value, line->cause);
  }
  ck_assert_uint_gt(named, 0);
  sc_result_clear(&result);
}
END_TEST

/* Of a neighbour of half the amplitude in the channel the part in phase is 0.5 / sqrt(2) rms, less
 * what the filter takes; AM of 10 % is 7.07 % rms. */
START_TEST(what_moves_the_envelope_is_said_first)
{
  static const struct {
    const char *receiver;
    double least_percent, most_percent;
  } table[] = {
      {"neighbours = ( { offset_hz = -150000; level_db = -6; pilot_khz = 6.75; noise_khz = 8; } );",
       31, 37},
      {"am = ( { name = \"a\"; hz = 1000; percent = 10; } );", 7.0, 7.14}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    struct sc_result result = measure(0, table[i].receiver, 23);
    ck_assert_double_gt(result.noise.envelope_percent.value, table[i].least_percent);
    ck_assert_double_lt(result.noise.envelope_percent.value, table[i].most_percent);
    ck_assert_ptr_nonnull(strstr(result.account, "its envelope moves by"));
    sc_result_clear(&result);
  }
}
END_TEST

static const struct sc_seen_span *span_of(const struct sc_unwanted *unwanted, double hz)
{
  for (size_t i = 0; i < unwanted->seen_count; i++)
    if (hz >= unwanted->seen[i].lower_hz.value && hz < unwanted->seen[i].upper_hz.value)
      return &unwanted->seen[i];
  ck_abort_msg("no span at %g Hz", hz);
  return NULL;
}

/* 40 dB lower than by the spectrum, and true. */
START_TEST(the_stated_level_is_found)
{
  unsigned trials = support_trials(support_long() ? 300 : 8), found = 0;
  struct sc_result result = measure(0, "", 100);
  const double level_dbc = span_of(&result.unwanted, 40e3)->level_dbc.value;
  sc_result_clear(&result);
  ck_assert_double_lt(level_dbc, -70);
  for (unsigned i = 0; i < trials; i++) {
    char carrier[128];
    snprintf(carrier, sizeof carrier, "carriers = ( { name = \"c\"; hz = %g; dbc = %g; } );",
             31e3 + fmod(6180.3 * i, 28e3), level_dbc);
    result = measure(0, carrier, 101 + i);
    const struct sc_line *line = line_of(&result, 31e3 + fmod(6180.3 * i, 28e3));
    found += line != NULL && line->verdict == SC_VERDICT_SPURIOUS;
    sc_result_clear(&result);
  }
  printf("beneath a programme, at the stated %.1f dBc: %u of %u found\n", level_dbc, found, trials);
  const double missed = 0.01 * trials;
  ck_assert_uint_ge(found, trials - (unsigned)ceil(missed + 3.7 * sqrt(missed) + 0.5));
}
END_TEST

Suite *beneath_suite(void)
{
  Suite *suite = suite_create("beneath");
  TCase *lines = tcase_create("lines"), *level = tcase_create("level");
  const int first = (int)(PROGRAMMES / support_stride(4));
  tcase_add_loop_test(lines, carriers_beneath_a_programme_are_found, 0, first);
  tcase_add_loop_test(lines, a_programme_alone_has_none, 0, first);
  tcase_add_test(lines, an_image_beneath_is_no_carrier);
  tcase_add_test(lines, direct_current_beside_the_carrier_makes_no_carriers);
  tcase_add_test(lines, a_ghost_that_is_folded_is_no_carrier);
  tcase_add_test(lines, ghosts_of_lines_that_are_not_told_apart_are_no_carriers);
  tcase_add_loop_test(lines, an_image_of_lines_that_are_not_told_apart_is_no_carrier, 0,
                      (int)(3 / support_stride(3)));
  tcase_add_test(lines, a_line_that_the_modulation_passes_has_no_side_lines);
  tcase_add_test(lines, am_beneath_is_named);
  tcase_add_test(lines, what_moves_the_envelope_is_said_first);
  suite_add_tcase(suite, lines);
  tcase_add_test(level, the_stated_level_is_found);
  suite_add_tcase(suite, level);
  return suite;
}
