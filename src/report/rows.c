/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of what the report tells people. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/brief.h>
#include <sidecomb/rows.h>

#include "common/number.h"
#include "common/text.h"
#include "report/absent.h"
#include "report/groups.h"
#include "report/rows.h"
#include "report/table.h"
#include "report/tones.h"

enum { SIZE_FIRST = 64, TEXT_MAX = 1024 };

/* ---- rows in memory */

static bool grow(struct report_rows *rows)
{
  if (rows->count < rows->size)
    return true;
  const size_t size = rows->size > 0 ? 2 * rows->size : SIZE_FIRST;
  struct sc_row *at = realloc(rows->at, size * sizeof *at);
  if (at == NULL)
    return false;
  rows->at = at;
  rows->size = size;
  return true;
}

void report_row(struct report_rows *rows, struct sc_row row, const char *text)
{
  const size_t size = strlen(text) + 1;
  row.text = malloc(size);
  if (row.text == NULL || !grow(rows)) {
    free(row.text);
    rows->failed = true;
    return;
  }
  memcpy(row.text, text, size);
  common_clean_string(row.text);
  if (row.label == NULL)
    row.label = "";
  rows->at[rows->count++] = row;
}

void report_row_take(struct report_rows *rows, struct sc_row row, struct report_buffer *text)
{
  char *taken = report_take(text);
  if (taken == NULL)
    rows->failed = true;
  else
    report_row(rows, row, taken);
  free(taken);
}

static void add_title(struct report_rows *rows, const char *title)
{
  report_row(rows, (struct sc_row){.kind = SC_ROW_TITLE}, title);
}

static void add_sentence(struct report_rows *rows, enum sc_row_kind kind, const char *text)
{
  report_row(rows, (struct sc_row){.kind = kind}, text);
}

void sc_rows_free(struct sc_rows *rows)
{
  for (size_t i = 0; i < rows->count; i++)
    free(rows->at[i].text);
  free(rows->at);
  *rows = (struct sc_rows){0};
}

/* ---- sections */

struct described {
  const struct sc_section *section;
  const void *base, *beside; /* what the section describes, here and in a second capture */
};

/* A row of which others tell more is named also where it has no value itself: without it they
 * would stand under the row before. */
static bool is_told_of(const struct sc_section *section, size_t i, const void *base)
{
  const char *label = section->fields[i].label;
  for (size_t k = i + 1; label != NULL && label[0] != ' ' && k < section->count; k++) {
    const struct sc_field *below = &section->fields[k];
    if (below->label != NULL && below->label[0] != ' ')
      return false;
    if (report_is_shown(below, base) && sc_field_value(below, base).why == NULL)
      return true;
  }
  return false;
}

static bool is_measured_beside(const struct sc_field *field, const void *beside)
{
  return beside != NULL && sc_field_value(field, beside).why == NULL;
}

static void add_measured(struct report_rows *rows, const struct described *of, size_t i)
{
  const struct sc_field *field = &of->section->fields[i];
  const struct sc_value value = sc_field_value(field, of->base);
  const bool open = value.why != NULL && report_is_open(field, &value);
  const bool named =
      value.why != NULL && !open &&
      (is_told_of(of->section, i, of->base) || is_measured_beside(field, of->beside));
  if (!report_is_shown(field, of->base) || (value.why != NULL && !open && !named))
    return;
  char text[TEXT_MAX];
  if (open)
    snprintf(text, sizeof text, "open: %s", value.why);
  else if (named)
    snprintf(text, sizeof text, "not measured");
  else
    sc_format_value(&value, text, sizeof text);
  struct sc_row row = {.kind = SC_ROW_VALUE, .label = field->label};
  row.field = of->beside != NULL ? field : NULL;
  report_row(rows, row, text);
}

static bool has_rows(const struct sc_section *section, const void *base)
{
  for (size_t i = 0; i < section->count; i++)
    if (report_is_shown(&section->fields[i], base))
      return true;
  return false;
}

static void add_section(struct report_rows *rows, const struct sc_section *section,
                        const void *base, const void *beside)
{
  const struct described of = {section, base, beside};
  if (!has_rows(section, base))
    return;
  add_title(rows, section->title);
  for (size_t i = 0; i < section->count; i++)
    add_measured(rows, &of, i);
  report_absent(rows, section, base);
}

/* ---- what is read first */

static void add_notices(struct report_rows *rows, const char *title,
                        const struct sc_notices *notices)
{
  const struct sc_row row = {.kind = SC_ROW_NOTICE, .leads = true};
  if (notices->count > 0)
    report_row(rows, (struct sc_row){.kind = SC_ROW_TITLE, .leads = true}, title);
  for (size_t i = 0; i < notices->count && i < SC_NOTICES_MAX; i++)
    report_row(rows, row, notices->text[i]);
}

static void add_brief(struct report_rows *rows, const struct sc_result *result,
                      const struct sc_limits *limits)
{
  struct sc_brief brief;
  sc_brief_make(result, limits, &brief);
  if (brief.count > 0)
    report_row(rows, (struct sc_row){.kind = SC_ROW_TITLE, .leads = true}, "In short");
  for (size_t i = 0; i < brief.count; i++)
    report_row(rows,
               (struct sc_row){.kind = SC_ROW_VALUE, .leads = true, .label = brief.rows[i].label},
               brief.rows[i].text);
}

