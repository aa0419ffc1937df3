/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole screen as text: at every size, and what it must say at the usual ones. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;

#define EXPECT(width, height, ...) FIXTURE_EXPECT(&f, width, height, __VA_ARGS__)

START_TEST(every_size_is_drawn)
{
  void (*const fixtures[])(struct fixture *) = {fixture_air, fixture_composite};
  for (int which = 0; which < 2; which++) {
    fixtures[which](&f);
    fixture_type(&f, "hBnk");
    for (int width = 1; width < 230; width += width < 8 ? 1 : 23)
      for (int height = 1; height < 80; height += height < 8 ? 1 : 11)
        for (int ascii = 0; ascii < 2; ascii++)
          free(fixture_draw(&f, width, height, ascii));
  }
}
END_TEST

START_TEST(the_account_leads)
{
  fixture_air(&f);
  char *screen = fixture_draw(&f, 80, 24, false);
  ck_assert_ptr_eq(strstr(screen, "on air: Stereo at rest"), screen);
  free(screen);
  EXPECT(80, 24, "Measured over all of it, 0.00 s to 2.40 s.", "kHz cause", "dBc rest dB",
         "what is left of the carrier", "-0.3   +0.04 = explained", "~ residual");
}
END_TEST

START_TEST(the_settings_are_one_sentence)
{
  fixture_air(&f);
  EXPECT(80, 24, "Hann window, 375 Hz resolution, 31 records averaged, all 2.40 s.");
  f.model.spectrum.trace.rbw_limited = true;
  fixture_type(&f, "k");
  EXPECT(160, 24, "375 Hz resolution (its length allows no finer)", "highest held.");
}
END_TEST

START_TEST(only_what_may_belong_there_is_off_a_standard_position)
{
  fixture_composite(&f);
  EXPECT(80, 24, "+0.4 = explained");
  struct sc_line *line = &f.lines[0];
  line->tone.frequency_hz = line->offset_hz = sc_measured(41150.8, 0.01);
  line->nearest = NULL;
  line->verdict = SC_VERDICT_RESIDUAL;
  strcpy(line->label, "something");
  EXPECT(80, 24, "+150.8 ~ residual");
  line->verdict = SC_VERDICT_EXPLAINED;
  EXPECT(80, 24, "- = explained");
  char *screen = fixture_draw(&f, 80, 24, false);
  ck_assert_ptr_null(strstr(screen, "150.8"));
  free(screen);
}
END_TEST

/* Of an average that forgets, what it is worth: all records since the start say nothing of it. */
START_TEST(an_average_that_forgets_says_its_worth)
{
  fixture_air(&f);
  f.model.spectrum.trace.records = 123456;
  f.model.spectrum.trace.independent_records = 518.4;
  f.state.playing = true;
  EXPECT(80, 24, "375 Hz resolution, worth 518 records, ");
  f.model.spectrum.trace.independent_records = 1;
  EXPECT(80, 24, "375 Hz resolution, worth 1 record, ");
}
END_TEST

START_TEST(the_settings_shorten_before_they_are_cut)
{
  fixture_air(&f);
  f.model.spectrum.from_s = 0.5;
  f.model.spectrum.to_s = 1;
  fixture_type(&f, "k");
  EXPECT(80, 24, "Hann, 375 Hz, 31 records, 0.50 to 1.00 s of 2.40 s, highest held.");
}
END_TEST

/* What goes on for minutes is not counted in powers of ten. */
START_TEST(what_was_lost_is_told_in_seconds)
{
  fixture_air(&f);
  f.info.live = f.state.playing = true;
  f.info.frames = 0;
  f.model.peak_dbfs = NAN;
  f.model.losses.overruns = 3;
  f.model.losses.overrun_frames = 384000 * 1200ULL;
  f.model.undrawn_frames = 384000 * 125ULL;
  f.model.unmeasured_frames = 384000 / 4;
  EXPECT(200, 24, "3 gaps (1200 s lost), 125 s not drawn, 0.25 s not measured");
}
END_TEST

