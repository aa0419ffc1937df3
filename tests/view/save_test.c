/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Files from the viewer: what is in them, and what happens to those that are there. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/files.h"
#include "view/errand.h"
#include "view/fixture.h"
#include "view/paper.h"
#include "view/save.h"
#include "view/suites.h"

static struct fixture f;

/* Types a command with a path of the test's folder, and does what waits. */
static const char *save_as(const char *name)
{
  static char path[4096];
  char command[4200];
  (void)snprintf(path, sizeof path, "%s", support_file(name));
  (void)snprintf(command, sizeof command, ":save %s\n", path);
  fixture_type(&f, command);
  view_save(&f.state, &f.model);
  return path;
}

static void said(const char *words)
{
  ck_assert_msg(strstr(f.state.message, words) != NULL, "'%s' is not said, but: %s", words,
                f.state.message);
}

static char *read_text(const char *path)
{
  size_t length;
  unsigned char *bytes = support_file_read(path, &length);
  char *text = malloc(length + 1);
  ck_assert_ptr_nonnull(text);
  memcpy(text, bytes, length);
  text[length] = '\0';
  free(bytes);
  return text;
}

START_TEST(the_ending_says_what_is_saved)
{
  static const struct {
    const char *name, *start;
  } files[] = {{"a.csv", "# spectrum: on air\n"},
               {"a.json", "{"},
               {"a.svg", "<?xml"},
               {"a.pdf", "%PDF-"},
               {"a.png", "\x89PNG"}};
  fixture_air(&f);
  for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
    char *text = read_text(save_as(files[i].name));
    ck_assert_msg(strncmp(text, files[i].start, strlen(files[i].start)) == 0, "%s", files[i].name);
    said("Saved ");
    free(text);
  }
  char *text = read_text(save_as("a.txt"));
  ck_assert_ptr_nonnull(strstr(text, "Lines on air"));
  free(text);
  save_as("a.doc");
  said("end the name in .csv");
  ck_assert_uint_eq(support_file_count(), 6);
}
END_TEST

START_TEST(numbers_hold_the_second_trace_where_it_is_shown)
{
  static struct fixture other;
  fixture_air(&f);
  fixture_air(&other);
  f.model.against = &other.model;
  char *text = read_text(save_as("without.csv"));
  ck_assert_ptr_null(strstr(text, "second_dbc"));
  free(text);
  f.state.against = true;
  text = read_text(save_as("with.csv"));
  ck_assert_ptr_nonnull(strstr(text, ",second_dbc\n"));
  free(text);
}
END_TEST

START_TEST(nothing_is_replaced_before_the_answer)
{
  fixture_air(&f);
  const char *path = save_as("a.csv");
  char *before = read_text(path);
  fixture_type(&f, "s10k\n");
  save_as("a.csv");
  ck_assert(f.state.prompt.confirm);
  char *screen = fixture_draw(&f, 300, 40, true);
  ck_assert_ptr_nonnull(strstr(screen, "is there already. Replace it? y n"));
  free(screen);
  fixture_type(&f, "n");
  view_save(&f.state, &f.model);
  said("Nothing was written.");
  char *after = read_text(path);
  ck_assert_str_eq(before, after);
  free(after);
  save_as("a.csv");
  fixture_type(&f, "y");
  view_save(&f.state, &f.model);
  said("Saved ");
  after = read_text(path);
  ck_assert_str_ne(before, after);
  free(before);
  free(after);
  save_as("missing/a.csv");
  said("cannot be written");
  ck_assert_uint_eq(support_file_count(), 1);
}
END_TEST

/* What stands behind a sheet is not what is shown. */
START_TEST(of_a_sheet_the_report_is_saved)
{
  fixture_air(&f);
  fixture_type(&f, "5");
  save_as("a.png");
  said("no spectrum is shown: press Escape first");
  save_as("a.csv");
  said("no spectrum is shown: press Escape first");
  ck_assert_uint_eq(support_file_count(), 0);
  save_as("a.txt");
  said("Saved ");
}
END_TEST

