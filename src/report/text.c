/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for people: what is seen, then every number with its uncertainty, then the lines. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/brief.h>
#include <sidecomb/fields.h>
#include <sidecomb/report.h>

#include "common/number.h"
#include "common/text.h"
#include "report/absent.h"
#include "report/groups.h"
#include "report/layout.h"
#include "report/pairs.h"
#include "report/table.h"
#include "report/tones.h"

enum { WIDTH_DEFAULT = 80, WIDTH_LEAST = 40, INDENT = 2, LABEL_COLUMNS = 28, TEXT_MAX = 1024 };

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

static void print_measured(struct report_buffer *out, const struct sc_section *section, size_t i,
                           const void *base, size_t width)
{
  const struct sc_field *field = &section->fields[i];
  struct sc_value value = sc_field_value(field, base);
  bool open = value.why != NULL && report_is_open(field, &value);
  bool named = value.why != NULL && !open && is_told_of(section, i, base);
  if (!report_is_shown(field, base) || (value.why != NULL && !open && !named))
    return;
  char text[TEXT_MAX];
  if (open)
    snprintf(text, sizeof text, "open: %s", value.why);
  else if (named)
    snprintf(text, sizeof text, "not measured");
  else
    sc_format_value(&value, text, sizeof text);
  report_add(out, "%*s", INDENT, "");
  report_left(out, field->label, LABEL_COLUMNS - INDENT);
  report_wrap(out, text, LABEL_COLUMNS, LABEL_COLUMNS, width);
}

static bool has_rows(const struct sc_section *section, const void *base)
{
  for (size_t i = 0; i < section->count; i++)
    if (report_is_shown(&section->fields[i], base))
      return true;
  return false;
}

static void print_section(struct report_buffer *out, const struct sc_section *section,
                          const void *base, size_t width)
{
  if (!has_rows(section, base))
    return;
  report_add(out, "\n%s\n", section->title);
  for (size_t i = 0; i < section->count; i++)
    print_measured(out, section, i, base, width);
  report_absent(out, section, base, width);
}

static void print_sentence(struct report_buffer *out, const char *lead, const char *sentence,
                           size_t width)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, sentence, strlen(sentence));
  report_add(out, "%*s%s", INDENT, "", lead);
  size_t column = INDENT + report_columns(lead);
  report_wrap(out, clean, column, column, width);
}

static void print_sentences(struct report_buffer *out, const char *title,
                            const struct sc_notices *notices, size_t width)
{
  if (notices->count > 0)
    report_add(out, "\n%s\n", title);
  for (size_t i = 0; i < notices->count && i < SC_NOTICES_MAX; i++)
    print_sentence(out, "* ", notices->text[i], width);
}

static void print_account(struct report_buffer *out, const struct sc_result *result, size_t width)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, result->account, strlen(result->account));
  if (clean[0] != '\0')
    report_wrap(out, clean, 0, 0, width);
}

static void print_brief(struct report_buffer *out, const struct sc_result *result,
                        const struct sc_limits *limits, size_t width)
{
  struct sc_brief brief;
  sc_brief_make(result, limits, &brief);
  if (brief.count > 0)
    report_add(out, "\nIn short\n");
  for (size_t i = 0; i < brief.count; i++) {
    report_add(out, "%*s", INDENT, "");
    report_left(out, brief.rows[i].label, LABEL_COLUMNS - INDENT);
    report_wrap(out, brief.rows[i].text, LABEL_COLUMNS, LABEL_COLUMNS, width);
  }
}

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

static void print_limit(struct report_buffer *out, const struct sc_limit *limit,
                        const struct sc_result *result, size_t width)
{
  struct sc_limit_verdict verdict = sc_limit_judge(limit, result);
  char bounds[96], judged[2 * TEXT_MAX], text[3 * TEXT_MAX];
  bounds_text(limit, bounds, sizeof bounds);
  judged_text(&verdict, judged, sizeof judged);
  snprintf(text, sizeof text, "%s.%s %s: %s%s%s", limit->section->key, limit->field->key, bounds,
           judged, limit->source[0] != '\0' ? "; " : "", limit->source);
  const char *lead = verdict.kept == SC_YES  ? "kept    "
                     : verdict.kept == SC_NO ? "failed  "
                                             : "open    ";
  print_sentence(out, lead, text, width);
}

static void print_limits(struct report_buffer *out, const struct sc_limits *limits,
                         const struct sc_result *result, size_t width)
{
  if (limits == NULL)
    return;
  report_add(out, "\nLimits\n");
  for (size_t i = 0; i < limits->count; i++)
    print_limit(out, &limits->limits[i], result, width);
}

