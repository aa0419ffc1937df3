/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for people: its first words, its width, its encoding. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/layout.h"
#include "report/suites.h"

static void check_holds(const char *text, const char *wanted)
{
  ck_assert_msg(strstr(text, wanted) != NULL, "'%s' is not in:\n%.3000s", wanted, text);
}

START_TEST(begins_with_the_account)
{
  struct sc_result result = example_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 120, .utf8 = true});
  ck_assert_int_eq(strncmp(text, "A carrier with a pilot and nothing else.\n", 41), 0);
  free(text);
}
END_TEST

START_TEST(numbers_have_unit_and_uncertainty)
{
  struct sc_result result = example_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 120, .utf8 = true});
  check_holds(text, "1234.568 ± 0.020 Hz");
  check_holds(text, "19000.01230 ± 0.00042 Hz");
  check_holds(text, "6.7500 ± 0.0020 kHz");
  check_holds(text, "the power of the unmodulated carrier");
  free(text);
}
END_TEST

START_TEST(what_is_absent_is_said_once_with_its_reason)
{
  struct sc_result result = empty_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text,
              "not measured: frequency; offset from the centre; level; carrier to noise; noise "
              "density, because there is no carrier\n"); /* not the rows that tell more of these */
  check_holds(text, "Lines on air\nnot measured: there is no carrier\n");
  free(text);
}
END_TEST

START_TEST(a_bound_is_not_missed_where_the_number_stands)
{
  struct sc_result result = empty_result();
  result.noise.fm_noise_db = sc_measured(-61, 0.1);
  result.noise.am_unmodulated_at_most_db = sc_measured(-52, (double)NAN);
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nNoise\n  AM without programme      not measured\n"
                    "    at most                 -52.0 dB\n"
                    "  hum and noise re 75 kHz   -61.0 ± 0.1 dB\n");
  ck_assert_ptr_null(strstr(text, "at most, "));
  free(text);
}
END_TEST

/* What needs the data subcarrier has its reason, not the table's; of many rows five are named. */
START_TEST(without_data_nothing_of_it_is_open)
{
  static const char reason[] = "there is no data subcarrier";
  struct sc_result result = empty_result();
  struct sc_rds *rds = &result.rds;
  rds->subcarrier_hz = rds->injection_khz = rds->injection_percent = rds->amplitude_rms =
      rds->phase_deg = rds->bit_rate_bps = rds->block_error_rate = rds->detection_limit_khz =
          sc_not_measured(reason);
  rds->data.pty = (double)NAN;
  rds->present = SC_NO;
  snprintf(result.rds.evidence, sizeof result.rds.evidence, "no clock was found");
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nData (RDS)\n  present                   no\n"
                    "  evidence                  no clock was found\n"
                    "  not measured: subcarrier; injection, peak; share of 75 kHz; against the "
                    "pilot's third; bit rate and 19 more, because there is no data subcarrier\n\n");
  free(text);
  const struct sc_section *section;
  const struct sc_field *field;
  static const char *const keys[] = {"rds.pi", "rds.pty", "rds.tp", "rds.phase_within_tolerance"};
  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
    ck_assert(sc_field_find(keys[i], &section, &field));
    ck_assert_str_eq(sc_field_value(field, &result).why, reason);
  }
  result.rds.subcarrier_hz = sc_measured(57e3, 1);
  ck_assert(sc_field_find("rds.pi", &section, &field));
  ck_assert_str_ne(sc_field_value(field, &result).why, reason);
}
END_TEST

/* A row that tells more of one that is there is named with it; a reason is given once. */
START_TEST(what_is_absent_is_named_so_that_it_is_known)
{
  struct sc_result result = empty_result();
  result.carrier.level_dbfs = sc_measured(-6, 0.1);
  result.preemphasis.basis = "it cannot be told from this";
  result.preemphasis.tau_us = result.preemphasis.fitted_us =
      sc_not_measured("it cannot be told from this");
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "; level: at the receiver's input");
  check_holds(text, "\nPre-emphasis\n  basis                     it cannot be told from this\n"
                    "  not measured: time constant, for the reason above\n\n");
  free(text);
}
END_TEST

