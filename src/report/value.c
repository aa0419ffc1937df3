/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One field's value out of a result, and a quantity in digits that its uncertainty deserves. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/fields.h>

#include "common/number.h"
#include "common/text.h"

/* A finite value, or the reason why there is none; NaN never passes. */
static void take_quantity(struct sc_value *value, const struct sc_quantity *quantity)
{
  value->number = *quantity;
  value->why = quantity->why;
  if (value->why == NULL && !isfinite(quantity->value))
    value->why = "not measured in this capture";
  if (value->why != NULL)
    value->number = sc_not_measured(value->why);
}

static void take_number(struct sc_value *value, double number, bool absent)
{
  value->number = sc_measured(number, (double)NAN);
  if (absent || !isfinite(number)) {
    value->why = value->field->absent;
    value->number = sc_not_measured(value->why);
  }
}

static void take_text(struct sc_value *value, const char *text)
{
  if (text == NULL || text[0] == '\0')
    value->why = value->field->absent;
  else
    value->text = text;
}

static void take_truth(struct sc_value *value, enum sc_truth truth)
{
  value->truth = truth;
  if (truth == SC_UNKNOWN)
    value->why = value->field->absent;
  else
    value->text = truth == SC_YES ? "yes" : "no";
}

/* The struct's members are read by copy: `at` comes from an offset and may be any type. */
static double read_double(const void *at)
{
  double number;
  memcpy(&number, at, sizeof number);
  return number;
}

/* Of what is not there nothing can be told, whatever the table says of the row's absence. */
static void take_reason(struct sc_value *value, const void *base)
{
  const size_t needs = value->field->needs;
  if (needs == 0 || value->why == NULL || value->why != value->field->absent)
    return;
  const struct sc_quantity *needed =
      (const struct sc_quantity *)(const void *)((const char *)base + needs);
  if (needed->why == NULL)
    return;
  value->why = needed->why;
  value->number = sc_not_measured(needed->why);
}

struct sc_value sc_field_value(const struct sc_field *field, const void *base)
{
  struct sc_value value = {.field = field, .number = sc_not_measured(field->absent)};
  const char *at = (const char *)base + field->offset;
  switch (field->type) {
  case SC_FIELD_ESTIMATE:
    value.has_uncertainty = true;
    take_quantity(&value, (const struct sc_quantity *)(const void *)at);
    break;
  case SC_FIELD_EXACT:
    take_quantity(&value, (const struct sc_quantity *)(const void *)at);
    break;
  case SC_FIELD_NUMBER:
    take_number(&value, read_double(at), false);
    break;
  case SC_FIELD_POSITIVE:
    take_number(&value, read_double(at), !(read_double(at) > 0));
    break;
  case SC_FIELD_COUNT:
    take_number(&value, (double)*(const uint64_t *)(const void *)at, false);
    break;
  case SC_FIELD_FLAG:
    take_truth(&value, *(const bool *)(const void *)at ? SC_YES : SC_NO);
    break;
  case SC_FIELD_TRUTH:
    take_truth(&value, *(const enum sc_truth *)(const void *)at);
    break;
  case SC_FIELD_CHOICE:
    take_text(&value, field->choice(*(const int *)(const void *)at));
    break;
  case SC_FIELD_TEXT:
    take_text(&value, *(const char *const *)(const void *)at);
    break;
  case SC_FIELD_CHARS:
    take_text(&value, at);
    break;
  case SC_FIELD_ABSENT:
    value.why = field->absent;
    break;
  }
  take_reason(&value, base);
  return value;
}

/* "offset_hz" becomes "offset_uncertainty_hz", "level_dbc" "level_uncertainty_db",
 * "correlation" "correlation_uncertainty". */
void sc_field_uncertainty_key(const struct sc_field *field, char *key, size_t size)
{
  const struct sc_unit_names *unit = sc_unit_names(field->unit);
  size_t stem = strlen(field->key), tail = strlen(unit->suffix);
  if (tail > 0 && stem > tail + 1)
    stem -= tail + 1;
  snprintf(key, size, "%.*s_uncertainty%s%s", (int)stem, field->key, tail > 0 ? "_" : "",
           unit->uncertainty_suffix);
}

int sc_decimals(double uncertainty, int most)
{
  if (!(uncertainty > 0) || !isfinite(uncertainty))
    return most;
  double wanted = 1 - floor(log10(uncertainty));
  if (wanted < 0)
    return 0;
  return wanted < most ? (int)wanted : most;
}

/* One digit; as a power of ten where it would be nothing but noughts. */
static void add_small(double uncertainty, char *text, size_t size)
{
  const double least = 1e-4;
  if (uncertainty < least)
    snprintf(text, size, " ± %.0e", uncertainty);
  else
    snprintf(text, size, " ± %.*f", (int)-floor(log10(uncertainty / 0.95)),
             uncertainty); /* 0.00096 is 0.001 */
}

void sc_format_quantity(struct sc_quantity quantity, int most_decimals, char *text, size_t size)
{
  if (quantity.why != NULL || !isfinite(quantity.value)) {
    snprintf(text, size, "-");
    return;
  }
  int decimals = sc_decimals(quantity.uncertainty, most_decimals);
  int used = snprintf(text, size, "%s", common_number(quantity.value, decimals, false).text);
  if (!isfinite(quantity.uncertainty) || used < 0 || (size_t)used >= size)
    return;
  bool visible = quantity.uncertainty == 0 || quantity.uncertainty >= 0.5 * pow(10, -decimals);
  if (visible)
    snprintf(text + used, size - (size_t)used, " ± %.*f", decimals, quantity.uncertainty);
  else
    add_small(quantity.uncertainty, text + used, size - (size_t)used);
}

void sc_format_value(const struct sc_value *value, char *text, size_t size)
{
  if (value->text != NULL) {
    common_clean(text, size, value->text, strlen(value->text));
    return;
  }
  char number[96];
  sc_format_quantity(value->number, value->field->decimals, number, sizeof number);
  snprintf(text, size, "%s %s", number, sc_unit_names(value->field->unit)->symbol);
}
