/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that a filter weakened, and lines that are weaker for another reason. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "account/account.h"
#include "account/suites.h"

enum { LINES = 8 };
static const double rate_hz = 384e3, first_hz = 172e3, apart_hz = 2e3;

/* Predicted lines from 172 kHz on, on one side of the capture, of which so much is missing. */
static void judge(const double losses_db[LINES], double side, struct sc_line lines[LINES])
{
  struct sc_result result = {.air_lines = {.lines = lines, .count = LINES}};
  result.capture.info.sample_rate_hz = rate_hz;
  for (size_t i = 0; i < LINES; i++) {
    const size_t at = side > 0 ? i : LINES - 1 - i; /* by frequency */
    struct sc_line *line = &lines[at];
    *line =
        (struct sc_line){.verdict = losses_db[i] == 0 ? SC_VERDICT_EXPLAINED : SC_VERDICT_RESIDUAL};
    line->tone.frequency_hz = sc_measured(side * (first_hz + (double)i * apart_hz), 0.01);
    line->rest_db = sc_measured(-losses_db[i], 0.05);
    (void)snprintf(line->cause, sizeof line->cause, "a product; -80 dBc beside it are left");
  }
  account_edges(&result);
}

static const struct sc_line *of(const struct sc_line lines[LINES], double side, size_t i)
{
  return &lines[side > 0 ? i : LINES - 1 - i];
}

START_TEST(a_slope_is_the_captures)
{
  static const double losses_db[LINES] = {0, 0, 0.8, 2.2, 5.0, 10.1, 17.9, 24};
  struct sc_line lines[LINES];
  for (double side = -1; side <= 1; side += 2) {
    judge(losses_db, side, lines);
    for (size_t i = 2; i < LINES; i++) {
      ck_assert_int_eq(of(lines, side, i)->verdict, SC_VERDICT_ARTEFACT);
      ck_assert_ptr_nonnull(strstr(of(lines, side, i)->cause, "a product; weakened by"));
      ck_assert_ptr_nonnull(strstr(of(lines, side, i)->cause, side < 0 ? "-192 kHz" : "192 kHz"));
    }
    ck_assert_int_eq(of(lines, side, 0)->verdict, SC_VERDICT_EXPLAINED);
  }
}
END_TEST

/* One line that is weaker than both of its neighbours, one that is stronger than predicted, and an
 * outermost one whose neighbour has lost nothing. */
START_TEST(what_is_no_slope_stays_residual)
{
  static const double losses_db[LINES] = {0, 3, 0, 0, -2, 0, 0, 6};
  struct sc_line lines[LINES];
  judge(losses_db, 1, lines);
  for (size_t i = 0; i < LINES; i++)
    ck_assert_int_eq(lines[i].verdict,
                     losses_db[i] == 0 ? SC_VERDICT_EXPLAINED : SC_VERDICT_RESIDUAL);
}
END_TEST

/* Where no filter begins to fall. */
START_TEST(a_slope_in_the_middle_is_none)
{
  static const double losses_db[LINES] = {1, 2, 3, 4, 5, 6, 7, 8};
  struct sc_line lines[LINES];
  judge(losses_db, 1, lines);
  struct sc_result result = {.air_lines = {.lines = lines, .count = LINES}};
  result.capture.info.sample_rate_hz = 500e3;
  for (size_t i = 0; i < LINES; i++)
    lines[i].verdict = SC_VERDICT_RESIDUAL;
  account_edges(&result);
  for (size_t i = 0; i < LINES; i++)
    ck_assert_int_eq(lines[i].verdict, SC_VERDICT_RESIDUAL);
}
END_TEST

/* A carrier of its own near the edge may be stronger than it is read; one farther inside is not. */
START_TEST(the_level_of_a_spurious_line_is_doubted)
{
  struct sc_line lines[2] = {{.verdict = SC_VERDICT_SPURIOUS}, {.verdict = SC_VERDICT_SPURIOUS}};
  struct sc_result result = {.air_lines = {.lines = lines, .count = 2}};
  result.capture.info.sample_rate_hz = rate_hz;
  for (size_t i = 0; i < 2; i++) {
    lines[i].tone.frequency_hz = sc_measured(i == 0 ? 100e3 : -180e3, 0.01);
    lines[i].rest_db = sc_not_measured("nothing is predicted here");
    (void)snprintf(lines[i].cause, sizeof lines[i].cause, "a carrier of its own");
  }
  account_edges(&result);
  ck_assert_str_eq(lines[0].cause, "a carrier of its own");
  ck_assert_ptr_nonnull(strstr(lines[1].cause, "a carrier of its own; perhaps stronger"));
  ck_assert_ptr_nonnull(strstr(lines[1].cause, "at -192 kHz"));
  ck_assert_int_eq(lines[1].verdict, SC_VERDICT_SPURIOUS);
}
END_TEST

/* A tone of 15 kHz has lines so far apart that one alone is where a filter falls; one whose
 * neighbour is 2 kHz beside it is told by that. */
START_TEST(a_lone_line_at_the_edge_is_open)
{
  static const struct {
    double apart_hz, loss_db;
    enum sc_verdict verdict;
  } cases[] = {{15e3, 5, SC_VERDICT_UNKNOWN},
               {2e3, 5, SC_VERDICT_RESIDUAL},
               {15e3, -5, SC_VERDICT_RESIDUAL}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    const double at_hz = 180e3;
    struct sc_line lines[2] = {{.verdict = SC_VERDICT_EXPLAINED}, {.verdict = SC_VERDICT_RESIDUAL}};
    struct sc_result result = {.air_lines = {.lines = lines, .count = 2}};
    result.capture.info.sample_rate_hz = rate_hz;
    lines[0].tone.frequency_hz = sc_measured(at_hz - cases[i].apart_hz, 0.01);
    lines[0].rest_db = sc_measured(0, 0.05);
    lines[1].tone.frequency_hz = sc_measured(at_hz, 0.01);
    lines[1].rest_db = sc_measured(-cases[i].loss_db, 0.05);
    (void)snprintf(lines[1].cause, sizeof lines[1].cause, "a product; -80 dBc beside it are left");
    account_edges(&result);
    ck_assert_int_eq(lines[1].verdict, cases[i].verdict);
    if (cases[i].verdict == SC_VERDICT_UNKNOWN)
      ck_assert_str_eq(lines[1].cause,
                       "a product; 5.0 dB less than predicted, as a capture's filter takes it near "
                       "its edge, here at 192 kHz: no line farther out tells");
  }
}
END_TEST

Suite *edge_suite(void)
{
  Suite *suite = suite_create("edge");
  TCase *tcase = tcase_create("edge");
  tcase_add_test(tcase, a_slope_is_the_captures);
  tcase_add_test(tcase, what_is_no_slope_stays_residual);
  tcase_add_test(tcase, a_lone_line_at_the_edge_is_open);
  tcase_add_test(tcase, a_slope_in_the_middle_is_none);
  tcase_add_test(tcase, the_level_of_a_spurious_line_is_doubted);
  suite_add_tcase(suite, tcase);
  return suite;
}