/* Each row is a point of the trace: offset from the carrier and level on the axis's scale. */
START_TEST(the_table_is_the_trace)
{
  fixture_air(&f);
  struct sc_plot_marker markers[SC_PLOT_MARKERS_MAX];
  struct sc_plot plot = view_paper_plot(&f.state, &f.model, markers);
  char *text;
  ck_assert_int_eq(sc_plot_csv(&plot, &text), SC_OK);
  const struct sc_trace *trace = &f.model.spectrum.trace;
  struct view_range range = view_state_range(&f.state, &f.model);
  const char *row = strstr(text, "\noffset_hz,mean_dbc,highest_dbc,lowest_dbc\n");
  ck_assert_ptr_nonnull(row);
  ck_assert_ptr_nonnull(strstr(text, "Hz noise bandwidth, "));
  size_t rows = 0;
  double carrier_hz = f.result.carrier.offset_hz.value;
  double carrier_db = f.result.carrier.level_dbfs.value;
  for (row = strchr(row + 1, '\n') + 1; *row != '\0'; row = strchr(row, '\n') + 1, rows++) {
    double offset, mean;
    ck_assert_int_eq(sscanf(row, "%lf,%lf", &offset, &mean), 2);
    double at = (offset + carrier_hz - trace->start_hz) / trace->step_hz;
    ck_assert_double_eq_tol(at, round(at), 1e-3);
    double power = 10 * log10((double)trace->mean[(size_t)lround(at)]);
    ck_assert_double_eq_tol(mean, power - carrier_db, 0.0006);
  }
  ck_assert_double_eq_tol((double)rows, (range.high_hz - range.low_hz) / trace->step_hz, 1.5);
  free(text);
}
END_TEST

START_TEST(a_plot_shows_what_the_screen_shows)
{
  struct sc_plot_marker markers[SC_PLOT_MARKERS_MAX];
  fixture_air(&f);
  fixture_type(&f, "hBns50k\nr-10\nk");
  struct sc_plot plot = view_paper_plot(&f.state, &f.model, markers);
  struct view_range range = view_state_range(&f.state, &f.model);
  ck_assert_double_eq(plot.low_hz, range.low_hz);
  ck_assert_double_eq(plot.high_hz, range.high_hz);
  ck_assert_double_eq(plot.top_db, -10);
  ck_assert(plot.show_highest && !plot.show_lowest);
  ck_assert_uint_eq(plot.marker_count, 2);
  ck_assert_str_eq(markers[1].name, "B");
  ck_assert_double_eq(markers[1].hz, view_state_shown(&f.state)->markers[1].hz);
  ck_assert_ptr_nonnull(strstr(markers[1].reading, "dBc"));
}
END_TEST

START_TEST(names_are_offered_and_fit_for_files)
{
  fixture_air(&f);
  snprintf(f.info.name, sizeof f.info.name, "-my/odd name?.sigmf-meta");
  fixture_type(&f, "S");
  ck_assert_str_eq(f.state.prompt.text, "myoddname-air.pdf");
  char *screen = fixture_draw(&f, 80, 24, true);
  ck_assert_ptr_nonnull(strstr(screen, "myoddname-air.svg")); /* beside the one that is typed */
  free(screen);
  fixture_type(&f, "\tair.c\t");
  ck_assert_str_eq(f.state.prompt.text, "myoddname-air.csv");
  fixture_type(&f, "\n");
  ck_assert(f.state.errand.pending);
  ck_assert_str_eq(f.state.errand.path, "myoddname-air.csv");
}
END_TEST

/* What is typed takes the place of the offered name; Backspace and Tab go on from it. */
START_TEST(a_name_of_ones_own_replaces_the_offered_one)
{
  fixture_air(&f);
  snprintf(f.info.name, sizeof f.info.name, "kite");
  fixture_type(&f, "Smine.txt");
  ck_assert_str_eq(f.state.prompt.text, "mine.txt");
  fixture_type(&f, "\x15yours.csv");
  ck_assert_str_eq(f.state.prompt.text, "yours.csv");
  fixture_type(&f, "\x15\n");
  ck_assert(!f.state.errand.pending);
  fixture_type(&f, "S\x7f\x7f\x7fsvg");
  ck_assert_str_eq(f.state.prompt.text, "kite-air.svg");
}
END_TEST

START_TEST(what_is_not_there_is_not_saved)
{
  fixture_air(&f);
  f.model.spectrum.trace.points = 0;
  save_as("a.pdf");
  said("there is no trace yet");
  f.model.result = NULL;
  save_as("a.json");
  said("nothing is measured yet");
  ck_assert_uint_eq(support_file_count(), 0);
}
END_TEST

Suite *save_suite(void)
{
  Suite *suite = suite_create("save");
  TCase *tests = tcase_create("save");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, the_ending_says_what_is_saved);
  tcase_add_test(tests, numbers_hold_the_second_trace_where_it_is_shown);
  tcase_add_test(tests, nothing_is_replaced_before_the_answer);
  tcase_add_test(tests, of_a_sheet_the_report_is_saved);
  tcase_add_test(tests, the_table_is_the_trace);
  tcase_add_test(tests, a_plot_shows_what_the_screen_shows);
  tcase_add_test(tests, names_are_offered_and_fit_for_files);
  tcase_add_test(tests, a_name_of_ones_own_replaces_the_offered_one);
  tcase_add_test(tests, what_is_not_there_is_not_saved);
  suite_add_tcase(suite, tests);
  return suite;
}
