/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison for people: what differs first, then what cannot be judged, and in a sentence
 * each what is the same and what was measured in some captures only. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/compare.h>

#include "common/number.h"
#include "common/text.h"
#include "report/layout.h"

enum {
  INDENT = 2,
  VALUE_COLUMN = 4,
  VALUE_COLUMNS = 38,
  WIDTH_DEFAULT = 80,
  WIDTH_LEAST = 40,
  TEXT_MAX = 1024
};

struct page {
  struct report_buffer out;
  const struct sc_comparison *comparison;
  size_t width, lines_max;
};

static char letter_of(size_t capture)
{
  return (char)('A' + capture);
}

static void paragraph(struct page *page, const char *text)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, text, strlen(text));
  report_wrap(&page->out, clean, 0, 0, page->width);
}

static void print_captures(struct page *page)
{
  for (size_t i = 0; i < page->comparison->captures; i++) {
    const struct sc_capture_facts *facts = &page->comparison->results[i]->capture;
    char text[TEXT_MAX], clean[TEXT_MAX];
    snprintf(text, sizeof text, "%s, %.6g s at %.10g Hz", facts->info.name, facts->duration_s,
             facts->info.sample_rate_hz);
    common_clean(clean, sizeof clean, text, strlen(text));
    report_add(&page->out, "%c ", letter_of(i));
    report_wrap(&page->out, clean, INDENT, INDENT, page->width);
  }
}

static size_t count_rows(const struct sc_comparison *comparison, enum sc_likeness likeness)
{
  size_t count = 0;
  for (size_t i = 0; i < comparison->row_count; i++)
    count += comparison->rows[i].likeness == likeness;
  return count;
}

static size_t count_lines(const struct sc_compared_lines *lines, enum sc_likeness likeness)
{
  size_t count = 0;
  for (size_t i = 0; i < lines->count; i++)
    count += lines->lines[i].likeness == likeness;
  return count;
}

static void value_text(const struct sc_value *value, char *text, size_t size)
{
  if (value->why != NULL)
    snprintf(text, size, "not measured");
  else
    sc_format_value(value, text, size);
}

/* Levels of whatever reference differ by decibels. */
static const char *difference_unit(enum sc_unit unit)
{
  const struct sc_unit_names *names = sc_unit_names(unit);
  return strcmp(names->uncertainty_suffix, "db") == 0 ? "dB" : names->symbol;
}

/* With the value's digits, or where these would show nought of what differs, with those that its
 * uncertainty has. */
static void difference_text(struct sc_quantity difference, bool differs, int decimals,
                            const char *unit, char *text, size_t size)
{
  enum { DECIMALS_MOST = 15 };
  char number[96];
  if (differs && fabs(difference.value) < 0.5 * pow(10, -decimals))
    decimals = DECIMALS_MOST;
  sc_format_quantity(difference, decimals, number, sizeof number);
  snprintf(text, size, "%s%s %s", number[0] == '-' ? "" : "+", number, unit);
}

/* The letter and value of one capture, then how far it is from the first. */
static void print_cell(struct page *page, size_t capture, const char *value, const char *difference)
{
  struct report_buffer *out = &page->out;
  size_t column = VALUE_COLUMN + INDENT, beside = column + VALUE_COLUMNS;
  report_add(out, "%*s%c ", VALUE_COLUMN, "", letter_of(capture));
  if (difference[0] == '\0') {
    report_wrap(out, value, column, column, page->width);
    return;
  }
  if (report_columns(value) < VALUE_COLUMNS && beside + report_columns(difference) <= page->width)
    report_left(out, value, VALUE_COLUMNS);
  else
    report_add(out, "%s\n%*s", value, (int)column, "");
  report_add(out, "%s\n", difference);
}

static void print_row(struct page *page, const struct sc_compared *row)
{
  report_add(&page->out, "%s.%s\n", row->section->key, row->field->key);
  for (size_t i = 0; i < page->comparison->captures; i++) {
    char value[TEXT_MAX], difference[128] = "";
    value_text(&row->value[i], value, sizeof value);
    if (row->difference[i].why == NULL)
      difference_text(row->difference[i], row->differs[i], row->field->decimals,
                      difference_unit(row->field->unit), difference, sizeof difference);
    bool same = row->likeness == SC_LIKE_DIFFERENT && !row->differs[i];
    print_cell(page, i, value, difference[0] != '\0' && same ? "the same" : difference);
  }
}

static void print_rows(struct page *page, enum sc_likeness likeness)
{
  for (size_t i = 0; i < page->comparison->row_count; i++)
    if (page->comparison->rows[i].likeness == likeness)
      print_row(page, &page->comparison->rows[i]);
}

/* Keys of all rows of a likeness in one paragraph. */
static void print_keys(struct page *page, enum sc_likeness likeness, const char *lead)
{
  struct report_buffer keys = {0};
  report_add(&keys, "%s", lead);
  for (size_t i = 0, shown = 0; i < page->comparison->row_count; i++) {
    const struct sc_compared *row = &page->comparison->rows[i];
    if (row->likeness == likeness)
      report_add(&keys, "%s %s.%s", shown++ > 0 ? "," : "", row->section->key, row->field->key);
  }
  char *text = report_take(&keys);
  if (text == NULL)
    page->out.failed = true;
  else
    report_wrap(&page->out, text, 0, 0, page->width);
  free(text);
}

static int by_contrast(const void *a, const void *b)
{
  double x = (*(const struct sc_compared_line *const *)a)->contrast_db;
  double y = (*(const struct sc_compared_line *const *)b)->contrast_db;
  return (x < y) - (x > y);
}

