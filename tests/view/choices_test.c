/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The file of settings: what it says is done, what is wrong is named with its line. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/files.h"
#include "view/choices.h"
#include "view/fixture.h"
#include "view/save.h"
#include "view/suites.h"

static struct fixture f;

START_TEST(what_is_written_reads_back)
{
  struct view_choices back, again;
  struct sc_message message = {""};
  fixture_air(&f);
  fixture_type(&f, "kkuwwwwiiEzllM");
  struct view_choices choices = view_choices_of(&f.state);
  choices.colour = 0;
  char *text = view_choices_text(&choices);
  ck_assert_int_eq(view_choices_parse(text, "a", &back, &message), SC_OK);
  free(text);
  ck_assert_int_eq(back.hold, VIEW_HOLD_BOTH);
  ck_assert_int_eq(back.colour, 0);
  ck_assert_int_eq(back.plain, VIEW_NOT_CHOSEN);
  fixture_air(&f);
  view_choices_apply(&back, &f.state, &f.model);
  again = view_choices_of(&f.state);
  ck_assert_int_eq(again.view, choices.view);
  ck_assert_int_eq(again.strokes, choices.strokes);
  ck_assert_int_eq(again.window, choices.window);
  ck_assert_double_eq(again.window_parameter, choices.window_parameter);
  ck_assert_int_eq(again.hold, choices.hold);
  ck_assert_int_eq(again.rows, choices.rows);
  ck_assert_double_eq_tol(again.average_s, choices.average_s, 1e-9);
  ck_assert_int_eq(again.tuned, choices.tuned);
  ck_assert_int_eq(again.expected, choices.expected);
  ck_assert_int_eq(again.mouse, choices.mouse);
}
END_TEST

START_TEST(one_wrong_line_is_named_and_the_rest_counts)
{
  static const struct {
    const char *text, *said;
  } wrong[] = {
      {"hold = \"both\";\nstrokez = 1;\n", "file:2: 'strokez' is no setting"},
      {"\nrows = \"size\";\nhold = \"both\";", "file:2: rows can be open, frequency or level"},
      {"hold = \"both\"; average_s = -1;", "file:1: average_s can be 0.001 to 100000"},
      {"hold = \"both\"; average_s = \"long\";", "file:1: average_s can be"},
      {"tuned = 1;\nhold = \"both\";", "file:1: tuned can be true or false"},
      {"hold = \"both\";\nwindow = \"Nobody\";\nview = 3;", "file:2: window can be rectangular, "},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct view_choices choices;
    struct sc_message message = {""};
    ck_assert_int_eq(view_choices_parse(wrong[i].text, "file", &choices, &message), SC_BAD_FORMAT);
    ck_assert_msg(strstr(message.text, wrong[i].said) != NULL, "%s", message.text);
    ck_assert_ptr_null(strchr(message.text, '\n'));
    ck_assert_int_eq(choices.hold, VIEW_HOLD_BOTH);
  }
  struct view_choices choices;
  struct sc_message message = {""};
  ck_assert_int_eq(view_choices_parse("hold = \"both\";\nrows = ", "file", &choices, &message),
                   SC_BAD_FORMAT);
  ck_assert_msg(strstr(message.text, "file:2: ") != NULL, "%s", message.text);
  ck_assert_int_eq(choices.hold, VIEW_NOT_CHOSEN);
}
END_TEST

START_TEST(a_view_that_the_capture_has_not_is_left_out)
{
  struct view_choices choices;
  fixture_air(&f);
  ck_assert_int_eq(view_choices_parse("view = \"audio\";", "a", &choices, NULL), SC_OK);
  view_choices_apply(&choices, &f.state, &f.model);
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_int_eq(view_choices_parse("view = \"composite\";", "a", &choices, NULL), SC_OK);
  view_choices_apply(&choices, &f.state, &f.model);
  ck_assert_int_eq(f.state.view, VIEW_COMPOSITE);
}
END_TEST

