/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines on air while the transmitter drifts, as cheap ones do after they are switched on. What was
 * sent is known: FM of two tones, one carrier that drifts along with it, and one that does not. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

#define SENT                                                                                       \
  "seconds = 4.0; station = { programme = ("                                                       \
  " { kind = \"tone\"; to = \"left\"; hz = 1000.7; khz = 20; } ); };"                              \
  "receiver = { carriers = ( { hz = 71234; dbc = -60; } ); };"

/* From the middle of the capture; the carrier stands at 60.12 kHz and is at half the scale. */
static const double carrier_hz = 60120, along_hz = 131234, still_hz = 8765.4, still = 0.5e-3;

static bool is_near(const struct sc_line *line, double capture_hz, double within_hz)
{
  return fabs(line->tone.frequency_hz.value - capture_hz) < within_hz;
}

/* How many lines are explained. Of the others none is spurious but the two carriers, which stand at
 * `along` and `stays`. */
static size_t check_lines_at(const struct sc_result *result, double along, double stays)
{
  size_t explained = 0, found = 0;
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_line *line = &result->air_lines.lines[i];
    const bool sent = is_near(line, along, 0.5) || is_near(line, stays, 0.5);
    explained += line->verdict == SC_VERDICT_EXPLAINED;
    found += sent;
    ck_assert_msg((line->verdict == SC_VERDICT_SPURIOUS) == sent, "%g Hz: %s",
                  line->offset_hz.value, line->cause);
    if (sent)
      ck_assert_double_eq_tol(line->level_dbc.value, -60, 0.1 + 4 * line->level_dbc.uncertainty);
  }
  ck_assert_uint_eq(found, 2);
  return explained;
}

static size_t check_lines(const struct sc_result *result, double along)
{
  return check_lines_at(result, along, still_hz);
}

/* The line that stays is named as such, for the report can say then which one it is. */
static void check_still(const struct sc_result *result, double drift_hz_s)
{
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_line *line = &result->air_lines.lines[i];
    if (line->verdict != SC_VERDICT_SPURIOUS)
      continue;
    ck_assert(line->tone.still == is_near(line, still_hz, 1));
    ck_assert((strstr(line->cause, "stays where it is") != NULL) == line->tone.still);
    ck_assert_double_eq_tol(line->offset_hz.value,
                            line->tone.frequency_hz.value - carrier_hz - 2 * drift_hz_s, 0.2);
  }
}

static size_t all; /* lines that are explained without a drift */

static void measure_steady(void)
{
  const struct scene_move moved = {0, still_hz, still, 0, 0};
  struct sc_result steady = scene_moved(SENT, 81, &moved);
  all = check_lines(&steady, along_hz);
  ck_assert_uint_gt(all, 200);
  ck_assert(!steady.air_lines.followed);
  sc_result_clear(&steady);
}

/* _i: which drift, whose mean over the capture is that in its middle. */
START_TEST(lines_that_drift_are_as_many_as_lines_that_do_not)
{
  static const double drifts[] = {1, -5, 20};
  const double drift = drifts[_i];
  const struct scene_move moved = {drift, still_hz, still, 0, 0};
  struct sc_result result = scene_moved(SENT, 81, &moved);
  ck_assert_double_eq_tol(result.carrier.drift_hz_s.value, drift, 0.1);
  const size_t explained = check_lines(&result, along_hz + 2 * drift);
  ck_assert_uint_gt(100 * explained, 95 * all);
  ck_assert(result.air_lines.followed);
  ck_assert_ptr_nonnull(strstr(result.account, "its lines are followed"));
  check_still(&result, drift);
  sc_result_clear(&result);
}
END_TEST

/* 0.9 s make no whole record: one is made of what there is, and its drift of 16 bins turned back.
 */
START_TEST(lines_of_a_short_capture_are_followed)
{
  static const char sent[] = "seconds = 0.9; station = { programme = ("
                             " { kind = \"tone\"; to = \"left\"; hz = 1000.7; khz = 20; } ); };"
                             "receiver = { carriers = ( { hz = 71234; dbc = -60; } ); };";
  struct scene_move moved = {0, still_hz, still, 0, 0};
  struct sc_result steady = scene_moved(sent, 91, &moved);
  const size_t lines = check_lines(&steady, along_hz);
  moved.drift_hz_s = 20;
  struct sc_result result = scene_moved(sent, 91, &moved);
  ck_assert_uint_gt(100 * check_lines(&result, along_hz + 0.45 * 20), 95 * lines);
  ck_assert(result.air_lines.followed);
  sc_result_clear(&result);
  sc_result_clear(&steady);
}
END_TEST

/* Low notes hide from each record how the carrier moves in it, but not from record to record. These
 * lie apart: where the next one begins the carrier is asked for again. */
START_TEST(a_drift_beneath_a_programme_is_followed)
{
  static const char sent[] =
      "seconds = 16.0; station = { programme = ("
      " { kind = \"comb\"; to = \"left\"; hz = 37.3; to_hz = 1400; count = 2; khz = 8; },"
      " { kind = \"comb\"; to = \"right\"; hz = 61.7; to_hz = 1270; count = 2; khz = 8; } ); };"
      "receiver = { carriers = ( { hz = 111234; dbc = -60; } ); };";
  const double along = carrier_hz + 111234 - 120 + 8 * 3;
  const struct scene_move moved = {3, still_hz, still, 0, 0};
  struct sc_result result = scene_moved(sent, 93, &moved);
  ck_assert(result.air_lines.followed);
  check_lines_at(&result, along, still_hz);
  sc_result_clear(&result);
}
END_TEST

