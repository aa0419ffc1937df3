/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Markers by keys: on lines, on the trace, against each other; without a screen. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/prompt.h"
#include "view/suites.h"

static struct fixture f;
static const double carrier_hz = -4570;

START_TEST(peaks_are_walked_in_order)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 0, 1e-6);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 19000.4, 1e-6);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 38000.8, 1e-6);
  fixture_type(&f, "ppp");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), -19000, 1e-6);
}
END_TEST

/* 50 Hz beside the carrier and 80 dB weaker, with points 240 Hz apart; and one beneath the floor.
 */
START_TEST(a_line_that_the_picture_does_not_show_is_no_peak)
{
  fixture_air(&f);
  f.lines[7].tone.frequency_hz.value = carrier_hz + 50;
  f.lines[7].tone.level_db.value = f.lines[7].level_dbc.value = -80;
  f.lines[6].tone.frequency_hz.value = carrier_hz + 10e3;
  f.lines[6].tone.level_db.value = f.lines[6].level_dbc.value = -110;
  fixture_type(&f, "hn");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 19000.4, 1e-6);
  fixture_type(&f, "p");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 0, 1e-6);
}
END_TEST

START_TEST(peaks_of_the_trace_serve_where_no_line_is_measured)
{
  fixture_air(&f);
  f.result.air_lines.count = 0;
  fixture_type(&f, "h");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 0, 240);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 19000, 240);
}
END_TEST

START_TEST(the_mirror_is_across_the_carrier)
{
  fixture_air(&f);
  fixture_type(&f, "g38k\nm");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), -38000, 1);
  fixture_composite(&f);
  fixture_type(&f, "g30k\nm");
  ck_assert_double_eq_tol(fixture_pane(&f)->markers[0].hz, 46000, 200);
}
END_TEST

START_TEST(table_positions_are_walked)
{
  fixture_composite(&f);
  fixture_type(&f, "g10k\nt");
  double first = fixture_pane(&f)->markers[0].hz;
  ck_assert_double_gt(first, 10e3);
  for (int i = 0; i < 12 && fabs(fixture_pane(&f)->markers[0].hz - 19000.4) > 1e-6; i++)
    fixture_type(&f, "t");
  ck_assert_double_eq_tol(fixture_pane(&f)->markers[0].hz, 19000.4, 1e-6);
}
END_TEST

START_TEST(rows_and_marker_go_together)
{
  fixture_air(&f);
  fixture_press(&f, VIEW_KEY_DOWN); /* what is not explained stands first */
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 38000.8, 1e-6);
  fixture_type(&f, "i"); /* by distance */
  fixture_press(&f, VIEW_KEY_UP);
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), -38000, 1e-6);
  fixture_type(&f, "i"); /* by level */
  for (int i = 0; i < 20; i++)
    fixture_press(&f, VIEW_KEY_UP);
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 0, 1e-6);
  fixture_type(&f, "o");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 38000.8, 1e-6);
}
END_TEST

/* A marker that was set on the trace reads what is seen there once lines are measured. */
START_TEST(the_strongest_line_of_a_dot_is_read)
{
  fixture_air(&f);
  fixture_type(&f, "g19k\n");
  f.lines[3].tone.frequency_hz.value = f.lines[4].tone.frequency_hz.value + 60; /* the carrier's */
  struct view_marker *marker = &view_state_pane(&f.state)->markers[0];
  marker->locked = false;
  marker->reach_hz = 300;
  marker->hz = f.lines[4].tone.frequency_hz.value - 40;
  ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), 3);
  marker->hz = f.lines[4].tone.frequency_hz.value - 0.5;
  ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), 4);
}
END_TEST

START_TEST(a_locked_marker_follows_its_line)
{
  fixture_air(&f);
  fixture_type(&f, "hn");
  f.lines[4].tone.frequency_hz.value += 0.5;
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 19000.9, 1e-6);
}
END_TEST

START_TEST(a_marker_is_kept_to_its_line_or_let_go)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  ck_assert(fixture_pane(&f)->markers[0].locked);
  fixture_type(&f, "K");
  ck_assert(!fixture_pane(&f)->markers[0].locked);
  double before = fixture_pane(&f)->markers[0].hz;
  for (size_t i = 0; i < FIXTURE_LINES; i++)
    f.lines[i].tone.frequency_hz.value += 0.1;
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq(fixture_pane(&f)->markers[0].hz, before);
  fixture_type(&f, "K");
  ck_assert(fixture_pane(&f)->markers[0].locked);
  ck_assert_double_eq_tol(fixture_pane(&f)->markers[0].hz, before + 0.1, 1e-6);
  char *screen = fixture_draw(&f, 80, 24, true);
  ck_assert_ptr_nonnull(strstr(screen, "A="));
  free(screen);
  fixture_type(&f, "g10k\nK");
  ck_assert_ptr_nonnull(strstr(f.state.message, "No measured line is near A"));
}
END_TEST

