/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the report says first: the answers in short. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/brief.h>

#include "report/suites.h"

static void check_holds(const char *text, const char *wanted)
{
  ck_assert_msg(strstr(text, wanted) != NULL, "'%s' is not in:\n%.3000s", wanted, text);
}

/* What nothing explains comes first, the strongest before the weaker. */
START_TEST(the_open_lines)
{
  struct sc_result result = example_result();
  for (size_t i = 0; i < result.air_lines.count; i++)
    result.air_lines.lines[i].verdict = SC_VERDICT_EXPLAINED;
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nIn short\n  not explained on air      nothing\n");
  free(text);
  static const double levels_db[] = {-50, -40, -60};
  for (size_t i = 0; i < 3; i++) {
    struct sc_line *line = &result.air_lines.lines[i];
    line->verdict = i == 2 ? SC_VERDICT_UNKNOWN : SC_VERDICT_SPURIOUS;
    line->offset_hz = sc_measured(1e3 * (double)i - 130e3, 0.01);
    line->tone.level_db = line->level_dbc = sc_measured(levels_db[i], 0.1);
    snprintf(line->label, sizeof line->label, "%s", i == 1 ? "a carrier" : "");
  }
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text,
              "\n  not explained on air      spurious at -129.000 kHz, -40.0 dBc (a carrier); "
              "spurious at -130.000 kHz, -50.0 dBc; unknown at -128.000 kHz, -60.0 dBc\n");
  free(text);
}
END_TEST

/* Two lines in the same words are one entry, so that the third is still named. */
START_TEST(a_cause_is_said_once)
{
  struct sc_result result = example_result();
  for (size_t i = 0; i < 3; i++) {
    struct sc_line *line = &result.air_lines.lines[i];
    line->verdict = SC_VERDICT_UNKNOWN;
    line->offset_hz = sc_measured(1e3 * (double)i - 130e3, 0.01);
    line->tone.level_db = line->level_dbc = sc_measured(-40 - 10 * (double)i, 0.1);
    line->label[0] = '\0';
    snprintf(line->cause, sizeof line->cause, "%s", i == 2 ? "another" : "of the data");
  }
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text,
              "\n  not explained on air      unknown at -130.000 kHz, -40.0 dBc and 1 alike: of "
              "the data; unknown at -128.000 kHz, -60.0 dBc\n");
  free(text);
}
END_TEST

/* 0.28 Hz are 20 log10(0.28 / 75000) = -108.6 dB, and not 0.000 kHz. */
START_TEST(a_weak_tone_has_a_level)
{
  struct sc_result result = example_result();
  struct sc_line *line = &result.composite_lines.lines[1];
  result.composite_lines.lines[0].verdict = SC_VERDICT_EXPLAINED;
  line->verdict = SC_VERDICT_SPURIOUS;
  line->offset_hz = sc_measured(87e3, 0.01);
  line->deviation_khz = sc_measured(0.00028, 1e-6);
  line->level_db75 = sc_measured(-108.6, 0.03);
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  in the composite        spurious at 87.000 kHz, -108.6 dB re 75 kHz\n");
  free(text);
}
END_TEST

