/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of lines. Where the terminal is wide enough the cause stands in the last column,
 * elsewhere under its line. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/fields.h>

#include "common/number.h"
#include "common/text.h"
#include "report/layout.h"
#include "report/table.h"

enum { CELL = 48, CAUSE_LEAST = 44, CAUSE_INDENT = 4, TEXT_MAX = 512, COLUMNS_MAX = 6 };

#define GAP "  "

/* One kind of table: what it says before, and how a line becomes a row of cells. */
struct column {
  const char *heading;
  size_t width;
  void (*cell)(const struct sc_line *line, char *text);
};

struct table {
  const char *title;
  const char *note;
  struct column columns[COLUMNS_MAX];
  size_t count;
  double (*strength)(const struct sc_line *line);
};

static void number_cell(double value, int decimals, bool sign, char *text)
{
  if (!isfinite(value))
    snprintf(text, CELL, "-");
  else
    snprintf(text, CELL, "%s", common_number(value, decimals, sign).text);
}

static void offset_cell(const struct sc_line *line, char *text)
{
  number_cell(line->offset_hz.value, sc_decimals(line->offset_hz.uncertainty, 4), true, text);
}

static void khz_cell(const struct sc_line *line, char *text)
{
  double uncertainty_khz = line->offset_hz.uncertainty * 1e-3;
  number_cell(line->offset_hz.value * 1e-3, sc_decimals(uncertainty_khz, 7), false, text);
}

static void uncertainty_cell(const struct sc_line *line, char *text)
{
  double uncertainty = line->offset_hz.uncertainty;
  if (!isfinite(uncertainty))
    snprintf(text, CELL, "-");
  else if (uncertainty > 0 && uncertainty < 5e-5)
    snprintf(text, CELL, "%.0e", uncertainty);
  else
    snprintf(text, CELL, "%.*f", sc_decimals(uncertainty, 4), uncertainty);
}

static void level_cell(const struct sc_quantity *level, bool sign, char *text)
{
  int decimals = sc_decimals(level->uncertainty, 2);
  number_cell(level->value, decimals < 1 ? 1 : decimals, sign, text);
}

static void dbc_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->level_dbc, false, text);
}

static void predicted_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->predicted_dbc, false, text);
}

static void rest_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->rest_db, true, text);
}

static void verdict_cell(const struct sc_line *line, char *text)
{
  snprintf(text, CELL, "%s", sc_verdict_name(line->verdict));
}

static void db75_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->level_db75, false, text);
}

static void db_pilot_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->level_db_pilot, false, text);
}

static void db_full_cell(const struct sc_line *line, char *text)
{
  level_cell(&line->level_dbfs, false, text);
}

static void deviation_cell(const struct sc_line *line, char *text)
{
  number_cell(line->deviation_khz.value, sc_decimals(line->deviation_khz.uncertainty, 5), false,
              text);
}

static double air_strength(const struct sc_line *line)
{
  return line->level_dbc.value;
}

static double tone_strength(const struct sc_line *line)
{
  return line->tone.level_db.value;
}

static const struct table air = {
    "Lines on air",
    "Offset from the carrier. dBc is relative to the power of the unmodulated carrier, which is "
    "the total power of the FM signal in its channel, not to what is left at the carrier's line. "
    "Predicted is what the measured composite makes at this place.",
    {{"offset Hz", 14, offset_cell},
     {"± Hz", 8, uncertainty_cell},
     {"dBc", 8, dbc_cell},
     {"predicted", 10, predicted_cell},
     {"rest dB", 8, rest_cell},
     {"verdict", 11, verdict_cell}},
    6,
    air_strength};

static const struct table absolute_composite = {"Lines of the composite",
                                                "Levels in dB relative to 75 kHz peak deviation.",
                                                {{"kHz", 14, khz_cell},
                                                 {"± Hz", 8, uncertainty_cell},
                                                 {"dB", 8, db75_cell},
                                                 {"peak kHz", 10, deviation_cell},
                                                 {"verdict", 11, verdict_cell}},
                                                5,
                                                tone_strength};

static const struct table relative_composite = {
    "Lines of the composite",
    "The capture has no absolute scale: levels in dB relative to the pilot. --full-scale-khz "
    "gives the deviation of full scale.",
    {{"kHz", 14, khz_cell},
     {"± Hz", 8, uncertainty_cell},
     {"dB", 8, db_pilot_cell},
     {"dBFS", 8, db_full_cell},
     {"verdict", 11, verdict_cell}},
    5,
    tone_strength};

static const struct table audio = {
    "Lines of the audio",
    "First channel; a sine that reaches full scale has 0 dBFS.",
    {{"kHz", 14, khz_cell}, {"± Hz", 8, uncertainty_cell}, {"dBFS", 8, db_full_cell}},
    3,
    tone_strength};

/* Rows stand together by what a reader looks for first. */
struct group {
  const char *heading;
  bool (*holds)(const struct sc_line *line);
};

bool report_line_is_open(const struct sc_line *line)
{
  return line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_RESIDUAL ||
         line->verdict == SC_VERDICT_UNKNOWN;
}

static bool is_artefact(const struct sc_line *line)
{
  return line->verdict == SC_VERDICT_ARTEFACT;
}

static bool is_explained(const struct sc_line *line)
{
  return !report_line_is_open(line) && !is_artefact(line);
}

static const struct group groups[] = {{"Spurious, residual or unknown", report_line_is_open},
                                      {"Made by the receiver or the recording", is_artefact},
                                      {"Explained", is_explained}};

static int descending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x < y) - (x > y);
}