/* ---- limits */

static void bounds_text(const struct sc_limit *limit, char *text, size_t size)
{
  const char *unit = sc_unit_names(limit->field->unit)->symbol;
  if (limit->wanted != SC_UNKNOWN)
    snprintf(text, size, "is %s", limit->wanted == SC_YES ? "yes" : "no");
  else if (isinf(limit->lower))
    snprintf(text, size, "at most %.10g %s", limit->upper, unit);
  else if (isinf(limit->upper))
    snprintf(text, size, "at least %.10g %s", limit->lower, unit);
  else
    snprintf(text, size, "from %.10g to %.10g %s", limit->lower, limit->upper, unit);
}

/* What was judged, and why there is no verdict. */
static void judged_text(const struct sc_limit_verdict *verdict, char *text, size_t size)
{
  char value[TEXT_MAX], bound[TEXT_MAX] = "";
  if (verdict->value.why == NULL)
    sc_format_value(&verdict->value, value, sizeof value);
  else
    snprintf(value, sizeof value, "not measured, because %s", verdict->value.why);
  if (verdict->bound.field != NULL) {
    char number[TEXT_MAX / 2];
    sc_format_value(&verdict->bound, number, sizeof number);
    snprintf(bound, sizeof bound, "; judged by %s, %s", verdict->bound.field->key, number);
  }
  const char *why = verdict->value.why == NULL ? verdict->why : NULL;
  snprintf(text, size, "%s%s%s%s%s", value, bound, why != NULL ? "; " : "", why != NULL ? why : "",
           verdict->kept != SC_UNKNOWN && !verdict->sure ? " (within twice its uncertainty)" : "");
}

static void add_limit(struct report_rows *rows, const struct sc_limit *limit,
                      const struct sc_result *result)
{
  struct sc_limit_verdict verdict = sc_limit_judge(limit, result);
  char bounds[96], judged[2 * TEXT_MAX], text[3 * TEXT_MAX];
  bounds_text(limit, bounds, sizeof bounds);
  judged_text(&verdict, judged, sizeof judged);
  snprintf(text, sizeof text, "%s.%s %s: %s%s%s", limit->section->key, limit->field->key, bounds,
           judged, limit->source[0] != '\0' ? "; " : "", limit->source);
  struct sc_row row = {.kind = SC_ROW_LIMIT, .leads = true};
  row.label = verdict.kept == SC_YES ? "kept" : verdict.kept == SC_NO ? "failed" : "open";
  report_row(rows, row, text);
}

static void add_limits(struct report_rows *rows, const struct sc_limits *limits,
                       const struct sc_result *result)
{
  if (limits == NULL)
    return;
  report_row(rows, (struct sc_row){.kind = SC_ROW_TITLE, .leads = true}, "Limits");
  for (size_t i = 0; i < limits->count; i++)
    add_limit(rows, &limits->limits[i], result);
}

static void add_masks(struct report_rows *rows, const struct sc_result *result)
{
  for (size_t i = 0; i < result->mask_count; i++)
    add_section(rows, sc_mask_section(), &result->masks[i], NULL);
  if (result->mask_count > 0)
    add_sentence(rows, SC_ROW_REMARK,
                 "A comparison with a mask is a measurement of this capture and no certificate.");
}

/* ---- what stands beside the programme */

static void add_injections(struct report_rows *rows, const struct sc_injections *injections)
{
  const struct sc_section *section = sc_injection_section();
  char text[TEXT_MAX];
  if (injections->count == 0) {
    add_title(rows, section->title);
    snprintf(text, sizeof text, "%s%s", injections->why != NULL ? "not measured: " : "",
             injections->why != NULL ? injections->why : "nothing stands out of the noise");
    add_sentence(rows, SC_ROW_SENTENCE, text);
  }
  for (size_t i = 0; i < injections->count; i++)
    add_section(rows, section, &injections->at[i], NULL);
}

static const char *nature_of(const struct sc_unwanted_band *band)
{
  return band->of_phase == SC_YES ? "Of this transmitter, as it leaves the envelope alone: outer "
                                    "lines of its modulation, or noise of its oscillator:"
         : band->of_phase == SC_NO
             ? "Another signal, without lines of its own, as it moves the envelope:"
             : "Noise, or another signal, without lines of its own:";
}

static void add_bands(struct report_rows *rows, const struct sc_unwanted *unwanted)
{
  for (size_t i = 0; i < unwanted->band_count; i++) {
    const struct sc_unwanted_band *band = &unwanted->bands[i];
    char level[96], text[TEXT_MAX];
    sc_format_quantity(band->level_dbc, 2, level, sizeof level);
    snprintf(text, sizeof text, "%s %s to %s kHz from the carrier, %s dBc.", nature_of(band),
             common_number(band->lower_hz.value * 1e-3, 0, true).text,
             common_number(band->upper_hz.value * 1e-3, 0, true).text, level);
    add_sentence(rows, SC_ROW_REMARK, text);
  }
}

