/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as JSON. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "common/text.h"
#include "report/json_write.h"

enum { TEXT_MAX = 1024, REAL_DIGITS = 15 };

/* Digits of an uncertainty, and of a number without one beyond those that people see. */
enum { UNCERTAINTY_DIGITS = 3, EXTRA_DECIMALS = 3, DECIMALS_MAX = 12 };

/* Takes over `value`; jansson refuses NULL, which is how its makers say that memory is out. */
void report_json_put(struct report_json *json, json_t *object, const char *key, json_t *value)
{
  json->failed |= json_object_set_new(object, key, value) != 0;
}

void report_json_append(struct report_json *json, json_t *array, json_t *value)
{
  json->failed |= json_array_append_new(array, value) != 0;
}

json_t *report_json_text(const char *text)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, text, strlen(text));
  return json_string(clean);
}

/* Rounded to `decimals`, so that 15 digits print what was meant and nothing else. */
json_t *report_json_number(double value, int decimals)
{
  double scale = pow(10, decimals < DECIMALS_MAX ? decimals : DECIMALS_MAX);
  double rounded = fabs(value) < 1e15 / scale ? round(value * scale) / scale : value;
  return json_real(rounded == 0 ? 0 : rounded);
}

json_t *report_json_uncertainty(double uncertainty)
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

json_t *report_json_value(const struct sc_value *value)
{
  switch (value->field->type) {
  case SC_FIELD_ESTIMATE:
  case SC_FIELD_EXACT:
  case SC_FIELD_NUMBER:
  case SC_FIELD_POSITIVE:
    return report_json_number(value->number.value, json_decimals(value));
  case SC_FIELD_COUNT:
    return json_integer((json_int_t)value->number.value);
  case SC_FIELD_FLAG:
  case SC_FIELD_TRUTH:
    return json_boolean(value->truth == SC_YES);
  case SC_FIELD_CHOICE:
  case SC_FIELD_TEXT:
  case SC_FIELD_CHARS:
    return report_json_text(value->text);
  case SC_FIELD_ABSENT:
    break;
  }
  return json_null();
}

void report_json_null(struct report_json *json, json_t *object, json_t *why, const char *key,
                      const char *reason)
{
  report_json_put(json, object, key, json_null());
  report_json_put(json, why, key,
                  report_json_text(reason != NULL ? reason : "not measured in this capture"));
}

static void put_uncertainty(struct report_json *json, json_t *object, json_t *why,
                            const struct sc_value *value)
{
  char key[REPORT_KEY_MAX];
  sc_field_uncertainty_key(value->field, key, sizeof key);
  if (value->why != NULL)
    report_json_null(json, object, why, key, value->why);
  else if (!isfinite(value->number.uncertainty))
    report_json_null(json, object, why, key, "no uncertainty could be stated");
  else
    report_json_put(json, object, key, report_json_uncertainty(value->number.uncertainty));
}

void report_json_field(struct report_json *json, json_t *object, json_t *why,
                       const struct sc_field *field, const void *base)
{
  struct sc_value value = sc_field_value(field, base);
  if (value.why != NULL)
    report_json_null(json, object, why, field->key, value.why);
  else
    report_json_put(json, object, field->key, report_json_value(&value));
  if (value.has_uncertainty)
    put_uncertainty(json, object, why, &value);
}

static char *dump(const struct report_json *json, json_t *root, size_t flags)
{
  char *text = json->failed ? NULL : json_dumps(root, flags | JSON_REAL_PRECISION(REAL_DIGITS));
  json_decref(root);
  return text;
}

char *report_json_finish(struct report_json *json, json_t *root)
{
  return dump(json, root, JSON_INDENT(2));
}

char *report_json_line(struct report_json *json, json_t *root)
{
  return dump(json, root, JSON_COMPACT);
}
