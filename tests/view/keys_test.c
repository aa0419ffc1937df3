/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys and actions: from state to state, without a screen. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/prompt.h"
#include "view/suites.h"

static struct fixture f;
static const double carrier_hz = -4570;

static const struct view_pane *pane(void)
{
  return view_state_shown(&f.state);
}

static double marker_offset(char name)
{
  const struct view_marker *marker = &pane()->markers[name - 'A'];
  return marker->on ? marker->hz - carrier_hz : NAN;
}

static double span(void)
{
  struct view_range range = view_state_range(&f.state, &f.model);
  return range.high_hz - range.low_hz;
}

static double centre(void)
{
  struct view_range range = view_state_range(&f.state, &f.model);
  return (range.high_hz + range.low_hz) / 2;
}

static void press(int key)
{
  view_key(&f.state, &f.model, key);
}

START_TEST(no_key_means_two_things)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < count; k++) {
      if (k == i)
        continue;
      int range = actions[k].range > 1 ? actions[k].range : 1;
      for (int n = 0; n < 2; n++) {
        int key = actions[i].keys[n];
        bool taken = key != 0 && ((key >= actions[k].keys[0] && key < actions[k].keys[0] + range) ||
                                  key == actions[k].keys[1]);
        ck_assert_msg(!taken, "%s and %s", actions[i].name, actions[k].name);
      }
      ck_assert_str_ne(actions[i].name, actions[k].name);
    }
}
END_TEST

START_TEST(every_action_has_a_name_a_key_and_help)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions);
  ck_assert_uint_gt(count, 40);
  for (size_t i = 0; i < count; i++) {
    ck_assert_uint_ge(strlen(actions[i].name), 2);
    ck_assert_uint_gt(strlen(view_action_keys(&actions[i]).text), 0);
    ck_assert_uint_gt(strlen(actions[i].help), 4);
    ck_assert((actions[i].ask == VIEW_ASK_NOTHING) == (actions[i].question == NULL));
    ck_assert(i == 0 || actions[i].group >= actions[i - 1].group);
  }
}
END_TEST

/* Whatever is pressed, in whatever order, the state stays drawable. */
START_TEST(any_sequence_of_keys_is_safe)
{
  static const int special[] = {VIEW_KEY_LEFT,       VIEW_KEY_RIGHT,   VIEW_KEY_UP,
                                VIEW_KEY_DOWN,       VIEW_KEY_PAGE_UP, VIEW_KEY_PAGE_DOWN,
                                VIEW_KEY_SHIFT_LEFT, VIEW_KEY_ENTER,   VIEW_KEY_ESCAPE,
                                VIEW_KEY_TAB,        VIEW_KEY_HOME,    VIEW_KEY_END};
  unsigned state = 61300;
  fixture_air(&f);
  for (int i = 0; i < 6000; i++) {
    state = state * 1103515245u + 12345u;
    unsigned pick = state >> 16;
    press(pick % 4 == 0 ? special[pick / 4 % 12] : (int)(' ' + pick / 4 % 95));
    f.state.quit = false;
    if (i % 50 == 0)
      free(fixture_draw(&f, (int)(pick % 130) + 1, (int)(pick / 130 % 50) + 1, i % 100 == 0));
    ck_assert_double_gt(span(), 0);
  }
}
END_TEST

START_TEST(peaks_are_walked_in_order)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  ck_assert_double_eq_tol(marker_offset('A'), 0, 1e-6);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(marker_offset('A'), 19000.4, 1e-6);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(marker_offset('A'), 38000.8, 1e-6);
  fixture_type(&f, "ppp");
  ck_assert_double_eq_tol(marker_offset('A'), -19000, 1e-6);
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
  ck_assert_double_eq_tol(marker_offset('A'), 19000.4, 1e-6);
  fixture_type(&f, "p");
  ck_assert_double_eq_tol(marker_offset('A'), 0, 1e-6);
}
END_TEST

