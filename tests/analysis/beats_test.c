/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second carrier that is not much weaker than the transmitter, beside a programme of two tones:
 * hundreds of beats on the composite, of many orders. What was sent is known, so it is known which
 * lines are beats: all but the tones. */
#include <config.h>

#include <math.h>
#include <stdio.h>

#include "analysis/chain.h"
#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

enum { CHANGES = 800 };
/* Left 1 kHz and right 1.6 kHz: M and both side bands at 38 kHz, beside the pilot. */
static const double sent_hz[] = {1000, 1600, 19000, 36400, 37000, 39000, 39600};
enum { SENT = sizeof sent_hz / sizeof *sent_hz };

/* 500 kS/s, 60 kHz beside the middle; `more` is of the station. */
static struct sc_result play(double offset_hz, double dbc, double khz, const char *more)
{
  char changes[CHANGES];
  snprintf(changes, sizeof changes,
           "station = { offset_hz = 0; %s programme = ("
           "{ kind = \"tone\"; to = \"left\"; hz = 1000; khz = %g; },"
           "{ kind = \"tone\"; to = \"right\"; hz = 1600; khz = %g; }); };"
           "receiver = { carriers = ({ hz = %g; dbc = %g; phase_deg = 40; }); };",
           more, khz, khz, offset_hz, dbc);
  return scene_told(changes, 77);
}

static bool was_sent(double hz, const double *also_hz, size_t also)
{
  bool sent = false;
  for (size_t i = 0; i < SENT; i++)
    sent = sent || fabs(hz - sent_hz[i]) < 1;
  for (size_t i = 0; i < also; i++)
    sent = sent || fabs(hz - also_hz[i]) < 1;
  return sent;
}

/* Whatever the composite shows beside what was sent is beat, and says by what. */
static void check_composite(const struct sc_line_list *list, const double *also_hz, size_t also)
{
  size_t sent = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    const bool is_sent = was_sent(line->offset_hz.value, also_hz, also);
    sent += is_sent;
    ck_assert_msg((line->verdict == SC_VERDICT_ARTEFACT) == !is_sent, "%.1f Hz, %g kHz: %s",
                  line->offset_hz.value, line->deviation_khz.value, line->cause);
    ck_assert_msg(is_sent || strncmp(line->label, "beat with", 9) == 0, "%.1f Hz: %s",
                  line->offset_hz.value, line->label);
  }
  ck_assert_uint_eq(sent, SENT + also);
}

/* On air the carrier alone is left over. */
static void check_air(const struct sc_line_list *list, const double *foreign_hz, size_t count)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    bool foreign = false;
    for (size_t k = 0; k < count; k++)
      foreign = foreign || fabs(line->offset_hz.value - foreign_hz[k]) < 1;
    ck_assert_msg(foreign || line->verdict == SC_VERDICT_EXPLAINED, "%.1f Hz, %.1f dBc: %s",
                  line->offset_hz.value, line->level_dbc.value, line->cause);
  }
  for (size_t i = 0; i < count; i++) {
    const struct sc_line *line = chain_line(list, foreign_hz[i]);
    ck_assert_ptr_nonnull(line);
    ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS, "%g Hz: %s", foreign_hz[i], line->cause);
  }
}

/* Multiples of 200 Hz, on which tones and beats all fall, and one that is none; 130 kHz three times
 * is close to the rate of the composite, which folds that onto the tones. */
START_TEST(all_that_a_second_carrier_makes_is_beat)
{
  const struct {
    double offset_hz, dbc, khz;
  } cases[] = {{130000, -10, 20},   {130000, -30, 20}, {100000, -20, 20},
               {130123.4, -10, 20}, {60000, -10, 30},  {100000, -6, 30}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i += support_stride(6)) {
    struct sc_result result = play(cases[i].offset_hz, cases[i].dbc, cases[i].khz, "");
    ck_assert_uint_gt(result.composite_lines.count, 20 * SENT);
    check_composite(&result.composite_lines, NULL, 0);
    check_air(&result.air_lines, &cases[i].offset_hz, 1);
    sc_result_clear(&result);
  }
}
END_TEST

/* Tones at places of beats, and beside; both are stronger than what is told of beats there. */
START_TEST(tones_among_the_beats_are_tones)
{
  const double also_hz[] = {61300, 72200};
  const double dbc[] = {-10, -30};
  for (size_t i = 0; i < 2; i += support_stride(2)) {
    struct sc_result result = play(
        130000, dbc[i], 20, "tones = ({ hz = 61300; khz = 0.1; }, { hz = 72200; khz = 0.6; });");
    check_composite(&result.composite_lines, also_hz, 2);
    for (size_t k = 0; k < 2; k++) {
      const struct sc_line *line = chain_line(&result.composite_lines, also_hz[k]);
      ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_UNKNOWN,
                    "%g Hz: %s", also_hz[k], line->cause);
    }
    check_air(&result.air_lines, (const double[]){130000}, 1);
    sc_result_clear(&result);
  }
}
END_TEST

Suite *beats_suite(void)
{
  Suite *suite = suite_create("beats");
  TCase *tcase = tcase_create("beats");
  tcase_add_test(tcase, all_that_a_second_carrier_makes_is_beat);
  tcase_add_test(tcase, tones_among_the_beats_are_tones);
  suite_add_tcase(suite, tcase);
  return suite;
}