START_TEST(the_answers)
{
  struct sc_result result = example_result();
  result.stereo.mode = SC_MODE_DIFFERENCE_WITHOUT_PILOT;
  result.stereo.correlation = sc_measured(-0.999, 0.001);
  result.stereo.balance_db = sc_measured(0.1, 0.01);
  result.stereo.residual_present = SC_YES;
  result.stereo.residual_percent = sc_measured(1.234, 0.02);
  result.stereo.separation_left_to_right_db = sc_measured(31.26, 0.1);
  result.stereo.separation_right_to_left_at_least_db = sc_measured(52, (double)NAN);
  result.deviation.corrected_khz = sc_measured(81.26, 0.1);
  result.preemphasis.tau_us = sc_measured(50, (double)NAN);
  result.rds.present = SC_YES;
  result.rds.injection_khz = sc_measured(2.006, 0.001);
  snprintf(result.rds.data.pi, sizeof result.rds.data.pi, "C4A7");
  result.injections.count = 1;
  result.injections.at[0] = (struct sc_injection){.offset_hz = sc_measured(67e3, 10),
                                                  .deviation_khz = sc_measured(7.5, 0.01),
                                                  .injection_percent = sc_measured(10, 0.01),
                                                  .kind = SC_INJECTION_FM,
                                                  .label = "subsidiary",
                                                  .customary = "8 to 10 %"};
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  deviation                 81.26 kHz, held peak without noise\n");
  check_holds(text, "  38 kHz carrier            left over, 1.23 % of 75 kHz\n"
                    "  data (RDS)                C4A7, 2.01 kHz\n"
                    "  above 53 kHz              67.0 kHz, 7.50 kHz, 10.0 % (fm: subsidiary; "
                    "customary 8 to 10 %)\n"
                    "  left and right            difference without pilot; left and right are "
                    "opposite, so a mono receiver hears next to nothing\n"
                    "  separation                left to right: 31.3 dB; right to left, at least: "
                    "52.0 dB\n"
                    "  pre-emphasis              50 µs\n");
  result.stereo.balance_db = sc_measured(6, 0.01); /* half of the stronger one is left in mono */
  result.injections.at[0].offset_hz = sc_not_measured("it is hidden");
  result.injections.at[0].lower_hz = 53.5e3;
  result.injections.at[0].upper_hz = 57.84e3;
  char *hidden = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(hidden, "  above 53 kHz              within 53.5 to 57.8 kHz, 7.50 kHz, 10.0 % (fm");
  free(hidden);
  char *unequal = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  ck_assert_ptr_null(strstr(unequal, "opposite"));
  free(unequal);
  check_holds(text, "  limits of standards       not kept: Deviation, held peak without noise: ");
  check_holds(text, "Difference signal, 38 kHz carrier left over: share of 75 kHz: 1.234 ±");
  free(text);
  result.stereo.residual_percent = sc_measured(0.0034, 0.0001);
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "38 kHz carrier            left over, 0.0034 % of 75 kHz\n");
  free(text);
  /* hidden is not absent */
  result.stereo.mode = SC_MODE_STEREO;
  result.stereo.residual_present = SC_UNKNOWN;
  result.stereo.residual_percent = result.stereo.residual_level_db_pilot =
      sc_not_measured("low notes hide it");
  result.stereo.residual_limit_percent = sc_measured(5.7, (double)NAN);
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "38 kHz carrier            open: low notes hide it, up to 5.7 % of 75 kHz\n");
  free(text);
}
END_TEST

/* A row that goes on from another one's label needs that row. */
START_TEST(no_row_hangs)
{
  struct sc_result result = example_result();
  result.air_lines.count = 0;
  result.composite_lines.count = 1;
  result.composite_lines.lines[0].verdict = SC_VERDICT_EXPLAINED;
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nIn short\n  not explained on air      nothing: no steady line stands out\n"
                    "    in the composite        nothing\n");
  free(text);
  result.air_lines.why = "a composite was captured";
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nIn short\n  not explained             nothing\n");
  free(text);
}
END_TEST

/* 20 Hz above 19 kHz are ten times the 2 Hz of 47 CFR 73.322(a)(1), whatever clock nobody stated:
 * (20 - 2) / 19000 = 947 ppm would have to be its error. */
START_TEST(a_pilot_far_off)
{
  struct sc_result result = example_result();
  result.pilot.frequency_error_hz = sc_measured(19.98, 1e-5);
  result.pilot.within_tolerance = SC_UNKNOWN;
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  pilot                     20.0 Hz above 19 kHz, more than 2 Hz, unless the "
                    "sample clock is wrong by 946 ppm or more (--clock-ppm)\n");
  free(text);
  result.pilot.frequency_error_hz = sc_measured(-3, 1e-5);
  result.pilot.within_tolerance = SC_NO;
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  pilot                     3.00 Hz below 19 kHz, more than 2 Hz\n");
  free(text);
  result.pilot.frequency_error_hz = sc_measured(-1.9, 1e-5);
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  ck_assert_ptr_null(strstr(text, "more than 2 Hz"));
  free(text);
}
END_TEST

START_TEST(am_hum_and_noise)
{
  struct sc_result result = example_result();
  result.noise.am_unmodulated_db = result.noise.fm_noise_db =
      sc_not_measured("a programme is sent; it takes silence");
  result.noise.am_unmodulated_at_most_db = result.noise.fm_noise_at_most_db =
      sc_not_measured("a programme is sent; it takes silence");
  result.noise.am_synchronous_db = sc_measured(-30.46, 0.1);
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  AM                        -30.5 dB, under programme\n"
                    "  hum and noise             open: a programme is sent; it takes silence\n");
  free(text);
  result.noise.am_unmodulated_at_most_db = sc_measured(-51.14, (double)NAN);
  result.noise.fm_noise_db = sc_measured(-62.34, 0.1);
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "  AM                        at most -51.1 dB, without programme\n"
                    "  hum and noise             -62.3 dB re 75 kHz\n");
  free(text);
}
END_TEST