/* By the first of its levels that the capture's scale allows. */
static void line_level(const struct sc_line *line, char *text, size_t size)
{
  if (line == NULL) {
    snprintf(text, size, "not found");
    return;
  }
  const struct {
    const struct sc_quantity *level;
    enum sc_unit unit;
  } levels[] = {{&line->level_dbc, SC_UNIT_DBC},
                {&line->level_db75, SC_UNIT_DB75},
                {&line->level_db_pilot, SC_UNIT_DB_PILOT},
                {&line->tone.level_db, SC_UNIT_DBFS}};
  size_t i = 0;
  while (levels[i].level->why != NULL && i + 1 < sizeof levels / sizeof levels[0])
    i++;
  char number[96];
  sc_format_quantity(*levels[i].level, 2, number, sizeof number);
  snprintf(text, size, "%s %s %s", number, sc_unit_names(levels[i].unit)->symbol,
           sc_verdict_name(line->verdict));
}

static void print_line(struct page *page, const struct sc_compared_line *row)
{
  report_add(&page->out, "%s kHz\n", common_number(row->offset_hz * 1e-3, 4, true).text);
  for (size_t i = 0; i < page->comparison->captures; i++) {
    char value[160], difference[128] = "";
    line_level(row->line[i], value, sizeof value);
    if (row->difference_db[i].why == NULL)
      difference_text(row->difference_db[i], row->differs[i], 2, "dB", difference,
                      sizeof difference);
    print_cell(page, i, value, difference);
  }
}

/* The lines that differ most. */
static void print_lines(struct page *page, const struct sc_compared_lines *lines, const char *title)
{
  size_t different = count_lines(lines, SC_LIKE_DIFFERENT), used = 0;
  if (lines->count == 0)
    return;
  report_add(&page->out, "\n%s\n", title);
  const struct sc_compared_line **order = calloc(different > 0 ? different : 1, sizeof *order);
  if (order == NULL) {
    page->out.failed = true;
    return;
  }
  for (size_t i = 0; i < lines->count; i++)
    if (lines->lines[i].likeness == SC_LIKE_DIFFERENT)
      order[used++] = &lines->lines[i];
  qsort(order, used, sizeof *order, by_contrast);
  size_t shown = page->lines_max > 0 && page->lines_max < used ? page->lines_max : used;
  for (size_t i = 0; i < shown; i++)
    print_line(page, order[i]);
  free(order);
  size_t partly = count_lines(lines, SC_LIKE_PARTLY);
  char text[TEXT_MAX];
  snprintf(text, sizeof text,
           "%zu differ%s, %zu are the same, %zu were found in some only, near the limit of "
           "detection.",
           different, shown < used ? " (those shown differ most)" : "",
           lines->count - different - partly, partly);
  paragraph(page, text);
}

static void print_verdict(struct page *page)
{
  const struct sc_comparison *comparison = page->comparison;
  char text[TEXT_MAX];
  size_t rows = count_rows(comparison, SC_LIKE_DIFFERENT);
  size_t lines = count_lines(&comparison->air, SC_LIKE_DIFFERENT) +
                 count_lines(&comparison->composite, SC_LIKE_DIFFERENT);
  snprintf(text, sizeof text,
           "%zu quantit%s and %zu line%s differ from A by more than %.1f standard uncertainties of "
           "the difference; captures of one signal would show any difference at all in one "
           "comparison of a hundred.",
           rows, rows == 1 ? "y" : "ies", lines, lines == 1 ? "" : "s", comparison->sigmas);
  report_add(&page->out, "\n");
  paragraph(page, text);
}

static const char closing[] =
    "Uncertainties are one standard uncertainty (k = 1). What is the programme's own, level and "
    "deviation above all, differs with the programme: compare captures of the same modulation. "
    "These are measurements, not certificates.";

enum sc_error sc_comparison_text(const struct sc_comparison *comparison,
                                 const struct sc_report_settings *settings, char **text)
{
  size_t width = settings->width == 0 ? WIDTH_DEFAULT : settings->width;
  struct page page = {
      {0}, comparison, width < WIDTH_LEAST ? WIDTH_LEAST : width, settings->lines_max};
  print_captures(&page);
  print_verdict(&page);
  if (count_rows(comparison, SC_LIKE_DIFFERENT) > 0)
    report_add(&page.out, "\nDifferent\n");
  print_rows(&page, SC_LIKE_DIFFERENT);
  print_lines(&page, &comparison->air, "Lines on air");
  print_lines(&page, &comparison->composite, "Lines of the composite");
  if (count_rows(comparison, SC_LIKE_UNJUDGED) > 0)
    report_add(&page.out, "\nNot equal, and without an uncertainty to judge it by\n");
  print_rows(&page, SC_LIKE_UNJUDGED);
  if (count_rows(comparison, SC_LIKE_PARTLY) > 0)
    report_add(&page.out, "\nMeasured in some only\n");
  print_rows(&page, SC_LIKE_PARTLY);
  report_add(&page.out, "\n");
  if (count_rows(comparison, SC_LIKE_SAME) > 0)
    print_keys(&page, SC_LIKE_SAME, "The same within the uncertainty, or word for word:");
  report_add(&page.out, "\n");
  paragraph(&page, closing);
  *text = report_take(&page.out);
  if (*text == NULL)
    return SC_NO_MEMORY;
  if (!settings->utf8)
    report_to_ascii(*text);
  return SC_OK;
}
