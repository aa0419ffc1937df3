/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A programme whose tones come and go. What was sent is known: lines on air are the transmitter's
 * FM, but for one carrier beside it; and the composite holds nothing above the difference. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"

#define BURSTS                                                                                     \
  "seconds = 12.0; station = { programme = ("                                                      \
  " { kind = \"bursts\"; to = \"left\"; hz = 1000; khz = 30; on_s = 2.1; period_s = 5.2; },"       \
  " { kind = \"bursts\"; to = \"right\"; hz = 2718; khz = 12; on_s = 0.7; period_s = 3.3; } ); };"

static bool is_open(const struct sc_line *line)
{
  return line->verdict != SC_VERDICT_EXPLAINED && line->verdict != SC_VERDICT_ARTEFACT;
}

START_TEST(lines_that_come_and_go_are_the_programmes)
{
  struct sc_result result = scene_told(BURSTS, 3);
  ck_assert_uint_gt(result.air_lines.records, 3);
  ck_assert_uint_gt(result.air_lines.count, 500);
  for (size_t i = 0; i < result.air_lines.count; i++)
    ck_assert_msg(!is_open(&result.air_lines.lines[i]), "%g Hz: %s",
                  result.air_lines.lines[i].offset_hz.value, result.air_lines.lines[i].cause);
  sc_result_clear(&result);
}
END_TEST

/* A carrier of a ratio e beats with each line c_k at f_k on the composite, with an index of e |c_k|
 * at most (S. O. Rice, Bell Syst. Tech. J. 27, 1948, from memory); by the hundred here, of which
 * all but one in thirty are told. */
START_TEST(a_carrier_beside_such_a_programme_stays_one)
{
  struct sc_result result =
      scene_told(BURSTS "receiver = { carriers = ( { hz = 61420; dbc = -50; } ); };", 4);
  size_t beats = 0, open = 0, unknown = 0;
  for (size_t i = 0; i < result.air_lines.count; i++) {
    const struct sc_line *line = &result.air_lines.lines[i];
    const bool carrier = fabs(line->offset_hz.value - 61300) < 2;
    unknown += line->verdict == SC_VERDICT_UNKNOWN;
    ck_assert_msg((line->verdict == SC_VERDICT_SPURIOUS) == carrier, "%g Hz: %s",
                  line->offset_hz.value, line->cause);
  }
  ck_assert_uint_lt(100 * unknown, result.air_lines.count);
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    beats += strncmp(result.composite_lines.lines[i].label, "beat", 4) == 0;
    open += is_open(&result.composite_lines.lines[i]);
  }
  ck_assert_uint_gt(beats, 100);
  ck_assert_uint_lt(30 * open, beats);
  sc_result_clear(&result);
}
END_TEST

/* -50 dB of 75 kHz (ITU-R BS.450), where only side bands of the difference belong. */
START_TEST(a_tone_among_them_is_no_note)
{
  struct sc_result result = scene_told(
      "seconds = 9.0; station = { tones = ( { hz = 30123; khz = 0.237; } ); programme = ("
      " { kind = \"bursts\"; to = \"left\"; hz = 1000; khz = 30; on_s = 0.9; period_s = 2.7; },"
      " { kind = \"bursts\"; to = \"right\"; hz = 2718; khz = 12; on_s = 0.7; period_s = 3.3; } ); "
      "};",
      5);
  size_t found = 0;
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    const bool tone = fabs(line->offset_hz.value - 30123) < 1;
    found += tone;
    ck_assert_msg(is_open(line) == tone, "%g Hz: %s", line->offset_hz.value, line->cause);
    if (tone)
      ck_assert_ptr_nonnull(strstr(line->cause, "without a twin"));
  }
  ck_assert_uint_eq(found, 1);
  sc_result_clear(&result);
}
END_TEST

Suite *changing_suite(void)
{
  Suite *suite = suite_create("changing");
  TCase *tests = tcase_create("changing");
  tcase_set_timeout(tests, 60);
  tcase_add_test(tests, lines_that_come_and_go_are_the_programmes);
  tcase_add_test(tests, a_carrier_beside_such_a_programme_stays_one);
  tcase_add_test(tests, a_tone_among_them_is_no_note);
  suite_add_tcase(suite, tests);
  return suite;
}
