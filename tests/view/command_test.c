/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line: names, arguments, completion, history. */
#include <math.h>
#include <string.h>

#include "view/action.h"
#include "view/command.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;
static const double carrier_hz = -4570;

static void command(const char *text)
{
  fixture_type(&f, ":");
  fixture_type(&f, text);
  fixture_type(&f, "\n");
}

static void completes(const char *typed, const char *text)
{
  fixture_type(&f, ":");
  fixture_type(&f, typed);
  view_key(&f.state, &f.model, VIEW_KEY_TAB);
  ck_assert_str_eq(f.state.prompt.text, text);
  view_key(&f.state, &f.model, VIEW_KEY_ESCAPE);
}

static double span(void)
{
  struct view_range range = view_state_range(&f.state, &f.model);
  return range.high_hz - range.low_hz;
}

START_TEST(actions_go_by_their_names)
{
  fixture_air(&f);
  command("span 2k");
  ck_assert_double_eq_tol(span(), 2e3, 1e-6);
  command("marker C");
  ck_assert_int_eq(view_state_shown(&f.state)->active, 2);
  command("go pilot");
  ck_assert_double_eq_tol(view_state_shown(&f.state)->markers[2].hz - carrier_hz, 19000.4, 1e-6);
  command("view composite");
  ck_assert_int_eq(f.state.view, VIEW_COMPOSITE);
}
END_TEST

START_TEST(a_name_may_be_cut_short_while_it_is_the_only_one)
{
  fixture_air(&f);
  command("zoom-i");
  ck_assert_double_eq_tol(span(), 200e3, 1);
  command("zoom");
  ck_assert_double_eq_tol(span(), 200e3, 1);
  ck_assert_ptr_nonnull(strstr(f.state.message, "'zoom' is no command"));
}
END_TEST

START_TEST(what_does_not_suit_is_said)
{
  static const char *const wrong[] = {"span 2q", "marker Z", "quit now", "nonsense", "view audio"};
  fixture_air(&f);
  for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
    command(wrong[i]);
    ck_assert_uint_gt(strlen(f.state.message), 0);
    ck_assert(!f.state.quit);
  }
}
END_TEST

static void ask(const char *key)
{
  view_key(&f.state, &f.model, VIEW_KEY_ESCAPE);
  fixture_type(&f, key);
  ck_assert_ptr_nonnull(f.state.prompt.action);
}

static void tab(const char *text)
{
  view_key(&f.state, &f.model, VIEW_KEY_TAB);
  ck_assert_str_eq(f.state.prompt.text, text);
}

static void receiver(void)
{
  fixture_air(&f);
  f.state.tunable = true;
  f.state.antennas = (struct sc_device_names){3, {"loop", "load", "whip"}};
  f.state.gains = (struct sc_device_names){2, {"LNA=", "VGA="}};
  f.state.tuned = (struct sc_tuning){
      .antenna = "whip", .gain_count = 3, .gains = {{"", 30}, {"LNA", 20}, {"VGA", 10}}};
}

/* Tab completes what is begun, and steps from a whole name to the next one. */
START_TEST(tab_goes_through_a_receivers_antennas)
{
  receiver();
  ask("&");
  ck_assert_str_eq(f.state.prompt.text, "whip"); /* that which it has */
  tab("loop");
  tab("load");
  tab("whip");
  ask("&");
  fixture_type(&f, "l");
  tab("lo");
  tab("loop");
  ask("&");
  fixture_type(&f, "loa");
  tab("load");
  fixture_type(&f, "\n");
  ck_assert(f.state.wish.tune);
  ck_assert_str_eq(f.state.wish.tuning.antenna, "load");
  ask("&");
  fixture_type(&f, "roof");
  tab("roof");
  view_key(&f.state, &f.model, VIEW_KEY_ESCAPE);
  completes("antenna w", "antenna whip");
}
END_TEST

/* A stage's name with its sign, behind which the gain is typed. */
START_TEST(tab_goes_through_a_receivers_gains)
{
  receiver();
  ask("#");
  ck_assert_str_eq(f.state.prompt.text, "30"); /* of all stages */
  tab("LNA=");
  tab("VGA=");
  fixture_type(&f, "12");
  tab("LNA=");
  fixture_type(&f, "7.5\n");
  ck_assert(f.state.wish.tune);
  ck_assert_str_eq(f.state.wish.tuning.gains[0].name, "LNA");
  ck_assert_double_eq(f.state.wish.tuning.gains[0].db, 7.5);
  ask("#");
  fixture_type(&f, "V");
  tab("VGA=");
  view_key(&f.state, &f.model, VIEW_KEY_ESCAPE);
  completes("gain L", "gain LNA=");
}
END_TEST