/* Strength of the weakest line of a group that is still shown; -INFINITY shows all. */
static double cut(const struct table *table, const struct group *group,
                  const struct sc_line_list *list, size_t most)
{
  double *strengths =
      most > 0 && list->count > most ? calloc(list->count, sizeof *strengths) : NULL;
  if (strengths == NULL)
    return -INFINITY;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    double strength = table->strength(&list->lines[i]);
    if (group->holds(&list->lines[i]))
      strengths[count++] = isfinite(strength) ? strength : -1e9;
  }
  qsort(strengths, count, sizeof *strengths, descending);
  double weakest = count > most ? strengths[most - 1] : -INFINITY;
  free(strengths);
  return weakest;
}

static size_t print_headings(struct report_buffer *out, const struct table *table, size_t width)
{
  size_t columns = 0;
  for (size_t i = 0; i < table->count; i++) {
    report_right(out, table->columns[i].heading, table->columns[i].width);
    columns += table->columns[i].width;
  }
  columns += strlen(GAP);
  bool beside = width >= columns + CAUSE_LEAST;
  report_add(out, "%s\n", beside ? GAP "what it is" : "");
  return columns;
}

static void print_cause(struct report_buffer *out, const struct sc_line *line, size_t alike,
                        size_t column, size_t width)
{
  char text[TEXT_MAX], clean[TEXT_MAX], count[CELL] = "";
  bool said = strstr(line->cause, line->label) != NULL; /* also when there is no label */
  if (alike > 1)
    snprintf(count, sizeof count, "these %zu: ", alike);
  snprintf(text, sizeof text, "%s%s%s%s", count, said ? "" : line->label,
           said || line->cause[0] == '\0' ? "" : ": ", line->cause);
  common_clean(clean, sizeof clean, text, strlen(text));
  if (line->label[0] == '\0' && line->cause[0] == '\0') {
    report_add(out, "\n");
  } else if (width >= column + CAUSE_LEAST) {
    report_add(out, GAP);
    report_wrap(out, clean, column, column, width);
  } else {
    report_add(out, "\n%*s", CAUSE_INDENT, "");
    report_wrap(out, clean, CAUSE_INDENT, CAUSE_INDENT, width);
  }
}

static void print_cells(struct report_buffer *out, const struct table *table,
                        const struct sc_line *line)
{
  for (size_t i = 0; i < table->count; i++) {
    char cell[CELL];
    table->columns[i].cell(line, cell);
    report_right(out, cell, table->columns[i].width);
  }
}

static bool are_alike(const struct sc_line *a, const struct sc_line *b)
{
  return strcmp(a->label, b->label) == 0 && strcmp(a->cause, b->cause) == 0;
}

void report_table_sentence(struct report_buffer *out, const struct sc_line_list *list)
{
  if (list->why != NULL) {
    report_add(out, "not measured: %s", list->why);
    return;
  }
  report_add(out,
             "Searched in %llu record%s of %.3f s (%.0f %% of the capture); a line needs an energy "
             "%.1f dB over the noise density.%s%s",
             (unsigned long long)list->records, list->records == 1 ? "" : "s", list->record_s,
             100 * list->coverage, list->threshold_db,
             list->full ? " Only the strongest were kept; weaker lines may be there." : "",
             list->count == 0 ? " None was found." : "");
}

static size_t count_in(const struct group *group, const struct sc_line_list *list)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += group->holds(&list->lines[i]);
  return count;
}

/* Neighbours of one cause share its sentence, which stands with the last of them. */
static void print_group(struct report_buffer *out, const struct table *table,
                        const struct group *group, const struct sc_line_list *list, size_t most,
                        size_t column, size_t width)
{
  double weakest = cut(table, group, list, most);
  const struct sc_line *held = NULL;
  size_t hidden = 0, alike = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (!group->holds(line))
      continue;
    if (table->strength(line) < weakest) {
      hidden++;
      continue;
    }
    if (held != NULL && are_alike(held, line))
      report_add(out, "\n");
    else if (held != NULL)
      print_cause(out, held, alike, column, width);
    alike = held != NULL && are_alike(held, line) ? alike + 1 : 1;
    print_cells(out, table, line);
    held = line;
  }
  if (held != NULL)
    print_cause(out, held, alike, column, width);
  if (hidden > 0)
    report_add(out, "and %zu weaker; --lines all shows them.\n", hidden);
}

/* Headings only where the lines have verdicts at all. */
static void print_rows(struct report_buffer *out, const struct table *table,
                       const struct sc_line_list *list, size_t most, size_t width)
{
  size_t column = print_headings(out, table, width);
  for (size_t g = 0; g < sizeof groups / sizeof groups[0]; g++) {
    size_t count = count_in(&groups[g], list);
    if (count == 0)
      continue;
    if (table != &audio)
      report_add(out, "%s: %zu\n", groups[g].heading, count);
    print_group(out, table, &groups[g], list, most, column, width);
  }
}

static void print_table(struct report_buffer *out, const struct table *table,
                        const struct sc_line_list *list, size_t most, size_t width)
{
  if (list->why != NULL || list->count == 0)
    return;
  report_wrap(out, table->note, 0, 0, width);
  print_rows(out, table, list, most, width);
}

static const struct table *table_of(const struct sc_result *result, const struct sc_line_list *list)
{
  if (list == &result->air_lines)
    return &air;
  if (result->capture.info.kind == SC_KIND_AUDIO)
    return &audio;
  return result->composite_absolute ? &absolute_composite : &relative_composite;
}

const char *report_table_title(const struct sc_result *result, const struct sc_line_list *list)
{
  return table_of(result, list)->title;
}

void report_line_table(struct report_buffer *out, const struct sc_result *result,
                       const struct sc_line_list *list, size_t most, size_t width)
{
  print_table(out, table_of(result, list), list, most, width);
}
