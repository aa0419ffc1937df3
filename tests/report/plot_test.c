/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Plots: labels that keep apart, round numbers, the report's numbers, files that are what they
 * say. */
#include <config.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/plot.h>
#include <sidecomb/report.h>

#include "report/plot_layout.h"
#include "report/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { POINTS = 4096 };
/* The example's lines on a floor of -90 dBFS; its carrier has the level that dBc refers to. */
static float power[POINTS];

static struct sc_trace example_trace(const struct sc_result *result)
{
  struct sc_trace trace = {.start_hz = -120e3,
                           .step_hz = 240e3 / POINTS,
                           .points = POINTS,
                           .mean = power,
                           .max_hold = power,
                           .min_hold = power,
                           .rbw_hz = 117,
                           .record_s = 0.017,
                           .records = 55,
                           .window = SC_WINDOW_BLACKMAN_HARRIS};
  for (size_t i = 0; i < POINTS; i++)
    power[i] = 1e-9f;
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_tone *tone = &result->air_lines.lines[i].tone;
    double at = (tone->frequency_hz.value - trace.start_hz) / trace.step_hz;
    power[(size_t)at] = (float)pow(10, tone->level_db.value / 10);
  }
  return trace;
}

static struct sc_plot example_plot(const struct sc_result *result, const struct sc_trace *trace)
{
  return (struct sc_plot){.of = SC_SIGHT_AIR,
                          .info = &result->capture.info,
                          .result = result,
                          .trace = trace,
                          .low_hz = -120e3,
                          .high_hz = 120e3,
                          .to_s = 1,
                          .top_db = (double)NAN,
                          .bottom_db = (double)NAN};
}

