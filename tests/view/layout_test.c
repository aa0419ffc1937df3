/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The layout at every size: parts inside the screen, none over another. */
#include "view/layout.h"
#include "view/suites.h"

enum { PARTS = 6 };

static bool overlap(const struct view_box *a, const struct view_box *b)
{
  return a->x < b->x + b->width && b->x < a->x + a->width && a->y < b->y + b->height &&
         b->y < a->y + a->height;
}

static void check_part(const struct view_box *part, int width, int height)
{
  ck_assert_int_ge(part->height, 0);
  ck_assert_int_ge(part->width, 0);
  ck_assert_int_ge(part->x, 0);
  ck_assert_int_ge(part->y, 0);
  ck_assert_int_le(part->x + part->width, width);
  ck_assert_int_le(part->y + part->height, height);
}

START_TEST(parts_stay_inside_and_apart)
{
  for (int width = 1; width <= 220; width += 3)
    for (int height = 1; height <= 90; height++) {
      struct view_layout layout = view_layout(width, height, width % 2 == 0);
      const struct view_box parts[PARTS] = {layout.sentence, layout.account, layout.plot,
                                            layout.settings, layout.readout, layout.time};
      for (int i = 0; i < PARTS; i++) {
        check_part(&parts[i], width, height);
        for (int k = 0; k < i; k++)
          ck_assert(!overlap(&parts[i], &parts[k]));
      }
      ck_assert_int_eq(layout.bottom.y, height - 1);
      ck_assert_int_ge(layout.plot.height, 1);
    }
}
END_TEST

START_TEST(the_usual_sizes_have_all_parts)
{
  static const int sizes[][2] = {{40, 12}, {80, 24}, {120, 40}, {200, 60}};
  for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
    struct view_layout layout = view_layout(sizes[i][0], sizes[i][1], true);
    ck_assert_int_ge(layout.sentence.height, 2);
    ck_assert_int_ge(layout.account.height, 2);
    ck_assert_int_ge(layout.plot.height, 5);
    ck_assert_int_ge(layout.settings.height, 1);
    ck_assert_int_ge(layout.readout.height, 2);
    ck_assert_int_eq(layout.time.height, sizes[i][1] >= 24);
    ck_assert(layout.beside == (sizes[i][0] >= 120));
  }
}
END_TEST

Suite *layout_suite(void)
{
  Suite *suite = suite_create("layout");
  TCase *sizes = tcase_create("sizes");
  tcase_add_test(sizes, parts_stay_inside_and_apart);
  tcase_add_test(sizes, the_usual_sizes_have_all_parts);
  suite_add_tcase(suite, sizes);
  return suite;
}