/* A row that tells more stands under its own, also where that was not measured. */
START_TEST(no_row_stands_under_another_ones_heading)
{
  struct sc_result result = empty_result();
  const struct sc_quantity limit = sc_measured(-33.2, (double)NAN);
  result.noise.am_limit_db = result.noise.fm_noise_limit_db = limit;
  result.stereo.crosstalk_limit_db = limit;
  result.stereo.left_rms_khz = sc_measured(1, 0.1);
  result.stereo.separation_left_hz = sc_measured(997.5, 0.1);
  char *text = example_text(&result, (struct sc_report_settings){.width = 200, .utf8 = true});
  check_holds(text, "\nNoise\n  AM: the capture's own     -33.2 dB\n"
                    "  hum: the capture's own    -33.2 dB\n"
                    "  crosstalk seen down to    -33.2 dB\n");
  check_holds(text, "  separation, left to right not measured\n"
                    "    of a left tone at       997.50 ± 0.10 Hz\n");
  check_holds(text, "  above the FM threshold    open: not applicable without a carrier\n");
  free(text);
}
END_TEST

/* The combs' table, with a tone whose leak is lost; nothing of the carrier in a report of audio. */
START_TEST(audio_has_its_table)
{
  struct sc_result result = empty_result();
  result.capture.info.kind = SC_KIND_AUDIO;
  result.audio.sequence = SC_YES;
  result.audio.order = SC_ORDER_SWAPPED;
  result.audio.walk_ripple_db = sc_measured(0.869, 0.001);
  result.audio.walk_phase_deg = sc_measured(4.01, (double)NAN);
  result.audio.points_why = NULL;
  result.audio.separation_limit_db = sc_measured(80, (double)NAN);
  for (int i = 0; i < SC_AUDIO_POINTS; i++)
    result.audio.points[i] = (struct sc_audio_point){
        50.0 + i, i % 2 == 1, sc_measured(-0.25, 0.01),
        i == 3 ? sc_not_measured("it is lost in the noise") : sc_measured(31.5, 0.12)};
  char *text = example_text(&result, (struct sc_report_settings){.width = 80, .utf8 = true});
  check_holds(text, "order of the channels     swapped\n");
  check_holds(text, "       50    left     -0.250 ± 0.010          31.50 ± 0.12\n");
  check_holds(text, "       53   right     -0.250 ± 0.010         lost in noise\n");
  ck_assert_ptr_null(strstr(text, "Lines on air"));
  ck_assert_ptr_null(strstr(text, "Pilot"));
  check_holds(text, "  crosstalk moves level by  0.869 ± 0.001 dB\n"
                    "  phase off the walk by     4.01 degrees\n");
  free(text);
  text = example_text(&result, (struct sc_report_settings){.width = 40, .utf8 = true});
  check_holds(text, "\n    50  left       -0.250          31.50\n");
  free(text);
}
END_TEST

static void check_width(const struct sc_result *result, unsigned width)
{
  char *text = example_text(result, (struct sc_report_settings){.width = width, .utf8 = true});
  for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n"))
    ck_assert_msg(report_columns(line) <= width, "beyond %u columns: %s", width, line);
  free(text);
}

START_TEST(stays_within_its_width)
{
  struct sc_result result = example_result(), empty = empty_result();
  static const unsigned widths[] = {64, 80, 100, 132, 200};
  for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
    check_width(&result, widths[i]);
    check_width(&empty, widths[i]);
  }
}
END_TEST

/* The first line of the example stands below the carrier, and its mirror was not found. */
START_TEST(both_sides_of_the_carrier)
{
  struct sc_result result = example_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 80, .utf8 = true});
  check_holds(text, "     38.000        -   -36.13   -36.12        -    -61.4 -    -68.2\n");
  free(text);
  text = example_text(&result, (struct sc_report_settings){.width = 64, .utf8 = true});
  check_holds(text, "  38.000 -36.12      -  -61.4 -  -68.2\n");
  free(text);
}
END_TEST

/* From where on a line is found, and what hides weaker ones. */
START_TEST(a_full_list_is_no_secret)
{
  struct sc_result result = example_result();
  result.unwanted.seen[0] = (struct sc_seen_span){.lower_hz = sc_measured(120e3, (double)NAN),
                                                  .upper_hz = sc_measured(240e3, (double)NAN),
                                                  .level_dbc = sc_measured(-66.3, (double)NAN),
                                                  .by_modulation = SC_NO,
                                                  .by_full_list = SC_YES};
  result.unwanted.seen_count = 1;
  char *text = example_text(&result, (struct sc_report_settings){.width = 200});
  check_holds(text, "120 to 240 kHz from the carrier from -66.3 dBc on (list full).");
  check_holds(text, "weaker ones may be missing.");
  free(text);
  result.unwanted.seen[0].by_full_list = SC_NO;
  text = example_text(&result, (struct sc_report_settings){.width = 200});
  check_holds(text, "from -66.3 dBc on.");
  ck_assert_ptr_null(strstr(text, "may be missing"));
  free(text);
}
END_TEST

