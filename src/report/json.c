/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as JSON: a walk over the tables of fields, and the arrays beside them. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include <sidecomb/fields.h>
#include <sidecomb/report.h>

#include "common/text.h"
#include "report/json_rds.h"

enum { TEXT_MAX = 1024, KEY_MAX = 96, REAL_DIGITS = 15 };

/* Digits of an uncertainty, and of a number without one beyond those that people see. */
enum { UNCERTAINTY_DIGITS = 3, EXTRA_DECIMALS = 3, DECIMALS_MAX = 12, SEARCH_DECIMALS = 6 };

struct writer {
  bool failed; /* out of memory somewhere */
};

/* Takes over `value`; jansson refuses NULL, which is how its makers say that memory is out. */
static void put(struct writer *writer, json_t *object, const char *key, json_t *value)
{
  writer->failed |= json_object_set_new(object, key, value) != 0;
}

static void append(struct writer *writer, json_t *array, json_t *value)
{
  writer->failed |= json_array_append_new(array, value) != 0;
}

static json_t *text_of(const char *text)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, text, strlen(text));
  return json_string(clean);
}

/* Rounded to `decimals`, so that 15 digits print what was meant and nothing else. */
static json_t *number_of(double value, int decimals)
{
  double scale = pow(10, decimals < DECIMALS_MAX ? decimals : DECIMALS_MAX);
  double rounded = fabs(value) < 1e15 / scale ? round(value * scale) / scale : value;
  return json_real(rounded == 0 ? 0 : rounded);
}

static json_t *uncertainty_of(double uncertainty)
{
  if (uncertainty == 0)
    return json_real(0);
  double decimals = UNCERTAINTY_DIGITS - 1 - floor(log10(uncertainty));
  double scale = pow(10, decimals);
  return json_real(isfinite(scale) && scale > 0 ? round(uncertainty * scale) / scale : uncertainty);
}

static int json_decimals(const struct sc_value *value)
{
  double uncertainty = value->number.uncertainty;
  if (!value->has_uncertainty || !(uncertainty > 0))
    return value->field->decimals + EXTRA_DECIMALS;
  double decimals = UNCERTAINTY_DIGITS - 1 - floor(log10(uncertainty));
  return decimals < 0 ? 0 : decimals > DECIMALS_MAX ? DECIMALS_MAX : (int)decimals;
}

static json_t *value_of(const struct sc_value *value)
{
  switch (value->field->type) {
  case SC_FIELD_ESTIMATE:
  case SC_FIELD_EXACT:
  case SC_FIELD_NUMBER:
  case SC_FIELD_POSITIVE:
    return number_of(value->number.value, json_decimals(value));
  case SC_FIELD_COUNT:
    return json_integer((json_int_t)value->number.value);
  case SC_FIELD_FLAG:
  case SC_FIELD_TRUTH:
    return json_boolean(value->truth == SC_YES);
  case SC_FIELD_CHOICE:
  case SC_FIELD_TEXT:
  case SC_FIELD_CHARS:
    return text_of(value->text);
  case SC_FIELD_ABSENT:
    break;
  }
  return json_null();
}

static void put_null(struct writer *writer, json_t *object, json_t *why, const char *key,
                     const char *reason)
{
  put(writer, object, key, json_null());
  put(writer, why, key, text_of(reason != NULL ? reason : "not measured in this capture"));
}

static void put_uncertainty(struct writer *writer, json_t *object, json_t *why,
                            const struct sc_value *value)
{
  char key[KEY_MAX];
  sc_field_uncertainty_key(value->field, key, sizeof key);
  if (value->why != NULL)
    put_null(writer, object, why, key, value->why);
  else if (!isfinite(value->number.uncertainty))
    put_null(writer, object, why, key, "no uncertainty could be stated");
  else
    put(writer, object, key, uncertainty_of(value->number.uncertainty));
}

static void put_field(struct writer *writer, json_t *object, json_t *why,
                      const struct sc_field *field, const void *base)
{
  struct sc_value value = sc_field_value(field, base);
  if (value.why != NULL)
    put_null(writer, object, why, field->key, value.why);
  else
    put(writer, object, field->key, value_of(&value));
  if (value.has_uncertainty)
    put_uncertainty(writer, object, why, &value);
}

/* The section's own object under `root`; "audio.left" is the member "left" of "audio". */
static json_t *open_section(struct writer *writer, json_t *root, const char *key)
{
  char name[KEY_MAX];
  const char *dot;
  while ((dot = strchr(key, '.')) != NULL) {
    snprintf(name, sizeof name, "%.*s", (int)(dot - key), key);
    if (json_object_get(root, name) == NULL)
      put(writer, root, name, json_object());
    root = json_object_get(root, name);
    key = dot + 1;
  }
  put(writer, root, key, json_object());
  return json_object_get(root, key);
}