static void print_masks(struct report_buffer *out, const struct sc_result *result, size_t width)
{
  for (size_t i = 0; i < result->mask_count; i++)
    print_section(out, sc_mask_section(), &result->masks[i], width);
  if (result->mask_count > 0)
    print_sentence(out, "",
                   "A comparison with a mask is a measurement of this capture and no "
                   "certificate.",
                   width);
}

static const char closing[] =
    "Uncertainties are one standard uncertainty (k = 1). This is a measurement of one capture, "
    "not a certificate: the rules of the place and licensed practice decide what may be sent. "
    "Measure a transmitter into a screened load, and put enough attenuation before a receiver.";

static void print_injections(struct report_buffer *out, const struct sc_injections *injections,
                             size_t width)
{
  const struct sc_section *section = sc_injection_section();
  char text[TEXT_MAX];
  if (injections->count == 0) {
    report_add(out, "\n%s\n", section->title);
    snprintf(text, sizeof text, "%s%s", injections->why != NULL ? "not measured: " : "",
             injections->why != NULL ? injections->why : "nothing stands out of the noise");
    report_wrap(out, text, 0, 0, width);
  }
  for (size_t i = 0; i < injections->count; i++)
    print_section(out, section, &injections->at[i], width);
}

static const char *nature_of(const struct sc_unwanted_band *band)
{
  return band->of_phase == SC_YES ? "Of this transmitter, as it leaves the envelope alone: outer "
                                    "lines of its modulation, or noise of its oscillator:"
         : band->of_phase == SC_NO
             ? "Another signal, without lines of its own, as it moves the envelope:"
             : "Noise, or another signal, without lines of its own:";
}

static void print_bands(struct report_buffer *out, const struct sc_unwanted *unwanted, size_t width)
{
  for (size_t i = 0; i < unwanted->band_count; i++) {
    const struct sc_unwanted_band *band = &unwanted->bands[i];
    char level[96], text[TEXT_MAX];
    sc_format_quantity(band->level_dbc, 2, level, sizeof level);
    snprintf(text, sizeof text, "%s %s to %s kHz from the carrier, %s dBc.", nature_of(band),
             common_number(band->lower_hz.value * 1e-3, 0, true).text,
             common_number(band->upper_hz.value * 1e-3, 0, true).text, level);
    print_sentence(out, "", text, width);
  }
}

static const char *hidden_by(const struct sc_seen_span *span)
{
  return span->by_full_list == SC_YES    ? " (list full)"
         : span->by_modulation == SC_YES ? " (modulation)"
                                         : "";
}

/* From which level on a line of another source would have been found, in one sentence. */
static void print_seen(struct report_buffer *out, const struct sc_unwanted *unwanted, size_t width)
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
  char *text = report_take(&sentence);
  if (text == NULL)
    out->failed = true;
  else
    print_sentence(out, "", text, width);
  free(text);
}

static void print_others(struct report_buffer *out, const struct sc_unwanted *unwanted,
                         size_t width)
{
  print_bands(out, unwanted, width);
  print_seen(out, unwanted, width);
}

static void print_report(struct report_buffer *out, const struct sc_result *result,
                         const struct sc_report_settings *settings)
{
  size_t width = settings->width == 0 ? WIDTH_DEFAULT : settings->width;
  width = width < WIDTH_LEAST ? WIDTH_LEAST : width;
  const enum sc_kind kind = result->capture.info.kind;
  print_account(out, result, width);
  print_brief(out, result, settings->limits, width);
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++) {
    if (!sc_section_concerns(&sections[i], result))
      continue;
    print_section(out, &sections[i], result, width);
    if (strcmp(sections[i].key, "unwanted") == 0)
      print_others(out, &result->unwanted, width);
  }
  if (kind != SC_KIND_AUDIO)
    report_air_table(out, &result->air_lines, settings->lines_max, width);
  if (kind == SC_KIND_IQ)
    report_pair_table(out, &result->air_lines, settings->lines_max, width);
  if (kind != SC_KIND_AUDIO)
    print_injections(out, &result->injections, width);
  report_tone_table(out, &result->audio, width);
  report_group_table(out, &result->rds_groups, width);
  report_composite_table(out, result, settings->lines_max, width);
  print_masks(out, result, width);
  print_limits(out, settings->limits, result, width);
  print_sentences(out, "About the capture", &result->capture.notices, width);
  print_sentences(out, "What limits this measurement", &result->warnings, width);
  report_add(out, "\n");
  report_wrap(out, closing, 0, 0, width);
}

enum sc_error sc_report_text(const struct sc_result *result,
                             const struct sc_report_settings *settings, char **text)
{
  struct report_buffer out = {0};
  print_report(&out, result, settings);
  *text = report_take(&out);
  if (*text == NULL)
    return SC_NO_MEMORY;
  if (!settings->utf8)
    report_to_ascii(*text);
  return SC_OK;
}
