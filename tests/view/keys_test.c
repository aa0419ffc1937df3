/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys and actions: from state to state, without a screen. */
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;
static const double carrier_hz = -4570;

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
    fixture_press(&f, pick % 4 == 0 ? special[pick / 4 % 12] : (int)(' ' + pick / 4 % 95));
    f.state.quit = false;
    if (i % 50 == 0)
      free(fixture_draw(&f, (int)(pick % 130) + 1, (int)(pick / 130 % 50) + 1, i % 100 == 0));
    ck_assert_double_gt(fixture_span(&f), 0);
  }
}
END_TEST

START_TEST(zoom_narrows_about_the_marker_in_round_steps)
{
  fixture_air(&f);
  fixture_type(&f, "hn+");
  ck_assert_double_eq_tol(fixture_span(&f), 200e3, 1);
  fixture_type(&f, "+++");
  ck_assert_double_eq_tol(fixture_span(&f), 20e3, 1);
  ck_assert_double_eq_tol(fixture_centre(&f) - carrier_hz, 19000.4, 1);
  fixture_type(&f, "-");
  ck_assert_double_eq_tol(fixture_span(&f), 50e3, 1);
}
END_TEST

START_TEST(spans_are_remembered)
{
  fixture_air(&f);
  double first = fixture_span(&f);
  fixture_type(&f, "s10k\nf19k\n");
  ck_assert_double_eq_tol(fixture_span(&f), 10e3, 1e-6);
  ck_assert_double_eq_tol(fixture_centre(&f) - carrier_hz, 19e3, 1e-6);
  fixture_type(&f, "[[");
  ck_assert_double_eq_tol(fixture_span(&f), first, 1e-6);
  fixture_type(&f, "]]");
  ck_assert_double_eq_tol(fixture_centre(&f) - carrier_hz, 19e3, 1e-6);
  fixture_type(&f, "9");
  ck_assert_double_eq_tol(fixture_span(&f), 384e3, 1e-6);
  for (int i = 0; i < 100; i++)
    fixture_type(&f, i % 2 ? "s10k\n" : "s20k\n");
  fixture_type(&f, "[");
  ck_assert_double_eq_tol(fixture_span(&f), 20e3, 1e-6);
}
END_TEST

START_TEST(tuned_frequencies_can_be_typed)
{
  fixture_air(&f);
  fixture_type(&f, "g91.2M\n");
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 0, 1);
}
END_TEST

START_TEST(a_span_stays_within_the_capture)
{
  fixture_air(&f);
  fixture_type(&f, "s10k\nf190k\n");
  ck_assert_double_eq_tol(fixture_centre(&f) - carrier_hz, 190e3, 1e-6);
  ck_assert_double_eq_tol(fixture_span(&f), 10e3, 1e-6);
  fixture_type(&f, "f194k\n"); /* 2570 Hz from the end */
  ck_assert_double_eq_tol(fixture_centre(&f) - carrier_hz, 194e3, 1e-6);
  ck_assert_double_eq_tol(fixture_span(&f), 5140, 1e-6);
  ck_assert_str_eq(f.state.message, "The span is now 5.140 kHz: the capture ends there.");
}
END_TEST

START_TEST(levels_follow_until_they_are_set)
{
  fixture_air(&f);
  double top = fixture_pane(&f)->top;
  fixture_press(&f, VIEW_KEY_PAGE_UP);
  ck_assert_double_eq(fixture_pane(&f)->top, top + fixture_pane(&f)->per_division);
  view_state_follow(&f.state, &f.model);
  ck_assert_double_eq(fixture_pane(&f)->top, top + fixture_pane(&f)->per_division);
  fixture_type(&f, "r-40\ny");
  ck_assert_double_eq(fixture_pane(&f)->top, -40);
  ck_assert_double_eq(fixture_pane(&f)->per_division, 5);
  fixture_type(&f, "a");
  ck_assert_double_eq(fixture_pane(&f)->top, top);
}
END_TEST

START_TEST(views_keep_their_own_spans_and_markers)
{
  fixture_air(&f);
  fixture_type(&f, "hs10k\nv");
  ck_assert_int_eq(f.state.view, VIEW_COMPOSITE);
  ck_assert(!fixture_pane(&f)->markers[0].on);
  ck_assert_double_eq_tol(fixture_span(&f), 100e3, 1e-6);
  fixture_type(&f, "1");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_double_eq_tol(fixture_span(&f), 10e3, 1e-6);
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
  ck_assert_str_eq(f.state.message, "No longer passage than this.");
  for (int i = 0; i < 20; i++)
    fixture_type(&f, "L");
  ck_assert_str_eq(f.state.message, "No shorter passage than this.");
}
END_TEST