/* A sheet has no settings: the last row says what must not be missed. */
START_TEST(a_sheet_says_that_it_records)
{
  fixture_air(&f);
  f.info.live = true;
  f.info.frames = 0;
  f.model.peak_dbfs = NAN;
  fixture_type(&f, "4");
  EXPECT(80, 24, "\nEsc spectrum again");
  f.model.keeping = true;
  f.model.kept_s = 8;
  EXPECT(80, 24, "\nRecording: 8 s. Esc spectrum again");
  f.model.silent_s = 3;
  f.model.clipped_frames = 7;
  EXPECT(120, 24,
         "\nCLIPPED 7 times in 1 s: lower gain. NOTHING CAME for 3 s. Recording: 8 s. Esc");
}
END_TEST

START_TEST(what_stands_still_is_not_called_live)
{
  fixture_air(&f);
  f.info.live = true;
  f.info.frames = 0;
  f.state.playing = true;
  f.model.peak_dbfs = NAN;
  f.model.silent_s = 1.9;
  EXPECT(80, 24, ", the last 2.40 s, live.", "Space pauses");
  f.model.spectrum.trace.record_s = 5; /* longer than what is averaged: it is all of that old */
  EXPECT(80, 24, ", the last 5.00 s, live.");
  f.model.spectrum.trace.record_s = 1e-4;
  f.state.length_s = 0.002;                          /* no "0.00 s" */
  f.model.spectrum.trace.independent_records = 1760; /* no "1.76e+03" */
  EXPECT(80, 24, "worth 1760 records", ", the last 0.002 s, live.");
  f.model.silent_s = 3.9;
  EXPECT(80, 24, ", NOTHING CAME for 3 s");
  f.model.ended = true;
  EXPECT(80, 24, ", ended");
  char *screen = fixture_draw(&f, 80, 24, false);
  ck_assert_ptr_null(strstr(screen, "NOTHING"));
  ck_assert_ptr_null(strstr(screen, "Space"));
  free(screen);
}
END_TEST

/* However much there is to say, that it records and what was lost is in sight at 80 columns. */
START_TEST(cautions_leave_room_for_what_goes_on)
{
  fixture_air(&f);
  f.info.live = true;
  f.info.frames = 0;
  f.state.playing = true;
  f.state.length_s = 1;
  f.model.clipped_frames = 12345;
  f.model.keeping = true;
  f.model.kept_s = 17;
  EXPECT(80, 24, "CLIPPED 12345 times in 1 s: lower gain. 375 Hz, live, recording: 17 s, ");
  f.model.clipped_frames = 0; /* floats may be above */
  f.model.peak_dbfs = 0.51;
  EXPECT(300, 24, "PEAKS 0.5 dB above full scale: lower gain or coupling.");
  f.model.peak_dbfs = 0;
  EXPECT(300, 24, "PEAKS 0.0 dB below full scale");
  f.model.clipped_frames = 1;
  EXPECT(300, 24, "believe no spur: lower gain or coupling.", "recording: 17 s");
}
END_TEST

/* 2.4 s on 30 cells and the texts beside: passage, section, and how far the survey is. */
START_TEST(the_time_bar_says_where_one_is)
{
  fixture_air(&f);
  f.model.survey_done = false;
  f.model.survey_s = 1.2;
  f.state.position_s = 2; /* what was asked for; the resolution took more */
  f.state.length_s = 0.1;
  f.model.spectrum.from_s = 1.6;
  EXPECT(80, 24, "0.00 s ──", "───....", "...#", "##### 2.40 s, surveyed 50 %");
  f.state.held = true;
  f.state.loop = VIEW_LOOP_ON;
  f.state.loop_from_s = 0;
  f.state.loop_to_s = 1.0;
  EXPECT(120, 40, "0.00 s [──", "]──", "50 %, stopped");
  f.model.survey_done = true;
  EXPECT(80, 24, "### 2.40 s\n", ", 1.60 to 2.40 s of 2.40 s");
  f.model.spectrum.trace.points = 0; /* nothing yet: where it will be */
  EXPECT(80, 24, "─##", "#─");
}
END_TEST

