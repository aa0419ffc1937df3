/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for people: its rows, and among them the tables of lines. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/report.h>
#include <sidecomb/rows.h>

#include "report/layout.h"
#include "report/pairs.h"
#include "report/table.h"

enum { WIDTH_DEFAULT = 80, WIDTH_LEAST = 40, INDENT = 2, LABEL_COLUMNS = 28, LIMIT_COLUMNS = 10 };

/* A sentence of the whole stands alone; else it follows its section's title. */
static void print_sentence(struct report_buffer *out, const struct sc_row *row,
                           const struct sc_row *before, size_t width)
{
  if (before != NULL && before->kind != SC_ROW_TITLE)
    report_add(out, "\n");
  report_wrap(out, row->text, 0, 0, width);
}

static void print_labelled(struct report_buffer *out, const char *label, size_t columns,
                           const char *text, size_t width)
{
  report_add(out, "%*s", INDENT, "");
  report_left(out, label, columns - INDENT);
  report_wrap(out, text, columns, columns, width);
}

static void print_table(struct report_buffer *out, const struct sc_row *row,
                        const struct sc_result *result, size_t most, size_t width)
{
  if (row->pairs) {
    report_pair_table(out, row->lines, most, width);
    return;
  }
  report_add(out, "\n%s\n", row->label);
  report_wrap(out, row->text, 0, 0, width);
  report_line_table(out, result, row->lines, most, width);
}

static void print_row(struct report_buffer *out, const struct sc_row *row, size_t width)
{
  switch (row->kind) {
  case SC_ROW_VALUE:
    print_labelled(out, row->label, LABEL_COLUMNS, row->text, width);
    break;
  case SC_ROW_LIMIT:
    print_labelled(out, row->label, LIMIT_COLUMNS, row->text, width);
    break;
  case SC_ROW_NOTICE:
    print_labelled(out, "*", 2 * INDENT, row->text, width);
    break;
  case SC_ROW_REMARK:
    print_labelled(out, "", INDENT, row->text, width);
    break;
  case SC_ROW_ABSENT:
    report_add(out, "%*s", INDENT, "");
    report_wrap(out, row->text, INDENT, 2 * INDENT, width);
    break;
  default:
    report_add(out, "%s%s\n", row->kind == SC_ROW_TITLE ? "\n" : "", row->text);
  }
}

static void print_report(struct report_buffer *out, const struct sc_rows *rows,
                         const struct sc_result *result, const struct sc_report_settings *settings)
{
  for (size_t i = 0; i < rows->count; i++) {
    const struct sc_row *row = &rows->at[i];
    if (row->kind == SC_ROW_SENTENCE)
      print_sentence(out, row, i > 0 ? row - 1 : NULL, settings->width);
    else if (row->kind == SC_ROW_TABLE)
      print_table(out, row, result, settings->lines_max, settings->width);
    else
      print_row(out, row, settings->width);
  }
}

enum sc_error sc_report_text(const struct sc_result *result,
                             const struct sc_report_settings *settings, char **text)
{
  struct report_buffer out = {0};
  struct sc_report_settings used = *settings;
  struct sc_rows rows;
  *text = NULL;
  if (used.width < WIDTH_LEAST)
    used.width = used.width == 0 ? WIDTH_DEFAULT : WIDTH_LEAST;
  if (sc_rows_make(result, NULL, &used, &rows) != SC_OK)
    return SC_NO_MEMORY;
  print_report(&out, &rows, result, &used);
  sc_rows_free(&rows);
  *text = report_take(&out);
  if (*text == NULL)
    return SC_NO_MEMORY;
  if (!settings->utf8)
    report_to_ascii(*text);
  return SC_OK;
}