START_TEST(peaks_of_the_trace_serve_where_no_line_is_measured)
{
  fixture_air(&f);
  f.result.air_lines.count = 0;
  fixture_type(&f, "h");
  ck_assert_double_eq_tol(marker_offset('A'), 0, 240);
  fixture_type(&f, "n");
  ck_assert_double_eq_tol(marker_offset('A'), 19000, 240);
}
END_TEST

START_TEST(the_mirror_is_across_the_carrier)
{
  fixture_air(&f);
  fixture_type(&f, "g38k\nm");
  ck_assert_double_eq_tol(marker_offset('A'), -38000, 1);
  fixture_composite(&f);
  fixture_type(&f, "g30k\nm");
  ck_assert_double_eq_tol(pane()->markers[0].hz, 46000, 200);
}
END_TEST

START_TEST(table_positions_are_walked)
{
  fixture_composite(&f);
  fixture_type(&f, "g10k\nt");
  double first = pane()->markers[0].hz;
  ck_assert_double_gt(first, 10e3);
  for (int i = 0; i < 12 && fabs(pane()->markers[0].hz - 19000.4) > 1e-6; i++)
    fixture_type(&f, "t");
  ck_assert_double_eq_tol(pane()->markers[0].hz, 19000.4, 1e-6);
}
END_TEST

START_TEST(rows_and_marker_go_together)
{
  fixture_air(&f);
  press(VIEW_KEY_DOWN); /* what is not explained stands first */
  ck_assert_double_eq_tol(marker_offset('A'), 38000.8, 1e-6);
  fixture_type(&f, "i"); /* by distance */
  press(VIEW_KEY_UP);
  ck_assert_double_eq_tol(marker_offset('A'), -38000, 1e-6);
  fixture_type(&f, "i"); /* by level */
  for (int i = 0; i < 20; i++)
    press(VIEW_KEY_UP);
  ck_assert_double_eq_tol(marker_offset('A'), 0, 1e-6);
  fixture_type(&f, "o");
  ck_assert_double_eq_tol(marker_offset('A'), 38000.8, 1e-6);
}
END_TEST

START_TEST(a_locked_marker_follows_its_line)
{
  fixture_air(&f);
  fixture_type(&f, "hn");
  f.lines[4].tone.frequency_hz.value += 0.5;
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq_tol(marker_offset('A'), 19000.9, 1e-6);
}
END_TEST

START_TEST(a_marker_is_kept_to_its_line_or_let_go)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  ck_assert(pane()->markers[0].locked);
  fixture_type(&f, "K");
  ck_assert(!pane()->markers[0].locked);
  double before = pane()->markers[0].hz;
  for (size_t i = 0; i < FIXTURE_LINES; i++)
    f.lines[i].tone.frequency_hz.value += 0.1;
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq(pane()->markers[0].hz, before);
  fixture_type(&f, "K");
  ck_assert(pane()->markers[0].locked);
  ck_assert_double_eq_tol(pane()->markers[0].hz, before + 0.1, 1e-6);
  char *screen = fixture_draw(&f, 80, 24, true);
  ck_assert_ptr_nonnull(strstr(screen, "A="));
  free(screen);
  fixture_type(&f, "g10k\nK");
  ck_assert_ptr_nonnull(strstr(f.state.message, "No measured line is near A"));
}
END_TEST

/* A capture may begin with silence, which has no level. */
START_TEST(silence_has_a_scale)
{
  fixture_air(&f);
  const double per_division = pane()->per_division, top = pane()->top;
  float kept[sizeof f.mean / sizeof *f.mean];
  memcpy(kept, f.mean, sizeof kept);
  memset(f.mean, 0, sizeof f.mean);
  view_state_find_level(&f.state, &f.model);
  ck_assert_double_eq(pane()->per_division, 15);
  ck_assert_double_eq(pane()->top, 0);
  memcpy(f.mean, kept, sizeof kept);
  view_state_follow(&f.state, &f.model); /* what comes after it has a scale of its own */
  ck_assert_double_eq(pane()->per_division, per_division);
  ck_assert_double_eq(pane()->top, top);
}
END_TEST

