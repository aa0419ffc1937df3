/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as JSON: a walk over the tables of fields, and the arrays beside them. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/fields.h>
#include <sidecomb/report.h>

#include "report/groups.h"
#include "report/json_rds.h"
#include "report/json_write.h"

enum { SEARCH_DECIMALS = 6 };

/* The section's own object under `root`; "audio.left" is the member "left" of "audio". */
static json_t *open_section(struct report_json *json, json_t *root, const char *key)
{
  char name[REPORT_KEY_MAX];
  const char *dot;
  while ((dot = strchr(key, '.')) != NULL) {
    snprintf(name, sizeof name, "%.*s", (int)(dot - key), key);
    if (json_object_get(root, name) == NULL)
      report_json_put(json, root, name, json_object());
    root = json_object_get(root, name);
    key = dot + 1;
  }
  report_json_put(json, root, key, json_object());
  return json_object_get(root, key);
}

static void fill_section(struct report_json *json, json_t *object, const struct sc_section *section,
                         const void *base)
{
  json_t *why = json_object();
  for (size_t i = 0; i < section->count; i++)
    if (!section->fields[i].rare || sc_field_value(&section->fields[i], base).why == NULL)
      report_json_field(json, object, why, &section->fields[i], base);
  report_json_put(json, object, "why", why);
}

static json_t *orders_of(struct report_json *json, const struct sc_line *line)
{
  json_t *orders = json_array();
  for (size_t i = 0; i < line->order_count && i < SC_LINE_ORDERS_MAX; i++)
    report_json_append(json, orders, json_integer(line->orders[i]));
  return orders;
}

static json_t *line_of(struct report_json *json, const struct sc_line *line,
                       const struct sc_section *section)
{
  json_t *object = json_object();
  fill_section(json, object, section, line);
  report_json_put(json, object, "orders", orders_of(json, line));
  return object;
}

/* NULL is no list of lines: the array is null and the report's `why` says the reason. */
static void put_lines(struct report_json *json, json_t *root, json_t *why,
                      const struct sc_line_list *list, const struct sc_section *section)
{
  if (list->why != NULL) {
    report_json_null(json, root, why, section->key, list->why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < list->count; i++)
    report_json_append(json, array, line_of(json, &list->lines[i], section));
  report_json_put(json, root, section->key, array);
}

static double level_of(const struct sc_line *line)
{
  return line->verdict == SC_VERDICT_SPURIOUS ? line->level_dbc.value : -INFINITY;
}

/* The next weaker one, of equal ones in their order; NULL: there is none. `last` NULL: the first.
 */
static const struct sc_line *next_spurious(const struct sc_line_list *list,
                                           const struct sc_line *last)
{
  const struct sc_line *next = NULL;
  const double below = last == NULL ? INFINITY : level_of(last);
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    const double level = level_of(line);
    const bool follows = level < below || (level == below && line > last);
    if (isfinite(level) && follows && (next == NULL || level > level_of(next)))
      next = line;
  }
  return next;
}

/* What is no modulation of this transmitter, strongest first. */
static void put_spurious(struct report_json *json, json_t *root, json_t *why,
                         const struct sc_line_list *list)
{
  if (list->why != NULL) {
    report_json_null(json, root, why, "spurious", list->why);
    return;
  }
  json_t *array = json_array();
  for (const struct sc_line *next = NULL; (next = next_spurious(list, next)) != NULL;)
    report_json_append(json, array, line_of(json, next, sc_air_line_section()));
  report_json_put(json, root, "spurious", array);
}

/* Within the section `unwanted`. */
static void put_seen(struct report_json *json, json_t *object, const struct sc_unwanted *unwanted)
{
  json_t *array = json_array();
  for (size_t i = 0; i < unwanted->seen_count; i++) {
    json_t *span = json_object();
    fill_section(json, span, sc_seen_section(), &unwanted->seen[i]);
    report_json_append(json, array, span);
  }
  report_json_put(json, object, sc_seen_section()->key, array);
}

static void put_bands(struct report_json *json, json_t *object, const struct sc_unwanted *unwanted)
{
  json_t *array = json_array();
  for (size_t i = 0; i < unwanted->band_count; i++) {
    json_t *band = json_object();
    fill_section(json, band, sc_unwanted_band_section(), &unwanted->bands[i]);
    report_json_append(json, array, band);
  }
  report_json_put(json, object, sc_unwanted_band_section()->key, array);
}