START_TEST(a_passage_of_nothing_says_where_to_look)
{
  fixture_air(&f);
  memset(f.mean, 0, sizeof f.mean);
  EXPECT(80, 24, "Every sample of this passage is 0. 6 shows",
         "averages over all of the capture.\n");
  f.info.live = true;
  EXPECT(80, 24, "Every sample that comes in is 0.");
}
END_TEST

/* What is measured from the beginning says how much, and nothing else. */
START_TEST(what_is_measured_so_far_comes_first)
{
  fixture_air(&f);
  f.model.survey_done = false;
  f.model.survey_s = 1.2;
  EXPECT(80, 24, "on air, 1.20 s of 2.40 s so far: Stereo at rest");
  f.model.start_s = 3;
  EXPECT(80, 24, "on air, 3.00 s to 4.20 s of 2.40 s so far: Stereo at rest");
}
END_TEST

/* Characters between two, in UTF-8. */
static size_t count_between(const char *screen, uint32_t low, uint32_t high)
{
  size_t count = 0;
  for (uint32_t code; *screen != 0;) {
    screen += view_text_decode(screen, &code);
    count += code >= low && code <= high;
  }
  return count;
}

/* Highest and lowest are lines over the filled mean, so that none hides another. */
START_TEST(extremes_stay_lines_where_the_mean_is_filled)
{
  fixture_air(&f);
  fixture_type(&f, "u");
  char *mean = fixture_draw(&f, 120, 60, false);
  fixture_type(&f, "k");
  char *highest = fixture_draw(&f, 120, 60, false);
  fixture_type(&f, "k");
  char *both = fixture_draw(&f, 120, 60, false);
  ck_assert_uint_eq(count_between(mean, 0x2801, 0x28FF), 0);
  ck_assert_uint_gt(count_between(highest, 0x2801, 0x28FF), 30);
  ck_assert_uint_gt(count_between(both, 0x2801, 0x28FF),
                    count_between(highest, 0x2801, 0x28FF) + 30);
  ck_assert_uint_gt(count_between(both, 0x2581, 0x2588), 20);
  free(mean);
  free(highest);
  free(both);
}
END_TEST

START_TEST(a_marker_reads_line_cause_and_distance)
{
  fixture_composite(&f);
  fixture_type(&f, "g19k\nBg61.3k\n");
  fixture_type(&f, "A");
  EXPECT(80, 24, "A 19 000.400 ±0.020 Hz", "6.7618 ±0.0030 kHz, 20.9 dB below 75 kHz",
         "the stereo pilot");
  EXPECT(120, 40, "0.400 Hz above the standard 19 kHz",
         "B 61 300.000 ±0.020 Hz, 0.2986 ±0.0030 kHz, 48.0 dB below 75 kHz (+42 299.6 Hz, -27.10 ");
}
END_TEST

/* A wider screen says no less: the name, and the cause beside it where both fit. */
START_TEST(a_row_has_name_and_cause_where_both_fit)
{
  fixture_air(&f);
  struct sc_line *line = &f.lines[3];
  snprintf(line->label, sizeof line->label, "2 x 1700 Hz + 9 x 1000 Hz");
  snprintf(line->cause, sizeof line->cause, "a product of FM, no tone of the composite");
  EXPECT(260, 60, "2 x 1700 Hz + 9 x 1000 Hz: a product of FM, no tone of the composite ");
  EXPECT(200, 60, " 2 x 1700 Hz + 9 x 1000 Hz ");
  EXPECT(80, 24, " 2 x 1700 Hz + 9 x 1000 Hz ");
  snprintf(line->label, sizeof line->label, "product of FM");
  EXPECT(200, 60, " a product of FM, no tone of the composite ");
}
END_TEST