START_TEST(a_marker_steps_off_a_line)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  for (int i = 1; i < 60; i++) {
    double before = marker_offset('A');
    press(VIEW_KEY_RIGHT);
    ck_assert_double_gt(marker_offset('A'), before);
  }
}
END_TEST

START_TEST(zoom_narrows_about_the_marker_in_round_steps)
{
  fixture_air(&f);
  fixture_type(&f, "hn+");
  ck_assert_double_eq_tol(span(), 200e3, 1);
  fixture_type(&f, "+++");
  ck_assert_double_eq_tol(span(), 20e3, 1);
  ck_assert_double_eq_tol(centre() - carrier_hz, 19000.4, 1);
  fixture_type(&f, "-");
  ck_assert_double_eq_tol(span(), 50e3, 1);
}
END_TEST

START_TEST(spans_are_remembered)
{
  fixture_air(&f);
  double first = span();
  fixture_type(&f, "s10k\nf19k\n");
  ck_assert_double_eq_tol(span(), 10e3, 1e-6);
  ck_assert_double_eq_tol(centre() - carrier_hz, 19e3, 1e-6);
  fixture_type(&f, "[[");
  ck_assert_double_eq_tol(span(), first, 1e-6);
  fixture_type(&f, "]]");
  ck_assert_double_eq_tol(centre() - carrier_hz, 19e3, 1e-6);
  fixture_type(&f, "9");
  ck_assert_double_eq_tol(span(), 384e3, 1e-6);
  for (int i = 0; i < 100; i++)
    fixture_type(&f, i % 2 ? "s10k\n" : "s20k\n");
  fixture_type(&f, "[");
  ck_assert_double_eq_tol(span(), 20e3, 1e-6);
}
END_TEST

START_TEST(tuned_frequencies_can_be_typed)
{
  fixture_air(&f);
  fixture_type(&f, "g91.2M\n");
  ck_assert_double_eq_tol(marker_offset('A'), 0, 1);
}
END_TEST

START_TEST(a_span_stays_within_the_capture)
{
  fixture_air(&f);
  fixture_type(&f, "s10k\nf190k\n");
  ck_assert_double_eq_tol(centre() - carrier_hz, 190e3, 1e-6);
  ck_assert_double_eq_tol(span(), 10e3, 1e-6);
  fixture_type(&f, "f194k\n"); /* 2570 Hz from the end */
  ck_assert_double_eq_tol(centre() - carrier_hz, 194e3, 1e-6);
  ck_assert_double_eq_tol(span(), 5140, 1e-6);
  ck_assert_str_eq(f.state.message, "The span is now 5.140 kHz: the capture ends there.");
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
    press(VIEW_KEY_ESCAPE);
    ck_assert_int_eq(memcmp(before.panes, f.state.panes, sizeof before.panes), 0);
    ck_assert_double_eq(f.state.position_s, before.position_s);
  }
}
END_TEST

START_TEST(differences_are_against_the_first_marker)
{
  fixture_air(&f);
  fixture_type(&f, "hBn");
  ck_assert_int_eq(pane()->reference, 0);
  ck_assert_int_eq(pane()->active, 1);
  fixture_type(&f, "x");
  ck_assert(!pane()->markers[1].on);
  ck_assert_int_eq(pane()->active, 0);
}
END_TEST

START_TEST(levels_follow_until_they_are_set)
{
  fixture_air(&f);
  double top = pane()->top;
  press(VIEW_KEY_PAGE_UP);
  ck_assert_double_eq(pane()->top, top + pane()->per_division);
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq(pane()->top, top + pane()->per_division);
  fixture_type(&f, "r-40\ny");
  ck_assert_double_eq(pane()->top, -40);
  ck_assert_double_eq(pane()->per_division, 5);
  fixture_type(&f, "a");
  ck_assert_double_eq(pane()->top, top);
}
END_TEST

START_TEST(views_keep_their_own_spans_and_markers)
{
  fixture_air(&f);
  fixture_type(&f, "hs10k\nv");
  ck_assert_int_eq(f.state.view, VIEW_COMPOSITE);
  ck_assert(!pane()->markers[0].on);
  ck_assert_double_eq_tol(span(), 100e3, 1e-6);
  fixture_type(&f, "1");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_double_eq_tol(span(), 10e3, 1e-6);
  fixture_type(&f, "3");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_uint_gt(strlen(f.state.message), 0);
}
END_TEST