/* cos 8 degrees = 0.990268, so (1 + cos) / (1 - cos) = 204.5: 46.2 dB. */
START_TEST(phases_that_are_off)
{
  struct sc_result result = example_result();
  result.stereo.mode = SC_MODE_STEREO;
  result.stereo.phase_error_deg = sc_measured(8, 0.004);
  result.rds.present = SC_YES;
  result.rds.phase_deg = sc_measured(45, 0.05);
  result.rds.phase_within = SC_NO;
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text,
              "    its phase               8.00 degrees against the pilot, which alone limits "
              "separation to 46.2 dB\n");
  check_holds(text,
              "; 45.0 degrees against the pilot's third harmonic, not within 10 of 0 or 90\n");
  free(text);
  result.stereo.phase_error_deg = sc_measured(0.5, 0.004);
  result.rds.phase_within = SC_YES;
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  ck_assert_ptr_null(strstr(text, "    its phase  "));
  ck_assert_ptr_null(strstr(text, "not within 10"));
  free(text);
  result.audio.sequence = SC_YES;
  result.audio.order = SC_ORDER_NORMAL;
  result.audio.phase_deg = sc_measured(179.9, 0.1);
  text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "stereo; the channels are normal, but one channel is inverted\n");
  free(text);
}
END_TEST

/* Kept limits do not speak for those that stay open. */
START_TEST(open_limits_are_named)
{
  struct sc_result result = example_result();
  struct sc_limits limits;
  struct sc_message message;
  const char *wanted = "pilot.deviation_khz from 6 to 7.5\nchannel.error_hz within 2000\n";
  result.pilot.deviation_khz = sc_measured(6.75, 0.002);
  result.channel.error_hz = sc_not_measured("no nominal frequency was given");
  ck_assert_int_eq(sc_limits_parse(wanted, "wanted", &limits, &message), SC_OK);
  struct sc_brief brief;
  sc_brief_make(&result, &limits, &brief);
  const struct sc_brief_row *row = &brief.rows[brief.count - 1];
  ck_assert_str_eq(row->label, "limits");
  ck_assert_str_eq(row->text, "1 of 2 kept; open: Channel, off the nominal frequency");
}
END_TEST

/* No label of the rows ends in the middle of what it says. */
START_TEST(what_is_listed_without_a_value_is_whole)
{
  struct sc_result result = example_result();
  struct sc_limits limits;
  struct sc_message message;
  struct sc_brief brief;
  const char *wanted = "pilot.deviation_khz from 6 to 7.5\npilot.frequency_error_hz within 2\n";
  result.pilot.deviation_khz = sc_measured(6.75, 0.002);
  result.pilot.frequency_error_hz = sc_not_measured("there is no pilot");
  ck_assert_int_eq(sc_limits_parse(wanted, "wanted", &limits, &message), SC_OK);
  result.injections.count = 1;
  result.injections.at[0] =
      (struct sc_injection){.offset_hz = sc_measured(57e3, 10),
                            .deviation_khz = sc_not_measured("it does not matter"),
                            .injection_percent = sc_not_measured("it does not matter"),
                            .label = "none: receiver or recording make it"};
  sc_brief_make(&result, &limits, &brief);
  ck_assert_str_eq(brief.rows[brief.count - 1].text,
                   "1 of 2 kept; open: Pilot, error against 19 kHz");
  bool named = false;
  for (size_t i = 0; i < brief.count; i++)
    named =
        named || strstr(brief.rows[i].text, ", no service: receiver or recording make it)") != NULL;
  ck_assert(named);
}
END_TEST

/* Where nothing was measured the account says so, and that is short enough. */
START_TEST(nothing_of_nothing)
{
  struct sc_result result = empty_result();
  result.unmeasured = "there is no carrier";
  char *text = example_text(&result, (struct sc_report_settings){.width = 80, .utf8 = true});
  ck_assert_ptr_null(strstr(text, "In short"));
  free(text);
}
END_TEST

Suite *brief_suite(void)
{
  Suite *suite = suite_create("brief");
  TCase *answers = tcase_create("answers");
  tcase_add_test(answers, the_open_lines);
  tcase_add_test(answers, a_cause_is_said_once);
  tcase_add_test(answers, a_weak_tone_has_a_level);
  tcase_add_test(answers, the_answers);
  tcase_add_test(answers, no_row_hangs);
  tcase_add_test(answers, a_pilot_far_off);
  tcase_add_test(answers, phases_that_are_off);
  tcase_add_test(answers, am_hum_and_noise);
  tcase_add_test(answers, open_limits_are_named);
  tcase_add_test(answers, what_is_listed_without_a_value_is_whole);
  tcase_add_test(answers, nothing_of_nothing);
  suite_add_tcase(suite, answers);
  return suite;
}