/* The account's level is an average since the start; beside it stands what the trace has, whose
 * lobe is a Gaussian here, which is a parabola in decibels. */
START_TEST(a_marker_on_live_input_reads_what_it_is_now)
{
  fixture_air(&f);
  f.info.live = f.state.playing = true;
  fixture_type(&f, "g38k\n");
  EXPECT(120, 24, "-33.90 dBc, now -33.9 dBc");
  for (size_t i = 0; i < FIXTURE_POINTS; i++)
    f.mean[i] /= 4;
  EXPECT(120, 24, "-33.90 dBc, now -39.9 dBc");
  f.model.ended = true;
  EXPECT(120, 24, "-33.90 dBc: ");
}
END_TEST

START_TEST(a_marker_between_lines_says_so)
{
  fixture_air(&f);
  fixture_type(&f, "g10k\n");
  EXPECT(120, 24, "no measured line here", "density", "dBc/Hz", "9 000 Hz below the");
}
END_TEST

START_TEST(a_marker_on_air_reads_both_frequencies_and_the_deviation)
{
  fixture_air(&f);
  struct sc_line pilot = f.lines[0];
  pilot.offset_hz = sc_measured(19000.4, 0.02);
  pilot.deviation_khz = sc_measured(6.8, 0.012);
  f.result.composite_lines =
      (struct sc_line_list){.lines = &pilot, .count = 1, .resolution_hz = 1.5, .records = 1};
  fixture_type(&f, "g19k\n");
  EXPECT(120, 24, "A +19 000.400 ±0.020 Hz (91.219000400 MHz)",
         "6.800 ±0.012 kHz on the composite");
  fixture_type(&f, "z");
  EXPECT(120, 24, "A 91 219 000.400 ±0.020 Hz (+19 000.400 Hz from the carrier)");
  fixture_type(&f, "zg38k\n");
  char *screen = fixture_draw(&f, 120, 24, true);
  ck_assert_ptr_null(strstr(screen, "kHz on the composite"));
  free(screen);
}
END_TEST

/* The carrier moves with its programme's low notes, and all offsets with it; the place as tuned
 * does not. */
START_TEST(an_offset_is_as_uncertain_as_the_carrier)
{
  fixture_air(&f);
  for (size_t i = 0; i < f.result.air_lines.count; i++)
    f.result.air_lines.lines[i].offset_hz.uncertainty = 119;
  fixture_type(&f, "g19k\n");
  EXPECT(120, 24, "A +19 000 ±119 Hz (91.219000400 MHz)");
  fixture_type(&f, "z");
  EXPECT(120, 24, "A 91 219 000.400 ±0.020 Hz (+19 000 Hz from the carrier)");
}
END_TEST

START_TEST(small_screens_keep_what_matters)
{
  fixture_air(&f);
  EXPECT(40, 12, "? keys  q leaves", "No marker: A sets one, Down on a line.");
  fixture_type(&f, "4");
  EXPECT(40, 12, "Esc spectrum again");
  fixture_type(&f, "1");
  fixture_type(&f, "hn");
  EXPECT(40, 12, "on air: Stereo at rest", "+19.000 pilot", "A +19 000.400 ±0.020 Hz", "kHz");
}
END_TEST

START_TEST(large_screens_put_the_account_beside)
{
  fixture_air(&f);
  EXPECT(120, 40, "+93.600 not identified", "+131.4 kHz !", "pilot, second order");
}
END_TEST

START_TEST(ascii_screens_hold_ascii_only)
{
  fixture_air(&f);
  fixture_type(&f, "hk");
  char *screen = fixture_draw(&f, 100, 30, true);
  for (const char *at = screen; *at != 0; at++)
    ck_assert(*at == '\n' || (*at >= ' ' && *at < 127));
  ck_assert_ptr_nonnull(strstr(screen, "+/-0.020 Hz"));
  free(screen);
}
END_TEST