static void fill_section(struct writer *writer, json_t *object, const struct sc_section *section,
                         const void *base)
{
  json_t *why = json_object();
  for (size_t i = 0; i < section->count; i++)
    put_field(writer, object, why, &section->fields[i], base);
  put(writer, object, "why", why);
}

static json_t *orders_of(struct writer *writer, const struct sc_line *line)
{
  json_t *orders = json_array();
  for (size_t i = 0; i < line->order_count && i < SC_LINE_ORDERS_MAX; i++)
    append(writer, orders, json_integer(line->orders[i]));
  return orders;
}

static json_t *line_of(struct writer *writer, const struct sc_line *line,
                       const struct sc_section *section)
{
  json_t *object = json_object();
  fill_section(writer, object, section, line);
  put(writer, object, "orders", orders_of(writer, line));
  return object;
}

/* NULL is no list of lines: the array is null and the report's `why` says the reason. */
static void put_lines(struct writer *writer, json_t *root, json_t *why,
                      const struct sc_line_list *list, const struct sc_section *section)
{
  if (list->why != NULL) {
    put_null(writer, root, why, section->key, list->why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < list->count; i++)
    append(writer, array, line_of(writer, &list->lines[i], section));
  put(writer, root, section->key, array);
}

static double level_of(const struct sc_line *line)
{
  return line->verdict == SC_VERDICT_SPURIOUS ? line->level_dbc.value : -INFINITY;
}

/* What is no modulation of this transmitter, strongest first. */
static void put_spurious(struct writer *writer, json_t *root, json_t *why,
                         const struct sc_line_list *list)
{
  if (list->why != NULL) {
    put_null(writer, root, why, "spurious", list->why);
    return;
  }
  json_t *array = json_array();
  double below = INFINITY;
  for (;;) {
    const struct sc_line *next = NULL;
    for (size_t i = 0; i < list->count; i++) {
      double level = level_of(&list->lines[i]);
      if (level < below && (next == NULL ? isfinite(level) : level > level_of(next)))
        next = &list->lines[i];
    }
    if (next == NULL)
      break;
    append(writer, array, line_of(writer, next, sc_air_line_section()));
    below = level_of(next);
  }
  put(writer, root, "spurious", array);
}

static void put_masks(struct writer *writer, json_t *root, json_t *why,
                      const struct sc_result *result)
{
  if (result->mask_count == 0) {
    put_null(writer, root, why, "masks", "no mask was given");
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < result->mask_count; i++) {
    json_t *object = json_object();
    fill_section(writer, object, sc_mask_section(), &result->masks[i]);
    append(writer, array, object);
  }
  put(writer, root, "masks", array);
}

static void put_finite(struct writer *writer, json_t *object, json_t *why, const char *key,
                       double value, const char *reason)
{
  if (isfinite(value))
    put(writer, object, key, number_of(value, SEARCH_DECIMALS));
  else
    put_null(writer, object, why, key, reason);
}

/* How the lines were looked for. */
static json_t *search_of(struct writer *writer, const struct sc_line_list *list)
{
  json_t *object = json_object(), *why = json_object();
  put(writer, object, "records", json_integer((json_int_t)list->records));
  put_finite(writer, object, why, "record_s", list->record_s, list->why);
  put_finite(writer, object, why, "coverage", list->coverage, list->why);
  put_finite(writer, object, why, "threshold_db", list->threshold_db, list->why);
  put_finite(writer, object, why, "resolution_hz", list->resolution_hz, list->why);
  put(writer, object, "why", why);
  return object;
}

static json_t *sentences_of(struct writer *writer, const struct sc_notices *notices)
{
  json_t *array = json_array();
  for (size_t i = 0; i < notices->count && i < SC_NOTICES_MAX; i++)
    append(writer, array, text_of(notices->text[i]));
  return array;
}

/* How many 50 ms intervals peaked in each class of 1 kHz, from 0 to the last that occurred. */
static void put_peak_classes(struct writer *writer, json_t *object,
                             const struct sc_deviation *deviation)
{
  json_t *array = json_array();
  size_t count = SC_DEVIATION_CLASSES;
  while (count > 0 && deviation->intervals[count - 1] == 0)
    count--;
  for (size_t i = 0; i < count; i++)
    append(writer, array, json_integer((json_int_t)deviation->intervals[i]));
  put(writer, object, "peak_classes_1khz", array);
}

/* The tones of the test audio's combs, within the section `audio`. */
static void put_tones(struct writer *writer, json_t *object, const struct sc_audio *audio)
{
  const struct sc_section *section = sc_audio_tone_section();
  if (audio->points_why != NULL) {
    put_null(writer, object, json_object_get(object, "why"), section->key, audio->points_why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < SC_AUDIO_POINTS; i++) {
    json_t *tone = json_object();
    fill_section(writer, tone, section, &audio->points[i]);
    append(writer, array, tone);
  }
  put(writer, object, section->key, array);
}

static void put_sections(struct writer *writer, json_t *root, const struct sc_result *result)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    fill_section(writer, open_section(writer, root, sections[i].key), &sections[i], result);
  put(writer, json_object_get(root, "capture"), "notices",
      sentences_of(writer, &result->capture.notices));
  put_peak_classes(writer, json_object_get(root, "deviation"), &result->deviation);
  writer->failed |= !report_json_rds(json_object_get(root, "rds"), &result->rds);
  put_tones(writer, json_object_get(root, "audio"), &result->audio);
}

static json_t *limit_of(struct writer *writer, const struct sc_limit *limit,
                        const struct sc_result *result)
{
  struct sc_limit_verdict verdict = sc_limit_judge(limit, result);
  json_t *object = json_object(), *why = json_object();
  char key[KEY_MAX];
  bool number = limit->wanted == SC_UNKNOWN;
  snprintf(key, sizeof key, "%s.%s", limit->section->key, limit->field->key);
  put(writer, object, "key", text_of(key));
  if (verdict.value.why != NULL) {
    put_null(writer, object, why, "value", verdict.value.why);
    put_null(writer, object, why, "kept", verdict.value.why);
  } else {
    put(writer, object, "value", value_of(&verdict.value));
    put(writer, object, "kept", json_boolean(verdict.kept == SC_YES));
  }
  put_finite(writer, object, why, "lower", number ? limit->lower : (double)NAN,
             "it has no such bound");
  put_finite(writer, object, why, "upper", number ? limit->upper : (double)NAN,
             "it has no such bound");
  put_finite(writer, object, why, "margin", verdict.margin, "there is no number");
  put(writer, object, "sure", json_boolean(verdict.sure));
  put(writer, object, "source", text_of(limit->source));
  put(writer, object, "why", why);
  return object;
}

static void put_limits(struct writer *writer, json_t *root, json_t *why,
                       const struct sc_limits *limits, const struct sc_result *result)
{
  if (limits == NULL) {
    put_null(writer, root, why, "limits", "no limits were given");
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < limits->count; i++)
    append(writer, array, limit_of(writer, &limits->limits[i], result));
  put(writer, root, "limits", array);
}

static void put_searches(struct writer *writer, json_t *root, const struct sc_result *result)
{
  json_t *searches = json_object();
  put(writer, searches, "lines", search_of(writer, &result->air_lines));
  put(writer, searches, "composite_lines", search_of(writer, &result->composite_lines));
  put(writer, root, "line_search", searches);
}

static void put_injections(struct writer *writer, json_t *root, json_t *why,
                           const struct sc_injections *injections)
{
  const struct sc_section *section = sc_injection_section();
  if (injections->why != NULL) {
    put_null(writer, root, why, section->key, injections->why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < injections->count; i++) {
    json_t *object = json_object();
    fill_section(writer, object, section, &injections->at[i]);
    append(writer, array, object);
  }
  put(writer, root, section->key, array);
}

static json_t *report_of(struct writer *writer, const struct sc_result *result,
                         const struct sc_limits *limits)
{
  json_t *root = json_object(), *why = json_object();
  put(writer, root, "schema", json_string(SC_REPORT_SCHEMA));
  put(writer, root, "account", text_of(result->account));
  put_sections(writer, root, result);
  put_lines(writer, root, why, &result->air_lines, sc_air_line_section());
  put_lines(writer, root, why, &result->composite_lines, sc_composite_line_section());
  put_searches(writer, root, result);
  put_spurious(writer, root, why, &result->air_lines);
  put_masks(writer, root, why, result);
  put_injections(writer, root, why, &result->injections);
  put_limits(writer, root, why, limits, result);
  put(writer, root, "warnings", sentences_of(writer, &result->warnings));
  put(writer, root, "why", why);
  return root;
}

enum sc_error sc_report_json(const struct sc_result *result,
                             const struct sc_report_settings *settings, char **text)
{
  struct writer writer = {false};
  json_t *root = report_of(&writer, result, settings->limits);
  *text = NULL;
  if (!writer.failed)
    *text = json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(REAL_DIGITS));
  json_decref(root);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
