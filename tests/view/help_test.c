/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of keys, and what a key says that has nothing to do. */
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;

#define EXPECT(width, height, ...) FIXTURE_EXPECT(&f, width, height, __VA_ARGS__)

START_TEST(help_lists_what_works_here)
{
  fixture_air(&f);
  fixture_type(&f, "?");
  EXPECT(160, 60, "Keys that work here", "to the next standard position above", "A to J",
         "frequencies as tuned");
  f.info.centre_hz = 0;
  char *screen = fixture_draw(&f, 160, 60, false);
  ck_assert_ptr_null(strstr(screen, "frequencies as tuned"));
  free(screen);
}
END_TEST

/* What does not fit a line goes on in the next: in every width all of it can be read. */
START_TEST(help_is_never_cut)
{
  static const int widths[] = {40, 44, 59, 60, 80, 120};
  fixture_air(&f);
  fixture_type(&f, "?");
  for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
    char *screen = fixture_draw(&f, widths[i], 300, false);
    ck_assert_ptr_nonnull(strstr(screen, "Shift-Right or } "));
    ck_assert_ptr_nonnull(strstr(screen, "difference\n"));
    ck_assert_msg(strstr(screen, "…") == NULL, "cut at %d columns:\n%s", widths[i], screen);
    free(screen);
  }
}
END_TEST

START_TEST(help_scrolls_to_its_end)
{
  fixture_air(&f);
  fixture_type(&f, "?");
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
  EXPECT(80, 24, "leave");
  EXPECT(40, 12, "Keys that work here");
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
  EXPECT(40, 12, "leave");
}
END_TEST

/* Too narrow for both, the text stands beneath its keys; no column of single letters. */
START_TEST(a_narrow_screen_has_help_in_words)
{
  fixture_air(&f);
  fixture_type(&f, "?");
  EXPECT(20, 24, " 1 or 2\n", "\n   show on air,\n", "\n   composite\n");
}
END_TEST

/* A survey that is done neither stands still nor goes on. */
START_TEST(what_is_stopped_is_named_as_it_is)
{
  fixture_air(&f);
  f.model.survey_done = false;
  fixture_type(&f, "X");
  EXPECT(80, 24, "The survey stands still: X lets it go on.");
  f.model.survey_done = true;
  fixture_type(&f, "X");
  EXPECT(80, 24, "What takes long goes on.");
}
END_TEST

Suite *help_suite(void)
{
  Suite *suite = suite_create("help");
  TCase *pages = tcase_create("pages");
  tcase_add_test(pages, help_lists_what_works_here);
  tcase_add_test(pages, help_is_never_cut);
  tcase_add_test(pages, help_scrolls_to_its_end);
  tcase_add_test(pages, a_narrow_screen_has_help_in_words);
  tcase_add_test(pages, what_is_stopped_is_named_as_it_is);
  suite_add_tcase(suite, pages);
  return suite;
}