START_TEST(tuned_frequencies_are_shown_on_demand)
{
  fixture_air(&f);
  fixture_type(&f, "hz");
  EXPECT(80, 24, "MHz cause", "91.200000", "A 91 200 000.000 ±0.020 Hz");
}
END_TEST

START_TEST(a_question_lies_over_the_last_row)
{
  fixture_air(&f);
  fixture_type(&f, "s2k");
  EXPECT(80, 24, "Span (as in 2k): 2k");
  fixture_type(&f, "q\n");
  EXPECT(80, 24, "'2kq' does not suit: write for example 19k");
  for (int width = 1; width < 80; width += 3)
    for (int height = 1; height < 12; height++)
      free(fixture_draw(&f, width, height, false));
}
END_TEST

/* On any screen that has the rows for it. */
START_TEST(what_is_said_beside_a_question_is_said_whole)
{
  fixture_air(&f);
  fixture_type(&f, "g999M\n");
  EXPECT(140, 24, "999M  '999M' is out of range: from 91.012570 MHz to 91.396570 MHz here.");
  EXPECT(80, 24, "Marker to (as in 19k or pilot): 999M",
         "'999M' is out of range: from 91.012570 MHz to 91.396570 MHz here.");
  EXPECT(40, 12, "Marker to (as in 19k or pilot): 999M", "'999M' is out of range: from 91.012570",
         "MHz to 91.396570 MHz here.");
}
END_TEST

START_TEST(text_of_a_file_cannot_reach_the_terminal)
{
  fixture_air(&f);
  strcpy(f.result.account, "a\x1b]0;title\x07 b\x9b m");
  char *screen = fixture_draw(&f, 80, 24, false);
  for (const char *at = screen; *at != 0; at++)
    ck_assert(*at == '\n' || (unsigned char)*at >= ' ');
  free(screen);
}
END_TEST

START_TEST(what_cannot_be_shown_says_why)
{
  fixture_air(&f);
  f.model.spectrum = (struct view_spectrum){
      .view = VIEW_COMPOSITE, .why = "No FM signal was found, so there is no composite"};
  fixture_type(&f, "2");
  EXPECT(80, 24, "composite: No FM signal was found");
}
END_TEST

/* A record of 16 s is 16 s of an empty plot, and while live input is held it never comes. */
START_TEST(what_is_waited_for_is_said)
{
  fixture_air(&f);
  f.model.spectrum.trace.points = 0;
  f.model.spectrum.trace.rbw_hz = 0.125;
  f.model.spectrum.trace.record_s = 16;
  EXPECT(80, 24, "Reading: at a resolution of 0.125 Hz the first record takes 16 s.");
  f.model.spectrum.trace.record_s = 0.016;
  EXPECT(80, 24, "Reading ...");
  f.info.live = true;
  f.info.frames = 0;
  EXPECT(80, 24, "Held: Space goes on");
  f.state.playing = true;
  f.model.silent_s = 7.5;
  EXPECT(80, 24, "Reading ... NOTHING CAME for 7 s");
  f.model.ended = true;
  f.model.spectrum.trace.record_s = 16;
  EXPECT(200, 24, "Nothing more comes in, and a resolution of 0.125 Hz takes a record of 16 s.");
}
END_TEST

/* A trace that has 6 dB less than is expected, and nothing at the carrier of its own. */
static void expect_less(void)
{
  static float difference[FIXTURE_POINTS];
  for (size_t i = 0; i < FIXTURE_POINTS; i++) {
    double hz = f.model.spectrum.trace.start_hz + (double)i * f.model.spectrum.trace.step_hz;
    difference[i] = fabs(hz - view_line_hz(&f.lines[8])) < 1e3 ? 15 : -6;
  }
  f.model.spectrum.expected = f.model.spectrum.trace;
  f.model.spectrum.expected.mean = f.high;
  f.model.spectrum.difference_db = difference;
}