START_TEST(ascii_where_the_terminal_wants_it)
{
  struct sc_result result = example_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 120});
  for (const char *c = text; *c != '\0'; c++)
    ck_assert_msg((*c >= ' ' && *c <= '~') || *c == '\n', "byte %d", *c);
  check_holds(text, "1234.568 +- 0.020 Hz");
  free(text);
}
END_TEST

static size_t place_of(const char *text, const char *wanted)
{
  check_holds(text, wanted);
  return (size_t)(strstr(text, wanted) - text);
}

START_TEST(what_is_open_comes_first_and_hides_nothing)
{
  struct sc_result result = example_result();
  char *text = example_text(&result, (struct sc_report_settings){.width = 120, .lines_max = 1});
  check_holds(text, "Spurious, residual or unknown: 2");
  check_holds(text, "and 1 weaker");
  check_holds(text, "Explained: 1");
  ck_assert_uint_lt(place_of(text, "\n         0.000 "), place_of(text, "-38000.00"));
  ck_assert_ptr_null(strstr(text, "91234"));
  free(text);
  text = example_text(&result, (struct sc_report_settings){.width = 120});
  check_holds(text, "+91234.568");
  ck_assert_ptr_null(strstr(text, "weaker"));
  free(text);
}
END_TEST

START_TEST(neighbours_of_one_cause_share_its_sentence)
{
  struct sc_result result = example_result();
  for (size_t i = 1; i < 3; i++)
    result.air_lines.lines[i].verdict = SC_VERDICT_ARTEFACT;
  memcpy(result.air_lines.lines[2].label, "carrier", sizeof "carrier");
  memcpy(result.air_lines.lines[2].cause, result.air_lines.lines[1].cause,
         sizeof result.air_lines.lines[1].cause);
  char *text = example_text(&result, (struct sc_report_settings){.width = 120});
  check_holds(text, "Made by the receiver or the recording: 2");
  check_holds(text, "these 2: what the modulation leaves of the carrier");
  free(text);
}
END_TEST

/* Decoded audio in which nothing can be judged is not worth a page of reasons. */
START_TEST(audio_is_told_where_there_is_some_to_judge)
{
  struct sc_result result = example_result();
  result.audio.sequence = SC_YES;
  char *text = example_text(&result, (struct sc_report_settings){.width = 120});
  check_holds(text, "\nAudio\n");
  free(text);
  result.audio.sequence = SC_NO;
  for (size_t i = 0; i < 2; i++)
    result.audio.channel[i].frequency_hz = sc_not_measured("no steady tone dominates");
  text = example_text(&result, (struct sc_report_settings){.width = 120});
  ck_assert_ptr_null(strstr(text, "\nAudio\n"));
  ck_assert_ptr_null(strstr(text, "Audio, left"));
  free(text);
}
END_TEST

START_TEST(hostile_text_reaches_no_terminal)
{
  struct sc_result result = example_result();
  strcpy(result.capture.info.name, "a\x1b[2J\xff\xc2\x9b.wav");
  strcpy(result.air_lines.lines[0].cause, "\x07 bell\r\n");
  char *text = example_text(&result, (struct sc_report_settings){.width = 120, .utf8 = true});
  for (const char *c = text; *c != '\0'; c++)
    ck_assert((unsigned char)*c >= ' ' || *c == '\n');
  check_holds(text, "a?[2J??.wav");
  free(text);
}
END_TEST

Suite *text_suite(void)
{
  Suite *suite = suite_create("text");
  TCase *written = tcase_create("written");
  tcase_add_test(written, begins_with_the_account);
  tcase_add_test(written, numbers_have_unit_and_uncertainty);
  tcase_add_test(written, what_is_absent_is_said_once_with_its_reason);
  tcase_add_test(written, audio_has_its_table);
  tcase_add_test(written, no_row_stands_under_another_ones_heading);
  tcase_add_test(written, without_data_nothing_of_it_is_open);
  tcase_add_test(written, what_is_absent_is_named_so_that_it_is_known);
  tcase_add_test(written, a_bound_is_not_missed_where_the_number_stands);
  tcase_add_test(written, stays_within_its_width);
  tcase_add_test(written, both_sides_of_the_carrier);
  tcase_add_test(written, a_full_list_is_no_secret);
  tcase_add_test(written, ascii_where_the_terminal_wants_it);
  tcase_add_test(written, what_is_open_comes_first_and_hides_nothing);
  tcase_add_test(written, neighbours_of_one_cause_share_its_sentence);
  tcase_add_test(written, audio_is_told_where_there_is_some_to_judge);
  tcase_add_test(written, hostile_text_reaches_no_terminal);
  suite_add_tcase(suite, written);
  return suite;
}
