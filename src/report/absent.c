/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "report/absent.h"

#include <string.h>

enum { NAMED_MOST = 5 };

bool report_is_shown(const struct sc_field *field, const void *base)
{
  if (field->label == NULL || field->type == SC_FIELD_ABSENT)
    return false;
  if (field->rare && sc_field_value(field, base).why != NULL)
    return false;
  if (field->type != SC_FIELD_COUNT || field->needs == 0)
    return true;
  const char *at = (const char *)base + field->needs;
  return ((const struct sc_quantity *)(const void *)at)->why == NULL;
}

bool report_is_open(const struct sc_field *field, const struct sc_value *value)
{
  return field->type == SC_FIELD_TRUTH && value->why == field->absent;
}

static bool tells_more(const struct sc_field *field)
{
  return field->label != NULL && field->label[0] == ' ';
}

/* The row that this one tells more of; itself where it stands alone. */
static size_t row_above(const struct sc_section *section, size_t i)
{
  while (i > 0 && tells_more(&section->fields[i]))
    i--;
  return i;
}

/* The row that this one is a bound of; itself where it is none. */
static size_t row_bounded(const struct sc_section *section, size_t i)
{
  for (size_t k = 0; k < section->count; k++) {
    const struct sc_field *other = &section->fields[k];
    const char *bound = other->at_least != NULL ? other->at_least : other->at_most;
    if (bound != NULL && strcmp(bound, section->fields[i].key) == 0)
      return k;
  }
  return i;
}

/* Why a row has no number; NULL where it has one, or is not missed. */
static const char *absence(const struct sc_section *section, size_t i, const void *base)
{
  const struct sc_field *field = &section->fields[i];
  const size_t bounded = row_bounded(section, i);
  const bool idle = bounded != i && sc_field_value(&section->fields[bounded], base).why == NULL;
  const struct sc_value value = sc_field_value(field, base);
  return idle || !report_is_shown(field, base) || report_is_open(field, &value) ? NULL : value.why;
}

static bool is_same(const char *why, const char *other)
{
  return why != NULL && other != NULL && strcmp(why, other) == 0;
}

static bool goes_without_saying(const struct sc_section *section, size_t i, const void *base)
{
  const size_t above = row_above(section, i), bounded = row_bounded(section, i);
  const char *why = absence(section, i, base);
  return (above != i && is_same(why, absence(section, above, base))) ||
         (bounded != i && is_same(why, absence(section, bounded, base)));
}

static bool was_said(const struct sc_section *section, size_t i, const void *base)
{
  const char *why = absence(section, i, base);
  for (size_t k = 0; k < i; k++)
    if (is_same(why, absence(section, k, base)))
      return true;
  return false;
}

/* The reason stands in the section already, as the text of a row. */
static bool stands_above(const struct sc_section *section, const char *why, const void *base)
{
  for (size_t i = 0; i < section->count; i++)
    if (report_is_shown(&section->fields[i], base) &&
        is_same(why, sc_field_value(&section->fields[i], base).text))
      return true;
  return false;
}

struct report_label report_label(const struct sc_section *section, const struct sc_field *field)
{
  const size_t i = (size_t)(field - section->fields);
  const char *label = field->label != NULL ? field->label : field->key;
  const char *above = tells_more(field) ? section->fields[row_above(section, i)].label : NULL;
  return (struct report_label){above != NULL ? above : "", above != NULL ? ": " : "",
                               label + strspn(label, " ")};
}

static void add_label(struct report_buffer *sentence, const struct sc_section *section, size_t i)
{
  const struct report_label label = report_label(section, &section->fields[i]);
  report_add(sentence, "%s%s%s", label.above, label.colon, label.own);
}

static void add_labels(struct report_buffer *sentence, const struct sc_section *section,
                       size_t first, const void *base)
{
  const char *why = absence(section, first, base);
  size_t count = 0;
  for (size_t i = first; i < section->count; i++) {
    if (!is_same(why, absence(section, i, base)) || goes_without_saying(section, i, base))
      continue;
    if (count < NAMED_MOST) {
      report_add(sentence, "%s", count > 0 ? "; " : "");
      add_label(sentence, section, i);
    }
    count++;
  }
  if (count > NAMED_MOST)
    report_add(sentence, " and %zu more", count - NAMED_MOST);
}

static void add_reason(struct report_rows *rows, const struct sc_section *section, size_t first,
                       const void *base)
{
  struct report_buffer sentence = {0};
  report_add(&sentence, "not measured: ");
  add_labels(&sentence, section, first, base);
  const char *why = absence(section, first, base);
  if (stands_above(section, why, base))
    report_add(&sentence, ", for the reason above");
  else
    report_add(&sentence, ", because %s", why);
  report_row_take(rows, (struct sc_row){.kind = SC_ROW_ABSENT}, &sentence);
}

void report_absent(struct report_rows *rows, const struct sc_section *section, const void *base)
{
  for (size_t i = 0; i < section->count; i++)
    if (absence(section, i, base) != NULL && !was_said(section, i, base))
      add_reason(rows, section, i, base);
}