static unsigned char *make(const struct sc_plot *plot, enum sc_plot_format format, size_t *size)
{
  unsigned char *bytes;
  struct sc_message message = {""};
  enum sc_error error = sc_plot_make(plot, format, &bytes, size, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return bytes;
}

/* ---- labels */

static int ascending(const void *a, const void *b)
{
  double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

static double cost(const struct plot_tag *tags, const double *x, size_t count)
{
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += (x[i] - tags[i].at) * (x[i] - tags[i].at);
  return sum;
}

/* No other legal placing is better: tried by shifting every run of tags a little. */
static void is_least(const struct plot_tag *tags, size_t count, double low, double high)
{
  double x[40], best;
  for (size_t i = 0; i < count; i++)
    x[i] = tags[i].x;
  best = cost(tags, x, count);
  for (size_t first = 0; first < count; first++)
    for (size_t end = first + 1; end <= count; end++)
      for (int way = -1; way <= 1; way += 2) {
        bool legal = true;
        for (size_t i = 0; i < count; i++)
          x[i] = tags[i].x + (i >= first && i < end ? way * 0.01 : 0);
        for (size_t i = 0; i + 1 < count; i++)
          legal = legal && x[i + 1] - x[i] >= (tags[i].width + tags[i + 1].width) / 2;
        legal = legal && x[0] - tags[0].width / 2 >= low &&
                x[count - 1] + tags[count - 1].width / 2 <= high;
        ck_assert(!legal || cost(tags, x, count) >= best - 1e-9);
      }
}

START_TEST(labels_keep_apart_and_near_their_peaks)
{
  uint64_t seed = support_seed("labels_keep_apart_and_near_their_peaks", 71);
  unsigned trials = support_trials(300);
  for (unsigned t = 0; t < trials; t++) {
    struct plot_tag tags[40];
    double at[40];
    size_t count = 1 + (size_t)(support_random(&seed) % 40);
    double crowd = t % 2 == 0 ? 250 : 5; /* all over the plot, or in a heap */
    for (size_t i = 0; i < count; i++)
      at[i] = 250 + crowd * support_uniform(&seed);
    qsort(at, count, sizeof *at, ascending);
    for (size_t i = 0; i < count; i++)
      tags[i] = (struct plot_tag){.at = at[i], .width = 8 + 4 * fabs(support_uniform(&seed))};
    ck_assert(plot_tags_spread(tags, count, 0, 500));
    ck_assert(tags[0].x - tags[0].width / 2 >= -1e-9);
    ck_assert(tags[count - 1].x + tags[count - 1].width / 2 <= 500 + 1e-9);
    for (size_t i = 0; i + 1 < count; i++)
      ck_assert(tags[i + 1].x - tags[i].x >= (tags[i].width + tags[i + 1].width) / 2 - 1e-9);
    is_least(tags, count, 0, 500);
  }
}
END_TEST

START_TEST(labels_that_are_too_wide_are_refused)
{
  struct plot_tag tags[3] = {
      {.at = 10, .width = 20}, {.at = 20, .width = 20}, {.at = 30, .width = 20}};
  ck_assert(!plot_tags_spread(tags, 3, 0, 59));
  ck_assert(plot_tags_spread(tags, 3, 0, 60));
  ck_assert_double_eq_tol(tags[0].x, 10, 1e-9);
  ck_assert_double_eq_tol(tags[2].x, 50, 1e-9);
}
END_TEST

/* ---- axes */

START_TEST(axes_have_round_numbers)
{
  struct plot_axis axis = plot_frequency_axis(-120e3, 120e3, 10, true);
  char text[PLOT_TICK_LENGTH];
  double value;
  ck_assert_double_eq(axis.step, 50e3);
  ck_assert(plot_tick(&axis, 0, &value));
  ck_assert_double_eq(value, -100e3);
  plot_tick_label(&axis, value, text);
  ck_assert_str_eq(text, "-100");
  plot_tick_label(&axis, 50e3, text);
  ck_assert_str_eq(text, "+50");
  plot_tick_label(&axis, 0, text);
  ck_assert_str_eq(text, "0");
  ck_assert(plot_tick(&axis, 4, &value));
  ck_assert(!plot_tick(&axis, 5, &value));
  axis = plot_frequency_axis(18990, 19010, 10, false);
  plot_tick_label(&axis, 18992, text);
  ck_assert_str_eq(text, "18.992");
  ck_assert_str_eq(axis.unit_name, "kHz");
}
END_TEST

START_TEST(the_highest_peak_and_the_floor_are_within)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  struct sc_sight_scale scale = sc_sight_scale(plot.of, SC_KIND_IQ, 0, &result);
  struct plot_axis axis = plot_level_axis(&plot, scale);
  ck_assert_str_eq(axis.unit_name, "dBc");
  ck_assert_double_gt(axis.high, -6.3 + scale.offset_db);
  ck_assert_double_lt(axis.low, -90 + scale.offset_db);
  ck_assert_double_eq(fmod(axis.high, 10), 0);
  plot.top_db = -20;
  plot.bottom_db = -55;
  axis = plot_level_axis(&plot, scale);
  ck_assert_double_eq(axis.high, -20);
  ck_assert_double_eq(axis.low, -55);
}
END_TEST

/* ---- the table */

/* "X ± U" beside the JSON's x and x_uncertainty: equal within the last digit that is shown. */
static void same(const char *cell, const json_t *line, const char *key, const char *uncertainty)
{
  char *end;
  double value = strtod(cell, &end);
  const char *point = strchr(cell, '.');
  double digit = point == NULL ? 1 : pow(10, -(double)strspn(point + 1, "0123456789"));
  ck_assert_double_eq_tol(value, json_number_value(json_object_get(line, key)), 0.51 * digit);
  const char *more = strstr(cell, "± ");
  ck_assert_ptr_nonnull(more);
  double stated = json_number_value(json_object_get(line, uncertainty));
  ck_assert_double_eq_tol(strtod(more + strlen("± "), NULL), stated,
                          fmax(0.51 * digit, 0.5 * stated));
}

START_TEST(the_table_has_the_reports_numbers)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  struct sc_sight_scale scale = sc_sight_scale(plot.of, SC_KIND_IQ, 0, &result);
  struct sc_report_settings settings = {.utf8 = true};
  struct plot_row rows[EXAMPLE_AIR_LINES];
  size_t within;
  char *text;
  ck_assert_int_eq(sc_report_json(&result, &settings, &text), SC_OK);
  json_t *report = json_loads(text, 0, NULL);
  json_t *lines = json_object_get(report, "lines");
  ck_assert_uint_eq(plot_rows(&plot, scale, EXAMPLE_AIR_LINES, rows, &within), EXAMPLE_AIR_LINES);
  ck_assert_uint_eq(within, EXAMPLE_AIR_LINES);
  ck_assert_uint_eq(json_array_size(lines), EXAMPLE_AIR_LINES);
  for (size_t i = 0; i < EXAMPLE_AIR_LINES; i++) {
    const json_t *line = json_array_get(lines, i);
    same(rows[i].cells[PLOT_PLACE], line, "offset_hz", "offset_uncertainty_hz");
    same(rows[i].cells[PLOT_LEVEL], line, "level_dbc", "level_uncertainty_db");
    ck_assert_str_eq(rows[i].cells[PLOT_VERDICT],
                     json_string_value(json_object_get(line, "verdict")));
  }
  json_decref(report);
  free(text);
}
END_TEST

