/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels: none over a peak, a leader or another label. */
#include <stdio.h>
#include <string.h>

#include "support/random.h"
#include "support/support.h"
#include "view/labels.h"
#include "view/suites.h"

enum { WIDTH = 60, HEIGHT = 16, LABELS = 12, FIELDS = 200 };

static bool used[HEIGHT][WIDTH];

static void use(int x, int y, const int *tops, bool text)
{
  ck_assert_int_ge(x, 0);
  ck_assert_int_lt(x, WIDTH);
  ck_assert_int_ge(y, 0);
  ck_assert_int_lt(y, HEIGHT);
  ck_assert(!used[y][x]);
  if (text)
    ck_assert_int_lt(y, tops[x]); /* it does not cover the trace */
  used[y][x] = true;
}

static void check_label(const struct view_label *label, const int *tops)
{
  for (int i = 0; i < label->width; i++)
    use(label->x + i, label->y, tops, true);
  for (int row = label->y + 1; row < label->row; row++)
    use(label->column, row, tops, true);
}

static double share(uint64_t *seed)
{
  return (double)(support_random(seed) >> 11) * 0x1p-53;
}

START_TEST(random_fields_stay_readable)
{
  uint64_t seed = support_seed("labels", 38);
  size_t placed = 0;
  for (int field = 0; field < FIELDS; field++) {
    int tops[WIDTH];
    struct view_label labels[LABELS];
    memset(used, 0, sizeof used);
    for (int x = 0; x < WIDTH; x++)
      tops[x] = 10 + (int)(share(&seed) * 4);
    for (int i = 0; i < LABELS; i++) {
      int column = (int)(share(&seed) * WIDTH);
      tops[column] = (int)(share(&seed) * 10);
      labels[i] =
          (struct view_label){.column = column, .rank = i, .width = 3 + (int)(share(&seed) * 12)};
    }
    for (int i = 0; i < LABELS; i++)
      labels[i].row = tops[labels[i].column];
    ck_assert(view_labels_place(labels, LABELS, WIDTH, HEIGHT, tops));
    for (int i = 0; i < LABELS; i++)
      if (labels[i].placed) {
        check_label(&labels[i], tops);
        placed++;
      }
  }
  /* Most find room: a field of 60 by 16 holds a few labels of 9 columns. */
  ck_assert_uint_gt(placed, FIELDS * 4);
}
END_TEST

START_TEST(the_more_important_one_gets_the_place)
{
  int tops[WIDTH];
  for (int x = 0; x < WIDTH; x++)
    tops[x] = 3;
  tops[20] = tops[22] = 1;
  struct view_label labels[2] = {{.column = 20, .row = 1, .rank = 2, .width = 10},
                                 {.column = 22, .row = 1, .rank = 1, .width = 10}};
  ck_assert(view_labels_place(labels, 2, WIDTH, 3, tops));
  ck_assert_int_eq(labels[0].column, 22);
  ck_assert(labels[0].placed);
  ck_assert_int_eq(labels[0].y, 0);
}
END_TEST

START_TEST(a_peak_at_the_top_is_labelled_beside)
{
  int tops[WIDTH];
  for (int x = 0; x < WIDTH; x++)
    tops[x] = 10;
  tops[30] = 0;
  struct view_label label = {.column = 30, .row = 0, .width = 7};
  ck_assert(view_labels_place(&label, 1, WIDTH, HEIGHT, tops));
  ck_assert(label.placed);
  ck_assert_int_eq(label.y, 0);
  ck_assert_int_gt(label.x, 30);
}
END_TEST

Suite *labels_suite(void)
{
  Suite *suite = suite_create("labels");
  TCase *places = tcase_create("places");
  tcase_add_test(places, random_fields_stay_readable);
  tcase_add_test(places, the_more_important_one_gets_the_place);
  tcase_add_test(places, a_peak_at_the_top_is_labelled_beside);
  suite_add_tcase(suite, places);
  return suite;
}