static void put_masks(struct report_json *json, json_t *root, json_t *why,
                      const struct sc_result *result)
{
  if (result->mask_count == 0) {
    report_json_null(json, root, why, "masks", "no mask was given");
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < result->mask_count; i++) {
    json_t *object = json_object();
    fill_section(json, object, sc_mask_section(), &result->masks[i]);
    report_json_append(json, array, object);
  }
  report_json_put(json, root, "masks", array);
}

static void put_finite(struct report_json *json, json_t *object, json_t *why, const char *key,
                       double value, const char *reason)
{
  if (isfinite(value))
    report_json_put(json, object, key, report_json_number(value, SEARCH_DECIMALS));
  else
    report_json_null(json, object, why, key, reason);
}

/* How the lines were looked for. */
static json_t *search_of(struct report_json *json, const struct sc_line_list *list)
{
  json_t *object = json_object(), *why = json_object();
  report_json_put(json, object, "records", json_integer((json_int_t)list->records));
  put_finite(json, object, why, "record_s", list->record_s, list->why);
  put_finite(json, object, why, "coverage", list->coverage, list->why);
  put_finite(json, object, why, "threshold_db", list->threshold_db, list->why);
  put_finite(json, object, why, "resolution_hz", list->resolution_hz, list->why);
  report_json_put(json, object, "full", json_boolean(list->full));
  report_json_put(json, object, "jumped", json_boolean(list->jumped));
  report_json_put(json, object, "why", why);
  return object;
}

static json_t *sentences_of(struct report_json *json, const struct sc_notices *notices)
{
  json_t *array = json_array();
  for (size_t i = 0; i < notices->count && i < SC_NOTICES_MAX; i++)
    report_json_append(json, array, report_json_text(notices->text[i]));
  return array;
}

/* How many 50 ms intervals peaked in each class of 1 kHz, from 0 to the last that occurred. */
static void put_peak_classes(struct report_json *json, json_t *object,
                             const struct sc_deviation *deviation)
{
  json_t *array = json_array();
  size_t count = SC_DEVIATION_CLASSES;
  while (count > 0 && deviation->intervals[count - 1] == 0)
    count--;
  for (size_t i = 0; i < count; i++)
    report_json_append(json, array, json_integer((json_int_t)deviation->intervals[i]));
  report_json_put(json, object, "peak_classes_1khz", array);
}

/* Peaks over time, and how much of it is above each whole kHz. */
static void put_deviation_times(struct report_json *json, json_t *object,
                                const struct sc_deviation *deviation)
{
  json_t *positive = json_array(), *negative = json_array(), *above = json_array();
  for (size_t i = 0; i < deviation->moment_count; i++) {
    report_json_append(json, positive, json_real((double)deviation->moments[i].positive_khz));
    report_json_append(json, negative, json_real((double)deviation->moments[i].negative_khz));
  }
  for (size_t i = 0; i < SC_DEVIATION_CLASSES && deviation->time_above_percent[i] > 0; i++)
    report_json_append(json, above, json_real((double)deviation->time_above_percent[i]));
  report_json_put(json, object, "moment_s", json_real(deviation->moment_s));
  report_json_put(json, object, "moments_positive_khz", positive);
  report_json_put(json, object, "moments_negative_khz", negative);
  report_json_put(json, object, "time_above_percent_1khz", above);
}

/* The tones of the test audio's combs, within the section `audio`. */
static void put_tones(struct report_json *json, json_t *object, const struct sc_audio *audio)
{
  const struct sc_section *section = sc_audio_tone_section();
  if (audio->points_why != NULL) {
    report_json_null(json, object, json_object_get(object, "why"), section->key, audio->points_why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < SC_AUDIO_POINTS; i++) {
    json_t *tone = json_object();
    fill_section(json, tone, section, &audio->points[i]);
    report_json_append(json, array, tone);
  }
  report_json_put(json, object, section->key, array);
}

static void put_sections(struct report_json *json, json_t *root, const struct sc_result *result)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    fill_section(json, open_section(json, root, sections[i].key), &sections[i], result);
  report_json_put(json, json_object_get(root, "capture"), "notices",
                  sentences_of(json, &result->capture.notices));
  put_seen(json, json_object_get(root, "unwanted"), &result->unwanted);
  put_bands(json, json_object_get(root, "unwanted"), &result->unwanted);
  put_peak_classes(json, json_object_get(root, "deviation"), &result->deviation);
  put_deviation_times(json, json_object_get(root, "deviation"), &result->deviation);
  json->failed |= !report_json_rds(json_object_get(root, "rds"), &result->rds);
  report_json_groups(json, json_object_get(root, "rds"), &result->rds_groups);
  put_tones(json, json_object_get(root, "audio"), &result->audio);
}