/* A captured composite of 100 kHz full scale: its trace is in full scale, its lines in kHz. */
START_TEST(leaders_of_a_captured_composite_end_at_their_lines)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  struct sc_sight_scale scale = sc_sight_scale(SC_SIGHT_COMPOSITE, SC_KIND_COMPOSITE, 100, &result);
  struct plot_row rows[EXAMPLE_COMPOSITE_LINES];
  size_t within;
  plot.of = SC_SIGHT_COMPOSITE;
  plot.low_hz = 0;
  result.composite_lines.lines[0].tone.level_db = sc_measured(20 * log10(6.75) - 3.0103, 0.001);
  ck_assert_double_eq_tol(scale.offset_db, 20 * log10(100.0 / 75), 1e-12);
  ck_assert_uint_eq(plot_rows(&plot, scale, EXAMPLE_COMPOSITE_LINES, rows, &within),
                    EXAMPLE_COMPOSITE_LINES);
  ck_assert_double_eq_tol(rows[0].level_db, 20 * log10(6.75 / 75), 0.01);
}
END_TEST

START_TEST(few_rows_hold_what_is_open_and_what_is_strong)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  struct sc_sight_scale scale = sc_sight_scale(plot.of, SC_KIND_IQ, 0, &result);
  struct plot_row rows[2];
  size_t within;
  /* The example: one explained line, two unknown, the carrier the stronger of them. */
  ck_assert_uint_eq(plot_rows(&plot, scale, 2, rows, &within), 2);
  ck_assert_double_eq(rows[0].hz, -38000);
  ck_assert_double_eq(rows[1].hz, 0);
  ck_assert(!rows[0].open && rows[1].open);
  plot.low_hz = 50e3;
  ck_assert_uint_eq(plot_rows(&plot, scale, 2, rows, &within), 1);
  ck_assert_uint_eq(within, 1);
}
END_TEST

/* ---- words */

static double eight_each(void *context, const char *text)
{
  (void)context;
  size_t characters = 0;
  for (; *text != '\0'; text++)
    characters += ((unsigned char)*text & 0xC0) != 0x80;
  return 8 * (double)characters;
}

/* The table cuts a long name: the cause then has it whole, once. */
START_TEST(a_cause_has_the_name_that_was_cut)
{
  struct sc_line line = {.label = "4 x 1700 Hz + 14 x 1000 Hz", .cause = "a product of FM"};
  char text[PLOT_TEXT_LENGTH];
  plot_cause_words(&line, true, text);
  ck_assert_str_eq(text, "4 x 1700 Hz + 14 x 1000 Hz: a product of FM");
  plot_cause_words(&line, false, text);
  ck_assert_str_eq(text, "a product of FM");
  snprintf(line.cause, sizeof line.cause, "4 x 1700 Hz + 14 x 1000 Hz, of the composite");
  plot_cause_words(&line, true, text);
  ck_assert_str_eq(text, line.cause);
  line.cause[0] = 0;
  plot_cause_words(&line, true, text);
  ck_assert_str_eq(text, line.label);
}
END_TEST

START_TEST(lines_break_at_words_and_never_within_a_character)
{
  size_t skip;
  ck_assert_uint_eq(plot_wrap("the pilot leaks", 80, eight_each, NULL, &skip), 9);
  ck_assert_uint_eq(skip, 1);
  ck_assert_uint_eq(plot_wrap("leaks", 80, eight_each, NULL, &skip), 5);
  ck_assert_uint_eq(skip, 0);
  ck_assert_uint_eq(plot_wrap("±±±±", 16, eight_each, NULL, &skip), 4);
  ck_assert_uint_eq(plot_wrap("±±", 1, eight_each, NULL, &skip), 2); /* it goes on all the same */
  ck_assert_uint_eq(plot_wrap("", 16, eight_each, NULL, &skip), 0);
}
END_TEST