/* XDG Base Directory Specification 0.8: absolute paths only, .config in the home folder else. */
START_TEST(the_file_stands_where_the_environment_says)
{
  char path[256];
  setenv("XDG_CONFIG_HOME", "/tmp/choices", 1);
  setenv("HOME", "/home/bench", 1);
  view_choices_path(path, sizeof path);
  ck_assert_str_eq(path, "/tmp/choices/sidecomb/viewer.cfg");
  setenv("XDG_CONFIG_HOME", "relative", 1);
  view_choices_path(path, sizeof path);
  ck_assert_str_eq(path, "/home/bench/.config/sidecomb/viewer.cfg");
  unsetenv("XDG_CONFIG_HOME");
  unsetenv("HOME");
  view_choices_path(path, sizeof path);
  ck_assert_str_eq(path, "");
  fixture_air(&f);
  fixture_type(&f, "Z");
  view_save(&f.state, &f.model);
  ck_assert_ptr_nonnull(strstr(f.state.message, "Nowhere to save to"));
}
END_TEST

START_TEST(settings_are_saved_and_never_replaced_unasked)
{
  char path[4096], folder[4096], here[2048];
  struct view_choices choices;
  struct sc_message message = {""};
  ck_assert_ptr_nonnull(getcwd(here, sizeof here)); /* a relative path would not count */
  (void)snprintf(folder, sizeof folder, "%s/%s", here, support_file("config"));
  setenv("XDG_CONFIG_HOME", support_file("config")[0] == '/' ? support_file("config") : folder, 1);
  fixture_air(&f);
  view_choices_path(path, sizeof path);
  ck_assert_ptr_nonnull(strstr(path, "/config/sidecomb/viewer.cfg"));
  ck_assert_int_eq(view_choices_read(path, &choices, &message), SC_OK); /* not there: nothing */
  ck_assert_int_eq(choices.hold, VIEW_NOT_CHOSEN);
  ck_assert_int_eq(view_choices_read("/proc/self/mem/x", &choices, &message), SC_OK);
  char loop[4096];
  (void)snprintf(loop, sizeof loop, "%s", support_file("loop"));
  ck_assert_int_eq(symlink("loop", loop), 0); /* cannot be read, whoever asks */
  ck_assert_int_eq(view_choices_read(loop, &choices, &message), SC_CANNOT_OPEN);
  ck_assert_msg(strstr(message.text, "loop: cannot be read") != NULL, "%s", message.text);
  fixture_type(&f, "kZ");
  view_save(&f.state, &f.model);
  ck_assert_int_eq(view_choices_read(path, &choices, &message), SC_OK);
  ck_assert_int_eq(choices.hold, VIEW_HOLD_HIGHEST);
  fixture_type(&f, "kZ");
  view_save(&f.state, &f.model);
  ck_assert(f.state.prompt.confirm);
  fixture_type(&f, "y");
  view_save(&f.state, &f.model);
  ck_assert_int_eq(view_choices_read(path, &choices, &message), SC_OK);
  ck_assert_int_eq(choices.hold, VIEW_HOLD_BOTH);
  (void)remove(path);
  *strrchr(path, '/') = '\0';
  (void)remove(path);
  *strrchr(path, '/') = '\0';
  (void)remove(path);
}
END_TEST

Suite *choices_suite(void)
{
  Suite *suite = suite_create("choices");
  TCase *tests = tcase_create("choices");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, what_is_written_reads_back);
  tcase_add_test(tests, one_wrong_line_is_named_and_the_rest_counts);
  tcase_add_test(tests, a_view_that_the_capture_has_not_is_left_out);
  tcase_add_test(tests, the_file_stands_where_the_environment_says);
  tcase_add_test(tests, settings_are_saved_and_never_replaced_unasked);
  suite_add_tcase(suite, tests);
  return suite;
}