START_TEST(a_command_without_its_argument_asks)
{
  fixture_air(&f);
  command("span");
  ck_assert_str_eq(f.state.prompt.action->name, "span");
  fixture_type(&f, "20k\n");
  ck_assert_double_eq_tol(span(), 20e3, 1e-6);
}
END_TEST

START_TEST(tab_completes_names_and_arguments)
{
  fixture_air(&f);
  completes("sp", "span ");
  completes("zo", "zoom-");
  completes("view com", "view composite");
  completes("go pi", "go pilot");
  completes("go ", "go ");
  completes("nothing-like-it", "nothing-like-it");
}
END_TEST

START_TEST(tab_completes_the_answer_to_a_question)
{
  fixture_air(&f);
  fixture_type(&f, "gpil\t\n");
  ck_assert_double_eq_tol(view_state_shown(&f.state)->markers[0].hz - carrier_hz, 19000.4, 1e-6);
}
END_TEST

START_TEST(history_goes_back_and_forth)
{
  fixture_air(&f);
  command("span 2k");
  command("span 20k");
  command("span 20k");
  fixture_type(&f, ":");
  view_key(&f.state, &f.model, VIEW_KEY_UP);
  ck_assert_str_eq(f.state.prompt.text, "span 20k");
  view_key(&f.state, &f.model, VIEW_KEY_UP);
  view_key(&f.state, &f.model, VIEW_KEY_UP);
  ck_assert_str_eq(f.state.prompt.text, "span 2k");
  view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  ck_assert_str_eq(f.state.prompt.text, "");
}
END_TEST

START_TEST(history_holds_the_newest)
{
  fixture_air(&f);
  for (int i = 0; i < 3 * VIEW_HISTORY; i++)
    command(i % 2 ? "span 2k" : "span 20k");
  fixture_type(&f, ":");
  for (int i = 0; i < 3 * VIEW_HISTORY; i++)
    view_key(&f.state, &f.model, VIEW_KEY_UP);
  ck_assert_uint_eq(f.state.prompt.back, VIEW_HISTORY);
}
END_TEST

START_TEST(a_long_line_stays_within_its_room)
{
  fixture_air(&f);
  fixture_type(&f, ":");
  for (int i = 0; i < 2 * VIEW_PROMPT_LENGTH; i++)
    view_key(&f.state, &f.model, i % 3 == 0 ? 0x5C71 : 'x');
  ck_assert_uint_lt(strlen(f.state.prompt.text), VIEW_PROMPT_LENGTH);
  for (int i = 0; i < 2 * VIEW_PROMPT_LENGTH; i++)
    view_key(&f.state, &f.model, VIEW_KEY_BACKSPACE);
  ck_assert_str_eq(f.state.prompt.text, "");
}
END_TEST

START_TEST(markers_carry_names)
{
  fixture_air(&f);
  fixture_type(&f, "h");
  command("name mast");
  ck_assert_str_eq(view_state_shown(&f.state)->markers[0].name, "mast");
  fixture_type(&f, "x");
  fixture_type(&f, "A");
  ck_assert_str_eq(view_state_shown(&f.state)->markers[0].name, "");
}
END_TEST

Suite *command_suite(void)
{
  Suite *suite = suite_create("command");
  TCase *commands = tcase_create("commands");
  tcase_add_test(commands, actions_go_by_their_names);
  tcase_add_test(commands, a_name_may_be_cut_short_while_it_is_the_only_one);
  tcase_add_test(commands, what_does_not_suit_is_said);
  tcase_add_test(commands, a_command_without_its_argument_asks);
  tcase_add_test(commands, tab_goes_through_a_receivers_antennas);
  tcase_add_test(commands, tab_goes_through_a_receivers_gains);
  tcase_add_test(commands, tab_completes_names_and_arguments);
  tcase_add_test(commands, tab_completes_the_answer_to_a_question);
  tcase_add_test(commands, history_goes_back_and_forth);
  tcase_add_test(commands, history_holds_the_newest);
  tcase_add_test(commands, a_long_line_stays_within_its_room);
  tcase_add_test(commands, markers_carry_names);
  suite_add_tcase(suite, commands);
  return suite;
}