static json_t *limit_of(struct report_json *json, const struct sc_limit *limit,
                        const struct sc_result *result)
{
  struct sc_limit_verdict verdict = sc_limit_judge(limit, result);
  json_t *object = json_object(), *why = json_object();
  char key[REPORT_KEY_MAX];
  bool number = limit->wanted == SC_UNKNOWN;
  snprintf(key, sizeof key, "%s.%s", limit->section->key, limit->field->key);
  report_json_put(json, object, "key", report_json_text(key));
  if (verdict.value.why != NULL)
    report_json_null(json, object, why, "value", verdict.value.why);
  else
    report_json_put(json, object, "value", report_json_value(&verdict.value));
  if (verdict.kept == SC_UNKNOWN)
    report_json_null(json, object, why, "kept", verdict.why);
  else
    report_json_put(json, object, "kept", json_boolean(verdict.kept == SC_YES));
  if (verdict.bound.field == NULL)
    report_json_null(json, object, why, "judged_by", "the number itself is judged");
  else
    report_json_put(json, object, "judged_by", report_json_text(verdict.bound.field->key));
  put_finite(json, object, why, "lower", number ? limit->lower : (double)NAN,
             "it has no such bound");
  put_finite(json, object, why, "upper", number ? limit->upper : (double)NAN,
             "it has no such bound");
  put_finite(json, object, why, "margin", verdict.margin, "there is no number");
  report_json_put(json, object, "sure", json_boolean(verdict.sure));
  report_json_put(json, object, "source", report_json_text(limit->source));
  report_json_put(json, object, "why", why);
  return object;
}

static void put_limits(struct report_json *json, json_t *root, json_t *why,
                       const struct sc_limits *limits, const struct sc_result *result)
{
  if (limits == NULL) {
    report_json_null(json, root, why, "limits", "no limits were given");
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < limits->count; i++)
    report_json_append(json, array, limit_of(json, &limits->limits[i], result));
  report_json_put(json, root, "limits", array);
}

static void put_searches(struct report_json *json, json_t *root, const struct sc_result *result)
{
  json_t *searches = json_object();
  json_t *lines = search_of(json, &result->air_lines);
  if (result->air_lines.jumped) /* offsets of the lines are from there */
    report_json_put(json, lines, "stretch_hz",
                    report_json_number(result->air_lines.stretch_hz.value, SEARCH_DECIMALS));
  report_json_put(json, searches, "lines", lines);
  report_json_put(json, searches, "composite_lines", search_of(json, &result->composite_lines));
  report_json_put(json, root, "line_search", searches);
}

static void put_injections(struct report_json *json, json_t *root, json_t *why,
                           const struct sc_injections *injections)
{
  const struct sc_section *section = sc_injection_section();
  if (injections->why != NULL) {
    report_json_null(json, root, why, section->key, injections->why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < injections->count; i++) {
    json_t *object = json_object();
    fill_section(json, object, section, &injections->at[i]);
    report_json_append(json, array, object);
  }
  report_json_put(json, root, section->key, array);
}

static json_t *report_of(struct report_json *json, const struct sc_result *result,
                         const struct sc_limits *limits)
{
  json_t *root = json_object(), *why = json_object();
  report_json_put(json, root, "schema", json_string(SC_REPORT_SCHEMA));
  report_json_put(json, root, "account", report_json_text(result->account));
  put_sections(json, root, result);
  put_lines(json, root, why, &result->air_lines, sc_air_line_section());
  put_lines(json, root, why, &result->composite_lines, sc_composite_line_section());
  put_searches(json, root, result);
  put_spurious(json, root, why, &result->air_lines);
  put_masks(json, root, why, result);
  put_injections(json, root, why, &result->injections);
  put_limits(json, root, why, limits, result);
  report_json_put(json, root, "warnings", sentences_of(json, &result->warnings));
  report_json_put(json, root, "why", why);
  return root;
}

enum sc_error sc_report_json(const struct sc_result *result,
                             const struct sc_report_settings *settings, char **text)
{
  struct report_json json = {false};
  json_t *root = report_of(&json, result, settings->limits);
  *text = report_json_finish(&json, root);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
