/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of lines and of products of them. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "account/words.h"

enum { TERMS_MAX = 3 };

void account_frequency_words(double frequency_hz, char name[ACCOUNT_NAME_LENGTH])
{
  double hz = round(10 * frequency_hz) / 10;
  if (fabs(hz) < 10e3)
    snprintf(name, ACCOUNT_NAME_LENGTH, "%.5g Hz", hz);
  else
    snprintf(name, ACCOUNT_NAME_LENGTH, "%.7g kHz", hz / 1e3);
}

void account_place_words(const struct sc_quantity *offset_hz, char name[ACCOUNT_NAME_LENGTH])
{
  const double unsure_hz = isfinite(offset_hz->uncertainty) ? offset_hz->uncertainty : 0;
  const double step_hz = pow(10, floor(log10(fmin(fmax(unsure_hz, 0.1), 1e3))));
  account_frequency_words(step_hz * round(fabs(offset_hz->value) / step_hz), name);
}

bool account_has_name(const struct sc_line *line)
{
  return strcmp(line->label, "pilot") == 0 || line->verdict == SC_VERDICT_RESIDUAL;
}

void account_component_words(const struct sc_line *line, char name[ACCOUNT_NAME_LENGTH])
{
  if (account_has_name(line))
    snprintf(name, ACCOUNT_NAME_LENGTH, "%s", line->label);
  else
    account_frequency_words(line->offset_hz.value, name);
}

struct term {
  const struct sc_line *line;
  int order;
};

static size_t insert_term(struct term term, size_t count, struct term *terms)
{
  size_t at = count;
  for (; at > 0 && terms[at - 1].line->offset_hz.value < term.line->offset_hz.value; at--)
    terms[at] = terms[at - 1];
  terms[at] = term;
  return count + 1;
}

/* Components that take part, by falling frequency. */
static size_t sort_terms(const struct account_scene *scene, const struct account_way *way,
                         struct term terms[ACCOUNT_COMPONENTS_MAX + 1])
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  size_t count = 0;
  for (size_t i = 0; i < scene->prediction.component_count; i++)
    if (way->orders[i] != 0)
      count = insert_term((struct term){&lines[scene->component_lines[i]], way->orders[i]}, count,
                          terms);
  if (way->weak_order != 0)
    count = insert_term((struct term){&lines[scene->weak_lines[way->weak]], way->weak_order}, count,
                        terms);
  return count;
}

static void append(char *words, const char *text)
{
  size_t length = strlen(words);
  snprintf(words + length, ACCOUNT_TERMS_LENGTH - length, "%s", text);
}

static void append_term(const struct sc_line *line, int order, bool first, char *words)
{
  char name[ACCOUNT_NAME_LENGTH], times[16];
  account_component_words(line, name);
  append(words, order < 0 ? (first ? "-" : " - ") : first ? "" : " + ");
  snprintf(times, sizeof times, "%d x ", abs(order));
  if (abs(order) > 1)
    append(words, times);
  append(words, name);
}

void account_way_words(const struct account_scene *scene, const struct account_way *way,
                       char words[ACCOUNT_TERMS_LENGTH], int orders[SC_LINE_ORDERS_MAX],
                       size_t *order_count)
{
  struct term terms[ACCOUNT_COMPONENTS_MAX + 1];
  const size_t count = sort_terms(scene, way, terms);
  double sum_hz = 0;
  for (size_t i = 0; i < count; i++)
    sum_hz += terms[i].order * terms[i].line->offset_hz.value;
  int sign = sum_hz < 0 ? -1 : 1;
  words[0] = '\0';
  *order_count = 0;
  for (size_t i = 0; i < count; i++) {
    if (*order_count < SC_LINE_ORDERS_MAX)
      orders[(*order_count)++] = terms[i].order;
    if (i < TERMS_MAX)
      append_term(terms[i].line, sign * terms[i].order, i == 0, words);
  }
  if (count > TERMS_MAX)
    append(words, " ...");
  if (count == 0)
    append(words, "carrier");
}

void account_label(struct sc_line *line, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line->label, sizeof line->label, format, arguments);
  va_end(arguments);
}

void account_verdict(struct sc_line *line, enum sc_verdict verdict, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line->cause, sizeof line->cause, format, arguments);
  va_end(arguments);
  line->verdict = verdict;
}