/* ---- files */

static uint32_t big_endian(const unsigned char *bytes)
{
  return (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 | bytes[3];
}

/* PNG (ISO/IEC 15948, 5.2 and 11.2.2): signature, then IHDR with width and height. A4 is 210 mm,
 * that is 1654 dots of 1/200 inch; the page is its nearest whole point. */
START_TEST(a_bitmap_has_the_size_of_a_page)
{
  static const unsigned char signature[8] = {137, 80, 78, 71, 13, 10, 26, 10};
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  size_t size;
  unsigned char *bytes = make(&plot, SC_PLOT_PNG, &size);
  ck_assert_uint_gt(size, 33);
  ck_assert_int_eq(memcmp(bytes, signature, sizeof signature), 0);
  ck_assert_int_eq(memcmp(bytes + 12, "IHDR", 4), 0);
  ck_assert_uint_eq(big_endian(bytes + 16), 1653);
  ck_assert_uint_ge(big_endian(bytes + 20), 1170); /* lying A5 at least, standing A4 at most */
  ck_assert_uint_le(big_endian(bytes + 20), 2339);
  free(bytes);
}
END_TEST

/* PDF (ISO 32000-1, 7.5.2 and 7.5.5). */
START_TEST(a_document_begins_and_ends_as_one)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  size_t size;
  unsigned char *bytes = make(&plot, SC_PLOT_PDF, &size);
  ck_assert_int_eq(memcmp(bytes, "%PDF-", 5), 0);
  ck_assert_ptr_nonnull(memmem(bytes + size - 16, 16, "%%EOF", 5));
  ck_assert_ptr_nonnull(memmem(bytes, size, "/MediaBox", 9));
  free(bytes);
}
END_TEST

static size_t occurrences(const char *text, const char *wanted)
{
  size_t count = 0;
  for (text = strstr(text, wanted); text != NULL; text = strstr(text + 1, wanted))
    count++;
  return count;
}

static char *vectors(const struct sc_plot *plot)
{
  size_t size;
  unsigned char *bytes = make(plot, SC_PLOT_SVG, &size);
  char *text = malloc(size + 1);
  ck_assert_ptr_nonnull(text);
  memcpy(text, bytes, size);
  text[size] = '\0';
  free(bytes);
  ck_assert_uint_eq(strlen(text), size);
  return text;
}

/* SVG 1.1: one root with its size, groups that close, vectors and no bitmap; a mask adds two
 * dashed strokes for each of its ranges, one to each side, and a second trace and what is expected
 * one each. */
START_TEST(a_drawing_is_made_of_vectors)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  struct sc_mask mask = {.name = "test", .range_count = 1, .ranges = {{50e3, 1e6, 25, 25}}};
  char *plain = vectors(&plot);
  plot.mask = &mask;
  char *masked = vectors(&plot);
  ck_assert_uint_eq(occurrences(plain, "<svg "), 1);
  ck_assert_uint_eq(occurrences(plain, "</svg>"), 1);
  ck_assert_uint_eq(occurrences(plain, "<g>") + occurrences(plain, "<g "),
                    occurrences(plain, "</g>") + occurrences(plain, "<g/>"));
  ck_assert_uint_eq(occurrences(plain, "<image"), 0);
  ck_assert_uint_eq(occurrences(plain, "dasharray"), 0);
  ck_assert_uint_eq(occurrences(masked, "dasharray"), 2);
  const struct sc_plot_other other = {"another", &trace, 10e3, 0};
  plot.mask = NULL;
  plot.other = &other;
  plot.expected = &trace;
  char *three = vectors(&plot);
  ck_assert_uint_eq(occurrences(three, "dasharray"), 2);
  free(three);
  free(plain);
  free(masked);
}
END_TEST

/* A second trace of -40 and -60 dB in turns, its points twice as far apart: half way between two it
 * is at -50 dB. Its scale adds 3 dB. */