START_TEST(nothing_plays_on_where_live_input_has_ended)
{
  fixture_air(&f);
  f.info.live = f.state.playing = true;
  fixture_type(&f, " ");
  ck_assert(!f.state.playing);
  f.model.ended = true;
  fixture_type(&f, " "); /* what was held gives way to what came last */
  ck_assert(f.state.playing);
  ck_assert_str_eq(f.state.message, "");
  fixture_type(&f, " ");
  ck_assert(f.state.playing);
  ck_assert_str_eq(f.state.message, "Nothing more comes in: what came last stays.");
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
      ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 18900, 1e-6);
      ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), -1);
    }
  }
  f.state.plot_columns = 12; /* set by eye, it keeps what it was set on */
  fixture_type(&f, "h");
  fixture_press(&f, VIEW_KEY_RIGHT);
  const ptrdiff_t seen = view_state_line(&f.state, &f.model, 0);
  f.state.plot_columns = 400;
  ck_assert_int_eq(view_state_line(&f.state, &f.model, 0), seen);
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
  double share = (carrier_hz + offset_hz - range.low_hz) / fixture_span(&f);
  f.state.pointer = (struct view_pointer){.x = 6 + (int)(share * 74), .y = 12};
}

START_TEST(a_click_takes_the_line_under_the_pointer)
{
  fixture_air(&f);
  point_at(38000);
  fixture_press(&f, VIEW_KEY_CLICK);
  ck_assert(!fixture_pane(&f)->markers[0].on); /* the mouse is the terminal's at first */
  fixture_type(&f, "M");
  fixture_press(&f, VIEW_KEY_CLICK);
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 38000.8, 1e-6);
  f.state.pointer.y = 2; /* above the plot */
  f.state.pointer.x -= 20;
  fixture_press(&f, VIEW_KEY_CLICK);
  ck_assert_double_eq_tol(fixture_marker_hz(&f, 'A'), 38000.8, 1e-6);
}
END_TEST

START_TEST(the_wheel_zooms_about_the_pointer)
{
  fixture_air(&f);
  fixture_type(&f, "M");
  point_at(19000);
  struct view_range range = view_state_range(&f.state, &f.model);
  double before = fixture_span(&f), share = (carrier_hz + 19000 - range.low_hz) / before;
  fixture_press(&f, VIEW_KEY_WHEEL_UP);
  range = view_state_range(&f.state, &f.model);
  ck_assert_double_lt(fixture_span(&f), before);
  ck_assert_double_eq_tol((carrier_hz + 19000 - range.low_hz) / fixture_span(&f), share, 1.0 / 74);
  fixture_press(&f, VIEW_KEY_WHEEL_DOWN);
  ck_assert_double_ge(fixture_span(&f), before);
}
END_TEST

START_TEST(drawing_shifts_the_span_and_counts_as_one_step)
{
  fixture_air(&f);
  fixture_type(&f, "Ms20k\n");
  double before = fixture_centre(&f);
  point_at(0);
  for (int i = 0; i < 5; i++) {
    f.state.pointer.moved = 2;
    fixture_press(&f, VIEW_KEY_DRAG);
    f.state.pointer.goes_on = true;
  }
  ck_assert_double_eq_tol(fixture_centre(&f), before - 20e3 * 10 / 74, 1e-6);
  fixture_type(&f, "[");
  ck_assert_double_eq_tol(fixture_centre(&f), before, 1e-6);
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
  double before = fixture_span(&f);
  fixture_type(&f, "s10k");
  fixture_press(&f, VIEW_KEY_BACKSPACE);
  fixture_press(&f, VIEW_KEY_ESCAPE);
  ck_assert_ptr_null(f.state.prompt.action);
  ck_assert_double_eq(fixture_span(&f), before);
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
  TCase *spans = tcase_create("spans, levels, time");
  tcase_add_test(spans, zoom_narrows_about_the_marker_in_round_steps);
  tcase_add_test(spans, spans_are_remembered);
  tcase_add_test(spans, tuned_frequencies_can_be_typed);
  tcase_add_test(spans, a_span_stays_within_the_capture);
  tcase_add_test(spans, levels_follow_until_they_are_set);
  tcase_add_test(spans, views_keep_their_own_spans_and_markers);
  tcase_add_test(spans, time_stays_within_the_capture);
  tcase_add_test(spans, nothing_plays_on_where_live_input_has_ended);
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