START_TEST(time_stays_within_the_capture)
{
  fixture_air(&f);
  fixture_type(&f, "LLL");
  ck_assert_double_lt(f.state.length_s, 0.3);
  fixture_type(&f, "j1.5\n");
  ck_assert_double_eq(f.state.position_s, 1.5);
  for (int i = 0; i < 20; i++)
    fixture_type(&f, ".");
  ck_assert_double_eq_tol(f.state.position_s + f.state.length_s, 2.4, 1e-9);
  for (int i = 0; i < 20; i++)
    fixture_type(&f, ",");
  ck_assert_double_eq(f.state.position_s, 0);
  fixture_type(&f, "llllll");
  ck_assert_double_eq_tol(f.state.length_s, 2.4, 1e-9);
}
END_TEST

/* The plot of a screen of 80 columns, and the pointer's column for a frequency. */
static void point_at(double offset_hz)
{
  f.state.plot_x = 6;
  f.state.plot_y = 9;
  f.state.plot_columns = 74;
  f.state.plot_rows = 10;
  struct view_range range = view_state_range(&f.state, &f.model);
  double share = (carrier_hz + offset_hz - range.low_hz) / span();
  f.state.pointer = (struct view_pointer){.x = 6 + (int)(share * 74), .y = 12};
}

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

/* What was typed is no matter of how wide a column is, nor is a marker that is there already. */
START_TEST(a_typed_marker_stays_whatever_the_size)
{
  static const int columns[] = {400, 74, 30, 12};
  fixture_air(&f);
  for (int i = 0; i < 4; i++) {
    f.state.plot_columns = columns[i];
    fixture_type(&f, "g18.9k\nA");
    for (int k = 0; k < 4; k++) {
      f.state.plot_columns = columns[k];
      view_state_follow(&f.state, &f.model);
      ck_assert_double_eq_tol(marker_offset('A'), 18900, 1e-6);
      ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), -1);
    }
  }
  f.state.plot_columns = 12; /* set by eye, it keeps what it was set on */
  fixture_type(&f, "h");
  press(VIEW_KEY_RIGHT);
  const ptrdiff_t seen = view_state_line(&f.state, &f.model, 0);
  f.state.plot_columns = 400;
  ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), seen);
}
END_TEST

START_TEST(a_click_takes_the_line_under_the_pointer)
{
  fixture_air(&f);
  point_at(38000);
  press(VIEW_KEY_CLICK);
  ck_assert(!pane()->markers[0].on); /* the mouse is the terminal's at first */
  fixture_type(&f, "M");
  press(VIEW_KEY_CLICK);
  ck_assert_double_eq_tol(marker_offset('A'), 38000.8, 1e-6);
  f.state.pointer.y = 2; /* above the plot */
  f.state.pointer.x -= 20;
  press(VIEW_KEY_CLICK);
  ck_assert_double_eq_tol(marker_offset('A'), 38000.8, 1e-6);
}
END_TEST

START_TEST(the_wheel_zooms_about_the_pointer)
{
  fixture_air(&f);
  fixture_type(&f, "M");
  point_at(19000);
  struct view_range range = view_state_range(&f.state, &f.model);
  double before = span(), share = (carrier_hz + 19000 - range.low_hz) / before;
  press(VIEW_KEY_WHEEL_UP);
  range = view_state_range(&f.state, &f.model);
  ck_assert_double_lt(span(), before);
  ck_assert_double_eq_tol((carrier_hz + 19000 - range.low_hz) / span(), share, 1.0 / 74);
  press(VIEW_KEY_WHEEL_DOWN);
  ck_assert_double_ge(span(), before);
}
END_TEST