START_TEST(numbers_have_the_second_trace_beside)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result), second = trace;
  struct sc_plot plot = example_plot(&result, &trace);
  static float mean[] = {1e-4F, 1e-6F, 1e-4F};
  second.start_hz = trace.start_hz + 10e3;
  second.step_hz = 2 * trace.step_hz;
  second.mean = mean;
  second.points = 3;
  const struct sc_plot_other other = {"an\033other", &second, 10e3, 3};
  plot.low_hz = trace.start_hz;
  plot.other = &other;
  char *text;
  ck_assert_int_eq(sc_plot_csv(&plot, &text), SC_OK);
  ck_assert_ptr_nonnull(strstr(text, "lowest_dbc,second_dbc\n"));
  ck_assert_ptr_nonnull(strstr(text, "# second: an?other\n"));
  static const char *const levels[] = {",-37.000\n", ",-47.000\n", ",-57.000\n", ",-47.000\n",
                                       ",-37.000\n", ",\n"}; /* the last: beyond its end */
  const char *row = strstr(text, "second_dbc\n");
  for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
    row = strchr(row, '\n') + 1;
    const char *end = strchr(row, '\n') + 1, *last = end;
    while (*last != ',')
      last--;
    ck_assert_msg(strncmp(last, levels[i], (size_t)(end - last)) == 0, "row %zu: %.*s", i,
                  (int)(end - row), row);
  }
  free(text);
  plot.other = NULL;
  ck_assert_int_eq(sc_plot_csv(&plot, &text), SC_OK);
  ck_assert_ptr_nonnull(strstr(text, "lowest_dbc\n"));
  free(text);
}
END_TEST

START_TEST(text_of_the_capture_is_drawn_clean)
{
  struct sc_result result = example_result();
  snprintf(result.capture.info.name, sizeof result.capture.info.name, "a\033[31m\xff\n");
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  size_t size;
  free(make(&plot, SC_PLOT_PDF, &size)); /* broken text would fail in the drawing library */
}
END_TEST

START_TEST(a_span_without_trace_is_refused)
{
  struct sc_result result = example_result();
  struct sc_trace trace = example_trace(&result);
  struct sc_plot plot = example_plot(&result, &trace);
  unsigned char *bytes;
  size_t size;
  struct sc_message message = {""};
  plot.low_hz = 130e3;
  plot.high_hz = 140e3;
  ck_assert_int_eq(sc_plot_make(&plot, SC_PLOT_SVG, &bytes, &size, &message), SC_UNSUPPORTED);
  ck_assert_ptr_null(bytes);
  enum sc_plot_format format;
  ck_assert(sc_plot_format("a.pdf", &format) && format == SC_PLOT_PDF);
  ck_assert(!sc_plot_format("a.jpg", &format) && !sc_plot_format(".svg", &format));
}
END_TEST

Suite *plot_suite(void)
{
  Suite *suite = suite_create("plot");
  TCase *layout = tcase_create("plot layout");
  tcase_add_test(layout, labels_keep_apart_and_near_their_peaks);
  tcase_add_test(layout, labels_that_are_too_wide_are_refused);
  tcase_add_test(layout, axes_have_round_numbers);
  tcase_add_test(layout, the_highest_peak_and_the_floor_are_within);
  tcase_add_test(layout, the_table_has_the_reports_numbers);
  tcase_add_test(layout, leaders_of_a_captured_composite_end_at_their_lines);
  tcase_add_test(layout, few_rows_hold_what_is_open_and_what_is_strong);
  tcase_add_test(layout, a_cause_has_the_name_that_was_cut);
  tcase_add_test(layout, lines_break_at_words_and_never_within_a_character);
  suite_add_tcase(suite, layout);
  TCase *files = tcase_create("plot files");
  tcase_add_test(files, a_bitmap_has_the_size_of_a_page);
  tcase_add_test(files, a_document_begins_and_ends_as_one);
  tcase_add_test(files, a_drawing_is_made_of_vectors);
  tcase_add_test(files, numbers_have_the_second_trace_beside);
  tcase_add_test(files, text_of_the_capture_is_drawn_clean);
  tcase_add_test(files, a_span_without_trace_is_refused);
  suite_add_tcase(suite, files);
  return suite;
}
