/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison for programs: one object, arrays in the order of the captures. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

#include <sidecomb/compare.h>

#include "report/json_write.h"

enum { DECIMALS = 9 };

static json_t *number_or_null(double number)
{
  return isfinite(number) ? report_json_number(number, DECIMALS) : json_null();
}

static void put_difference(struct report_json *json, json_t *object, struct sc_quantity difference)
{
  report_json_put(json, object, "difference", number_or_null(difference.value));
  report_json_put(json, object, "difference_uncertainty",
                  isfinite(difference.uncertainty) ? report_json_uncertainty(difference.uncertainty)
                                                   : json_null());
}

static json_t *value_of(struct report_json *json, const struct sc_compared *row, size_t i)
{
  const struct sc_value *value = &row->value[i];
  json_t *object = json_object();
  report_json_put(json, object, "value",
                  value->why == NULL ? report_json_value(value) : json_null());
  report_json_put(json, object, "uncertainty",
                  value->why == NULL && isfinite(value->number.uncertainty)
                      ? report_json_uncertainty(value->number.uncertainty)
                      : json_null());
  if (value->why != NULL)
    report_json_put(json, object, "why", report_json_text(value->why));
  if (i == 0)
    return object;
  put_difference(json, object, row->difference[i]);
  report_json_put(json, object, "differs", json_boolean(row->differs[i]));
  return object;
}

static json_t *row_of(struct report_json *json, const struct sc_comparison *comparison,
                      const struct sc_compared *row)
{
  char key[REPORT_KEY_MAX];
  json_t *object = json_object(), *captures = json_array();
  snprintf(key, sizeof key, "%s.%s", row->section->key, row->field->key);
  report_json_put(json, object, "key", json_string(key));
  report_json_put(json, object, "likeness", json_string(sc_likeness_name(row->likeness)));
  for (size_t i = 0; i < comparison->captures; i++)
    report_json_append(json, captures, value_of(json, row, i));
  report_json_put(json, object, "captures", captures);
  return object;
}

static json_t *line_of(struct report_json *json, const struct sc_compared_line *row, size_t i,
                       const struct sc_section *section)
{
  if (row->line[i] == NULL)
    return json_null();
  json_t *object = json_object(), *why = json_object();
  for (size_t k = 0; k < section->count; k++)
    report_json_field(json, object, why, &section->fields[k], row->line[i]);
  report_json_put(json, object, "why", why);
  if (i > 0)
    put_difference(json, object, row->difference_db[i]);
  return object;
}

static json_t *lines_of(struct report_json *json, const struct sc_comparison *comparison,
                        const struct sc_compared_lines *lines, const struct sc_section *section)
{
  json_t *array = json_array();
  for (size_t k = 0; k < lines->count; k++) {
    const struct sc_compared_line *row = &lines->lines[k];
    json_t *object = json_object(), *captures = json_array();
    report_json_put(json, object, "offset_hz", report_json_number(row->offset_hz, DECIMALS));
    report_json_put(json, object, "likeness", json_string(sc_likeness_name(row->likeness)));
    for (size_t i = 0; i < comparison->captures; i++)
      report_json_append(json, captures, line_of(json, row, i, section));
    report_json_put(json, object, "captures", captures);
    report_json_append(json, array, object);
  }
  return array;
}

static json_t *capture_of(struct report_json *json, const struct sc_capture_facts *facts)
{
  json_t *object = json_object();
  report_json_put(json, object, "file", report_json_text(facts->info.name));
  report_json_put(json, object, "duration_s", number_or_null(facts->duration_s));
  report_json_put(json, object, "sample_rate_hz", number_or_null(facts->info.sample_rate_hz));
  return object;
}

enum sc_error sc_comparison_json(const struct sc_comparison *comparison, char **text)
{
  struct report_json json = {false};
  json_t *root = json_object(), *captures = json_array(), *rows = json_array();
  report_json_put(&json, root, "schema", json_string(SC_COMPARISON_SCHEMA));
  for (size_t i = 0; i < comparison->captures; i++)
    report_json_append(&json, captures, capture_of(&json, &comparison->results[i]->capture));
  report_json_put(&json, root, "captures", captures);
  report_json_put(&json, root, "sigmas", number_or_null(comparison->sigmas));
  for (size_t i = 0; i < comparison->row_count; i++)
    report_json_append(&json, rows, row_of(&json, comparison, &comparison->rows[i]));
  report_json_put(&json, root, "quantities", rows);
  report_json_put(&json, root, "lines",
                  lines_of(&json, comparison, &comparison->air, sc_air_line_section()));
  report_json_put(&json, root, "composite_lines",
                  lines_of(&json, comparison, &comparison->composite, sc_composite_line_section()));
  *text = report_json_finish(&json, root);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