START_TEST(drawing_shifts_the_span_and_counts_as_one_step)
{
  fixture_air(&f);
  fixture_type(&f, "Ms20k\n");
  double before = centre();
  point_at(0);
  for (int i = 0; i < 5; i++) {
    f.state.pointer.moved = 2;
    press(VIEW_KEY_DRAG);
    f.state.pointer.goes_on = true;
  }
  ck_assert_double_eq_tol(centre(), before - 20e3 * 10 / 74, 1e-6);
  fixture_type(&f, "[");
  ck_assert_double_eq_tol(centre(), before, 1e-6);
}
END_TEST

START_TEST(a_section_is_played_again_and_again)
{
  fixture_air(&f);
  fixture_type(&f, "LLLLj0.5\nP");
  double length = f.state.length_s;
  fixture_type(&f, "j1\nP");
  ck_assert(f.state.playing);
  ck_assert_double_eq(f.state.position_s, 0.5);
  ck_assert_double_eq_tol(f.state.loop_to_s, 1 + length, 1e-9);
  for (int i = 0; i < 200; i++) {
    view_state_advance(&f.state, &f.model, 0.037);
    ck_assert_double_ge(f.state.position_s, 0.5);
    ck_assert_double_le(f.state.position_s + f.state.length_s, 1 + length + 1e-9);
  }
  ck_assert(f.state.playing);
  fixture_type(&f, "P"); /* then it plays to the end */
  for (int i = 0; i < 200; i++)
    view_state_advance(&f.state, &f.model, 0.037);
  ck_assert(!f.state.playing);
  ck_assert_double_eq_tol(f.state.position_s + f.state.length_s, 2.4, 1e-9);
}
END_TEST

START_TEST(all_of_the_capture_is_averaged_on_demand)
{
  fixture_air(&f);
  fixture_type(&f, "LLLj1.5\n ");
  ck_assert(f.state.playing);
  fixture_type(&f, "*");
  ck_assert(!f.state.playing);
  ck_assert_double_eq(f.state.position_s, 0);
  ck_assert_double_eq_tol(f.state.length_s, 2.4, 1e-9);
}
END_TEST

START_TEST(the_survey_stands_still_on_demand)
{
  fixture_air(&f);
  fixture_type(&f, "X");
  ck_assert(f.state.held);
  fixture_type(&f, "X");
  ck_assert(!f.state.held);
}
END_TEST

START_TEST(escape_ends_a_question)
{
  fixture_air(&f);
  double before = span();
  fixture_type(&f, "s10k");
  press(VIEW_KEY_BACKSPACE);
  press(VIEW_KEY_ESCAPE);
  ck_assert_ptr_null(f.state.prompt.action);
  ck_assert_double_eq(span(), before);
}
END_TEST

Suite *keys_suite(void)
{
  Suite *suite = suite_create("keys");
  TCase *table = tcase_create("table");
  tcase_add_test(table, no_key_means_two_things);
  tcase_add_test(table, every_action_has_a_name_a_key_and_help);
  tcase_add_test(table, any_sequence_of_keys_is_safe);
  suite_add_tcase(suite, table);
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
  TCase *spans = tcase_create("spans, levels, time");
  tcase_add_test(spans, zoom_narrows_about_the_marker_in_round_steps);
  tcase_add_test(spans, spans_are_remembered);
  tcase_add_test(spans, tuned_frequencies_can_be_typed);
  tcase_add_test(spans, a_span_stays_within_the_capture);
  tcase_add_test(spans, levels_follow_until_they_are_set);
  tcase_add_test(spans, views_keep_their_own_spans_and_markers);
  tcase_add_test(spans, time_stays_within_the_capture);
  tcase_add_test(spans, a_typed_marker_stays_whatever_the_size);
  tcase_add_test(spans, a_click_takes_the_line_under_the_pointer);
  tcase_add_test(spans, the_wheel_zooms_about_the_pointer);
  tcase_add_test(spans, drawing_shifts_the_span_and_counts_as_one_step);
  tcase_add_test(spans, a_section_is_played_again_and_again);
  tcase_add_test(spans, all_of_the_capture_is_averaged_on_demand);
  tcase_add_test(spans, the_survey_stands_still_on_demand);
  tcase_add_test(spans, escape_ends_a_question);
  suite_add_tcase(suite, spans);
  return suite;
}