START_TEST(what_is_expected_lies_over_the_trace)
{
  fixture_air(&f);
  expect_less();
  char *without = fixture_draw(&f, 40, 12, false);
  ck_assert_ptr_null(strstr(without, "air --"));
  free(without);
  fixture_type(&f, "8");
  EXPECT(40, 12, " air ----------", "-#-");
  EXPECT(120, 40, "+20", "0 dB", "-20");
  EXPECT(200, 40, "o expected of the composite");
  fixture_expect(&f, 80, 24, true, (const char *const[]){"+20", " o o o", NULL});
  fixture_type(&f, "Ag70k\n");
  EXPECT(160, 40, "6.0 dB below what the composite makes");
  fixture_type(&f, "8");
  char *again = fixture_draw(&f, 120, 40, false);
  ck_assert_ptr_null(strstr(again, "0 dB"));
  free(again);
}
END_TEST

START_TEST(before_any_result_it_says_what_is_measured)
{
  fixture_air(&f);
  f.model.result = NULL;
  EXPECT(80, 24, "kitefield.sigmf-meta, SigMF, ci8. Measuring.", "dBFS");
}
END_TEST

Suite *draw_suite(void)
{
  Suite *suite = suite_create("draw");
  TCase *screens = tcase_create("screens");
  tcase_add_test(screens, every_size_is_drawn);
  tcase_add_test(screens, the_account_leads);
  tcase_add_test(screens, the_settings_are_one_sentence);
  tcase_add_test(screens, only_what_may_belong_there_is_off_a_standard_position);
  tcase_add_test(screens, an_average_that_forgets_says_its_worth);
  tcase_add_test(screens, the_settings_shorten_before_they_are_cut);
  tcase_add_test(screens, cautions_leave_room_for_what_goes_on);
  tcase_add_test(screens, a_sheet_says_that_it_records);
  tcase_add_test(screens, what_was_lost_is_told_in_seconds);
  tcase_add_test(screens, what_stands_still_is_not_called_live);
  tcase_add_test(screens, extremes_stay_lines_where_the_mean_is_filled);
  tcase_add_test(screens, the_time_bar_says_where_one_is);
  tcase_add_test(screens, a_passage_of_nothing_says_where_to_look);
  tcase_add_test(screens, what_is_measured_so_far_comes_first);
  tcase_add_test(screens, a_marker_reads_line_cause_and_distance);
  tcase_add_test(screens, a_row_has_name_and_cause_where_both_fit);
  tcase_add_test(screens, a_marker_between_lines_says_so);
  tcase_add_test(screens, a_marker_on_live_input_reads_what_it_is_now);
  tcase_add_test(screens, a_marker_on_air_reads_both_frequencies_and_the_deviation);
  tcase_add_test(screens, an_offset_is_as_uncertain_as_the_carrier);
  tcase_add_test(screens, small_screens_keep_what_matters);
  tcase_add_test(screens, large_screens_put_the_account_beside);
  tcase_add_test(screens, ascii_screens_hold_ascii_only);
  tcase_add_test(screens, tuned_frequencies_are_shown_on_demand);
  tcase_add_test(screens, a_question_lies_over_the_last_row);
  tcase_add_test(screens, what_is_said_beside_a_question_is_said_whole);
  tcase_add_test(screens, text_of_a_file_cannot_reach_the_terminal);
  tcase_add_test(screens, what_cannot_be_shown_says_why);
  tcase_add_test(screens, what_is_waited_for_is_said);
  tcase_add_test(screens, what_is_expected_lies_over_the_trace);
  tcase_add_test(screens, before_any_result_it_says_what_is_measured);
  suite_add_tcase(suite, screens);
  return suite;
}