/* Nothing changes, the range is said as it would be typed, and the line stays to be mended. The
 * capture is 384 kHz wide about 91 204 570 Hz, and the carrier 4570 Hz below that. */
START_TEST(what_is_out_of_range_is_refused)
{
  static const struct {
    const char *keys, *range;
  } rows[] = {
      {"g999M\n", "'999M' is out of range: from 91.012570 MHz to 91.396570 MHz here."},
      {"g-190k\n", "'-190k' is out of range: from -187.430 kHz to +196.570 kHz here."},
      {"f200k\n", "'200k' is out of range: from -187.430 kHz to +196.570 kHz here."},
      {"s1G\n", "'1G' is out of range: from 1 Hz to 384.000 kHz here."},
      {"s0\n", "'0' is out of range: from 1 Hz to 384.000 kHz here."},
      {"s-5\n", "'-5' is out of range: from 1 Hz to 384.000 kHz here."},
      {"b1e9\n", "'1e9' is out of range: from 0 Hz to 350.000 kHz here."},
      {"b-1\n", "'-1' is out of range: from 0 Hz to 350.000 kHz here."},
      {"r1e9\n", "'1e9' is out of range: from -400 dB to 400 dB here."},
      {"j900\n", "'900' is out of range: from 0.00 s to 2.40 s here."},
      {":go 999M\n", "'999M' is out of range: from 91.012570 MHz to 91.396570 MHz here."},
      {":span 1G\n", "'1G' is out of range: from 1 Hz to 384.000 kHz here."},
  };
  fixture_air(&f);
  fixture_type(&f, "s350k\ng1k\n");
  const struct view_state before = f.state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    fixture_type(&f, rows[i].keys);
    ck_assert_str_eq(f.state.message, rows[i].range);
    ck_assert_int_eq(view_prompt_is_open(&f.state), rows[i].keys[0] != ':');
    fixture_press(&f, VIEW_KEY_ESCAPE);
    ck_assert_int_eq(memcmp(before.panes, f.state.panes, sizeof before.panes), 0);
    ck_assert_double_eq(f.state.position_s, before.position_s);
  }
}
END_TEST

/* A capture may begin with silence, which has no level. */
START_TEST(silence_has_a_scale)
{
  fixture_air(&f);
  const double per_division = fixture_pane(&f)->per_division, top = fixture_pane(&f)->top;
  float kept[sizeof f.mean / sizeof *f.mean];
  memcpy(kept, f.mean, sizeof kept);
  memset(f.mean, 0, sizeof f.mean);
  view_state_find_level(&f.state, &f.model);
  ck_assert_double_eq(fixture_pane(&f)->per_division, 15);
  ck_assert_double_eq(fixture_pane(&f)->top, 0);
  memcpy(f.mean, kept, sizeof kept);
  view_state_follow(&f.state, &f.model); /* what comes after it has a scale of its own */
  ck_assert_double_eq(fixture_pane(&f)->per_division, per_division);
  ck_assert_double_eq(fixture_pane(&f)->top, top);
}
END_TEST

START_TEST(a_marker_steps_off_a_line)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  for (int i = 1; i < 60; i++) {
    double before = fixture_marker_hz(&f, 'A');
    fixture_press(&f, VIEW_KEY_RIGHT);
    ck_assert_double_gt(fixture_marker_hz(&f, 'A'), before);
  }
}
END_TEST

START_TEST(differences_are_against_the_first_marker)
{
  fixture_air(&f);
  fixture_type(&f, "hBn");
  ck_assert_int_eq(fixture_pane(&f)->reference, 0);
  ck_assert_int_eq(fixture_pane(&f)->active, 1);
  fixture_type(&f, "x");
  ck_assert(!fixture_pane(&f)->markers[1].on);
  ck_assert_int_eq(fixture_pane(&f)->active, 0);
}
END_TEST

Suite *markers_suite(void)
{
  Suite *suite = suite_create("markers");
  TCase *markers = tcase_create("markers");
  tcase_add_test(markers, peaks_are_walked_in_order);
  tcase_add_test(markers, a_line_that_the_picture_does_not_show_is_no_peak);
  tcase_add_test(markers, peaks_of_the_trace_serve_where_no_line_is_measured);
  tcase_add_test(markers, the_mirror_is_across_the_carrier);
  tcase_add_test(markers, table_positions_are_walked);
  tcase_add_test(markers, rows_and_marker_go_together);
  tcase_add_test(markers, the_strongest_line_of_a_dot_is_read);
  tcase_add_test(markers, a_locked_marker_follows_its_line);
  tcase_add_test(markers, a_marker_is_kept_to_its_line_or_let_go);
  tcase_add_test(markers, what_is_out_of_range_is_refused);
  tcase_add_test(markers, silence_has_a_scale);
  tcase_add_test(markers, a_marker_steps_off_a_line);
  tcase_add_test(markers, differences_are_against_the_first_marker);
  suite_add_tcase(suite, markers);
  return suite;
}