/* What goes along as the carrier goes to and fro, and what stays. How the tapered mean of the
 * carrier lies in the movement does not matter: lines that go along are told from there. _i: slower
 * than a record of two seconds and faster, beneath a programme of steady notes, and one that
 * settles. */
START_TEST(a_wandering_carrier_is_followed)
{
#define ALONG(HZ)                                                                                  \
  "receiver = { carriers = ( { hz = " HZ "; dbc = -60; along = true; },"                           \
  " { hz = -95321; dbc = -60; } ); };"
#define TONE "programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000.7; khz = 20; } );"
#define NOTES                                                                                      \
  "programme = ( { kind = \"comb\"; to = \"left\"; hz = 44.3; to_hz = 1400; count = 2; khz = 8; "  \
  "},"                                                                                             \
  " { kind = \"comb\"; to = \"right\"; hz = 61.7; to_hz = 1270; count = 2; khz = 8; } );"
  static const struct {
    const char *changes;
    double along_hz, span_hz, period_s;
    bool counts; /* its lines can be counted against those of a steady one */
  } sent[] = {
      {"seconds = 10; station = { moves = { wander_hz = 200; wander_s = 5; };" TONE
       "};" ALONG("71234"),
       71234, 400, 5, true},
      {"seconds = 8; station = { moves = { wander_hz = 40; wander_s = 0.4; };" TONE
       "};" ALONG("71234"),
       71234, 80, 0.4, true},
      {"seconds = 12; station = { moves = { wander_hz = 100; wander_s = 4; };" NOTES
       "};" ALONG("111234"),
       111234, 200, 4, false},
      {"seconds = 10; station = { moves = { settle_hz = 900; settle_s = 4; };" TONE
       "};" ALONG("71234"),
       71234, 826,
       /* 900 (1 - exp(-2.5)) */ 0, true},
  };
  const double along = 60000 + sent[_i].along_hz, stays = 60000 - 95321;
  struct sc_result result = scene_told(sent[_i].changes, 95);
  const struct sc_carrier *carrier = &result.carrier;
  ck_assert_int_eq(carrier->wanders, SC_YES);
  ck_assert_double_eq_tol(carrier->wander_span_hz.value, sent[_i].span_hz, 0.1 * sent[_i].span_hz);
  if (sent[_i].period_s > 0)
    ck_assert_double_eq_tol(carrier->wander_period_s.value, sent[_i].period_s,
                            0.01 * sent[_i].period_s);
  else
    ck_assert_ptr_nonnull(carrier->wander_period_s.why);
  ck_assert(result.air_lines.followed);
  const size_t explained =
      check_lines_at(&result, along + carrier->offset_hz.value - carrier_hz, stays);
  ck_assert(!sent[_i].counts || 100 * explained > 95 * all);
  sc_result_clear(&result);
}
END_TEST

/* Two carriers on air, of which one does not drift along, and nothing else: not on air, not in the
 * composite, through which its beats go. */
static void check_all(const struct sc_result *result, double along, double stays)
{
  check_lines_at(result, along, stays);
  for (size_t i = 0; i < result->composite_lines.count; i++) {
    const struct sc_line *line = &result->composite_lines.lines[i];
    ck_assert_msg(line->verdict == SC_VERDICT_EXPLAINED || line->verdict == SC_VERDICT_ARTEFACT,
                  "%g Hz, %g kHz: %s", line->offset_hz.value, line->deviation_khz.value,
                  line->cause);
  }
}

/* _i: which drift; each with one of the places but for the long run. In steps that lead it past
 * lines of the modulation, at its mirrored place too, from where the drift can hardly be seen on;
 * at the last one it stands 6.3 Hz beside one that is 16 dB stronger.
 */
START_TEST(what_does_not_drift_makes_no_tones_and_no_other_lines)
{
  static const double drifts[] = {0, 0.1, 0.3, 1, -2};
  static const double places[] = {60e3, 63e3, 72e3, 66e3};
  enum { PLACES = sizeof places / sizeof *places };
  const unsigned first = support_long() ? 0 : (unsigned)_i % PLACES;
  const unsigned end = support_long() ? PLACES : first + 1;
  for (unsigned p = first; p < end; p++) {
    const struct scene_move moved = {drifts[_i], carrier_hz + places[p], still, 0, 0};
    struct sc_result result = scene_moved(SENT, 83 + p, &moved);
    check_all(&result, along_hz + 2 * drifts[_i], moved.still_hz);
    sc_result_clear(&result);
  }
}
END_TEST

Suite *drift_suite(void)
{
  Suite *suite = suite_create("drift");
  TCase *tcase = tcase_create("drift");
  tcase_add_unchecked_fixture(tcase, measure_steady, NULL);
  tcase_add_loop_test(tcase, lines_that_drift_are_as_many_as_lines_that_do_not, 0,
                      (int)(3 / support_stride(3)));
  tcase_add_test(tcase, lines_of_a_short_capture_are_followed);
  tcase_add_test(tcase, a_drift_beneath_a_programme_is_followed);
  tcase_add_loop_test(tcase, a_wandering_carrier_is_followed, 0, (int)(4 / support_stride(2)));
  tcase_add_loop_test(tcase, what_does_not_drift_makes_no_tones_and_no_other_lines, 0,
                      (int)(5 / support_stride(2)));
  suite_add_tcase(suite, tcase);
  return suite;
}