static const char *hidden_by(const struct sc_seen_span *span)
{
  return span->by_full_list == SC_YES    ? " (list full)"
         : span->by_modulation == SC_YES ? " (modulation)"
                                         : "";
}

/* From which level on a line of another source would have been found, in one sentence. */
static void add_seen(struct report_rows *rows, const struct sc_unwanted *unwanted)
{
  struct report_buffer sentence = {0};
  bool full = false;
  if (unwanted->seen_count == 0)
    return;
  report_add(&sentence, "A line of another source is found, with a probability of 99 %%,");
  for (size_t i = 0; i < unwanted->seen_count; i++) {
    const struct sc_seen_span *span = &unwanted->seen[i];
    report_add(&sentence, "%s %.0f to %.0f kHz from the carrier from %.1f dBc on%s",
               i > 0 ? "," : "", span->lower_hz.value * 1e-3, span->upper_hz.value * 1e-3,
               span->level_dbc.value, hidden_by(span));
    full = full || span->by_full_list == SC_YES;
  }
  report_add(&sentence, ".");
  if (full)
    report_add(&sentence, " More lines were found than are kept: weaker ones may be missing.");
  report_row_take(rows, (struct sc_row){.kind = SC_ROW_REMARK}, &sentence);
}

/* ---- tables */

/* A table as it is printed: an empty line, its title, its lines. */
static void add_printed(struct report_rows *rows, struct report_buffer *table)
{
  char *text = table->used > 0 || table->failed ? report_take(table) : NULL;
  enum sc_row_kind kind = SC_ROW_TITLE;
  rows->failed = rows->failed || (text == NULL && table->failed);
  for (char *line = text, *next; line != NULL && *line != '\0'; line = next) {
    const size_t length = strcspn(line, "\n");
    next = line + length + (line[length] != '\0');
    line[length] = '\0';
    if (length == 0)
      continue;
    add_sentence(rows, kind, line);
    kind = SC_ROW_LINE;
  }
  free(text);
}

static void add_lines(struct report_rows *rows, const struct sc_result *result,
                      const struct sc_line_list *lines)
{
  struct report_buffer sentence = {0};
  report_table_sentence(&sentence, lines);
  report_row_take(rows,
                  (struct sc_row){.kind = SC_ROW_TABLE,
                                  .label = report_table_title(result, lines),
                                  .lines = lines},
                  &sentence);
}

static void add_pairs(struct report_rows *rows, const struct sc_result *result)
{
  report_row(rows,
             (struct sc_row){.kind = SC_ROW_TABLE, .lines = &result->air_lines, .pairs = true}, "");
}

static void add_tones(struct report_rows *rows, const struct sc_result *result, size_t width)
{
  struct report_buffer table = {0};
  report_tone_table(&table, &result->audio, width);
  add_printed(rows, &table);
  report_group_table(&table, &result->rds_groups, width);
  add_printed(rows, &table);
}

/* ---- all */

static const char closing[] =
    "Uncertainties are one standard uncertainty (k = 1). This is a measurement of one capture, "
    "not a certificate: the rules of the place and licensed practice decide what may be sent. "
    "Measure a transmitter into a screened load, and put enough attenuation before a receiver.";

static void add_sections(struct report_rows *rows, const struct sc_result *result,
                         const struct sc_result *beside)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++) {
    if (!sc_section_concerns(&sections[i], result))
      continue;
    add_section(rows, &sections[i], result, beside);
    if (strcmp(sections[i].key, "unwanted") == 0) {
      add_bands(rows, &result->unwanted);
      add_seen(rows, &result->unwanted);
    }
  }
}

static void add_all(struct report_rows *rows, const struct sc_result *result,
                    const struct sc_result *beside, const struct sc_report_settings *settings)
{
  const enum sc_kind kind = result->capture.info.kind;
  if (result->account[0] != '\0')
    report_row(rows, (struct sc_row){.kind = SC_ROW_SENTENCE, .leads = true}, result->account);
  add_brief(rows, result, settings->limits);
  add_sections(rows, result, beside);
  if (kind != SC_KIND_AUDIO)
    add_lines(rows, result, &result->air_lines);
  if (kind == SC_KIND_IQ)
    add_pairs(rows, result);
  if (kind != SC_KIND_AUDIO)
    add_injections(rows, &result->injections);
  add_tones(rows, result, settings->width);
  add_lines(rows, result, &result->composite_lines);
  add_masks(rows, result);
  add_limits(rows, settings->limits, result);
  add_notices(rows, "About the capture", &result->capture.notices);
  add_notices(rows, "What limits this measurement", &result->warnings);
  add_sentence(rows, SC_ROW_SENTENCE, closing);
}

enum sc_error sc_rows_make(const struct sc_result *result, const struct sc_result *beside,
                           const struct sc_report_settings *settings, struct sc_rows *rows)
{
  struct report_rows made = {0};
  add_all(&made, result, beside, settings);
  *rows = (struct sc_rows){made.at, made.count};
  if (!made.failed)
    return SC_OK;
  sc_rows_free(rows);
  return SC_NO_MEMORY;
}
