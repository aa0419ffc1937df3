/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The data page: fields fill in, and say how sure they are. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;

static void expect(int width, int height, const char *text, bool wanted)
{
  char *screen = fixture_draw(&f, width, height, false);
  const bool shown = strstr(screen, text) != NULL;
  if (shown != wanted)
    puts(screen);
  free(screen);
  ck_assert_msg(shown == wanted, "'%s' is %s the screen", text, wanted ? "not on" : "on");
}

static void begin(void)
{
  fixture_air(&f);
  sc_rds_refuse(&f.result.rds, "the fixture has none");
  fixture_type(&f, "R");
}

static void put_name(const char *name, size_t count, uint8_t times)
{
  for (size_t i = 0; i < count; i++) {
    f.result.rds.data.ps_characters[i].utf8[0] = name[i];
    f.result.rds.data.ps_characters[i].times = times;
  }
}

START_TEST(absence_says_down_to_what)
{
  begin();
  f.result.rds.present = SC_NO;
  f.result.rds.detection_limit_khz = sc_measured(0.128, (double)NAN);
  expect(80, 24, "absent", true);
  expect(80, 24, "data: there is no RDS here.", true);
  expect(80, 24, "0.128 kHz in 99 %", true);
  expect(80, 24, "PI", false);
}
END_TEST

START_TEST(fields_fill_in)
{
  begin();
  f.result.rds.present = SC_YES;
  expect(80, 24, "not received yet", true);
  expect(80, 24, "data: RDS, PI not confirmed.", true);
  put_name("FELL", 4, 1);
  expect(80, 24, "FELL____  0 of 8 sure", true);
  put_name("FELLSIDE", 8, 2);
  expect(80, 24, "FELLSIDE", true);
  expect(80, 24, "of 8 sure", false);
  snprintf(f.result.rds.data.pi, sizeof f.result.rds.data.pi, "C4A7");
  f.result.rds.data.pi_times = 7;
  expect(80, 24, "C4A7  received 7 times in a row", true);
}
END_TEST

/* Rows that do not fit are counted, and Down brings them. */
START_TEST(what_does_not_fit_is_scrolled)
{
  begin();
  f.result.rds.present = SC_YES;
  snprintf(f.result.rds.data.ecc, sizeof f.result.rds.data.ecc, "E1");
  f.result.rds.detection_limit_khz = sc_measured(0.128, (double)NAN);
  expect(80, 9, "more below: Down shows them", true);
  expect(80, 9, "0.128 kHz in 99 %", false);
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  expect(80, 9, "0.128 kHz in 99 %", true);
  expect(80, 9, "more below", false);
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_UP);
  expect(80, 9, "because", true);
  expect(80, 24, "more below", false);
}
END_TEST

START_TEST(leads_back)
{
  begin();
  expect(80, 24, "Esc spectrum again", true);
  fixture_type(&f, "R");
  expect(80, 24, "R spectrum again", false);
  fixture_type(&f, "Rv");
  expect(80, 24, "R spectrum again", false);
}
END_TEST

START_TEST(every_size_is_drawn)
{
  begin();
  f.result.rds.present = SC_YES;
  put_name("FELLSIDE", 8, 1);
  for (int width = 1; width < 130; width += width < 12 ? 1 : 13)
    for (int height = 1; height < 50; height += height < 8 ? 1 : 11)
      free(fixture_draw(&f, width, height, false));
}
END_TEST

Suite *data_suite(void)
{
  Suite *suite = suite_create("data");
  TCase *tests = tcase_create("data");
  tcase_add_test(tests, absence_says_down_to_what);
  tcase_add_test(tests, fields_fill_in);
  tcase_add_test(tests, what_does_not_fit_is_scrolled);
  tcase_add_test(tests, leads_back);
  tcase_add_test(tests, every_size_is_drawn);
  suite_add_tcase(suite, tests);
  return suite;
}
